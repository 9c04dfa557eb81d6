// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/intake/originals.h"

#include "store/garden/files_internal.h"

#include <algorithm>
#include <array>
#include <memory>
#include <set>
#include <stdexcept>
#include <vector>

#include <fcntl.h>
#include <openssl/evp.h>
#include <sys/stat.h>

namespace edamori::store {

namespace fs = std::filesystem;

namespace {

constexpr std::size_t kChunkBytes = std::size_t{1} << 18U;
constexpr std::array kPhotoEndings = {".jpg", ".jpeg", ".png", ".tif", ".tiff", ".heic", ".heif"};

// SHA-256 of bytes that come in pieces.
class Hasher {
 public:
  Hasher() : m_context(EVP_MD_CTX_new()) {
    // Both fail only without memory or in a broken OpenSSL.
    if (m_context == nullptr || EVP_DigestInit_ex(m_context.get(), EVP_sha256(), nullptr) != 1) {
      throw std::runtime_error("SHA-256 is not available");
    }
  }
  void add(std::span<const std::byte> bytes) {
    EVP_DigestUpdate(m_context.get(), bytes.data(), bytes.size());
  }
  std::string finish() {
    std::array<unsigned char, 32> digest{};
    EVP_DigestFinal_ex(m_context.get(), digest.data(), nullptr);
    constexpr std::string_view digits = "0123456789abcdef";
    std::string text;
    for (const unsigned char byte : digest) {
      text += digits.at(byte >> 4U);
      text += digits.at(byte & 0xFU);
    }
    return text;
  }

 private:
  struct Free {
    void operator()(EVP_MD_CTX* context) const { EVP_MD_CTX_free(context); }
  };
  std::unique_ptr<EVP_MD_CTX, Free> m_context;
};

struct Digest {
  std::string sha256;
  std::int64_t sizeBytes = 0;
};

// Reads all of `from`, hands each piece to `use`, and tells its hash.
template <typename Use>
Result<Digest> pump(const FileHandle& from, const fs::path& file, Use&& use) {
  Hasher hasher;
  Digest digest;
  std::vector<std::byte> chunk(kChunkBytes);
  while (true) {
    const auto count = readSome(from, chunk, file);
    if (!count) {
      return count.error();
    }
    if (*count == 0) {
      digest.sha256 = hasher.finish();
      return digest;
    }
    const std::span<const std::byte> piece(chunk.data(), *count);
    hasher.add(piece);
    digest.sizeBytes += static_cast<std::int64_t>(*count);
    EDAMORI_RETURN_IF_ERROR(use(piece));
  }
}

Result<Digest> digestOf(const fs::path& file) {
  const auto handle = openForReading(file);
  if (!handle) {
    return handle.error();
  }
  return pump(*handle, file, [](std::span<const std::byte>) { return Result<void>{}; });
}

// Copies `from` to the new file `to` and waits until it is on the disk.
Result<Digest> copyFlushed(const fs::path& from, const fs::path& to) {
  const auto source = openForReading(from);
  if (!source) {
    return source.error();
  }
  auto target = createFile(to);
  if (!target) {
    return target.error();
  }
  auto digest = pump(*source, from, [&](std::span<const std::byte> piece) {
    return writeAll(*target, piece, to);
  });
  if (!digest) {
    return digest;
  }
  EDAMORI_RETURN_IF_ERROR(flush(*target, to));
  // So that reading back asks the disk and not the memory.
  ::posix_fadvise(target->descriptor(), 0, 0, POSIX_FADV_DONTNEED);
  EDAMORI_RETURN_IF_ERROR(target->close(to));
  return digest;
}

// Removes the folder at the end, if it was made here and nothing came into it.
class NewFolder {
 public:
  static Result<NewFolder> open(const fs::path& folder) {
    std::error_code error;
    const bool wasThere = fs::is_directory(folder, error);
    EDAMORI_RETURN_IF_ERROR(makeFolder(folder));
    if (!wasThere) {
      auto flushed = flushPath(folder.parent_path());
      if (!flushed) {
        fs::remove(folder, error);
        return std::move(flushed).error();
      }
    }
    return NewFolder(wasThere ? fs::path{} : folder);
  }
  NewFolder(NewFolder&& other) noexcept : m_folder(std::exchange(other.m_folder, {})) {}
  NewFolder& operator=(NewFolder&&) = delete;
  ~NewFolder() {
    if (!m_folder.empty()) {
      std::error_code ignored;
      fs::remove(m_folder, ignored);  // refuses a folder with files in it
    }
  }

 private:
  explicit NewFolder(fs::path folder) : m_folder(std::move(folder)) {}
  fs::path m_folder;
};

Result<void> checkEnding(const std::string& ending) {
  const auto isPlain = [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9'); };
  if (ending.empty() || ending.size() > 8 || !std::ranges::all_of(ending, isPlain)) {
    return fail(ErrorCode::InvalidArgument,
                "\"" + ending + "\" is no file ending; write it like jpg");
  }
  return {};
}

// Copies, reads back, compares, and puts the copy in place of whatever is there.
Result<void> copyVerified(const fs::path& file, const Digest& expected, const fs::path& target) {
  const TemporaryFile part(target.parent_path() / (".part-" + newUuidV7()));
  const auto copied = copyFlushed(file, part.path());
  if (!copied) {
    return copied.error();
  }
  if (copied->sha256 != expected.sha256) {
    return fail(ErrorCode::Unreadable,
                file.string() + " changed while it was read; wait until it is whole and try again");
  }
  const auto stored = digestOf(part.path());
  if (!stored || stored->sha256 != expected.sha256) {
    return fail(ErrorCode::Io,
                "the copy of " + file.string() + " in " + target.parent_path().string() +
                    " came back different from the disk; check the disk");
  }
  std::error_code error;
  fs::rename(part.path(), target, error);
  if (error) {
    return writeError(target, error.value());
  }
  return flushPath(target.parent_path());
}

std::string lowered(std::string text) {
  std::ranges::transform(text, text.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  return text;
}

bool isHidden(const fs::path& path) { return path.filename().string().starts_with('.'); }

bool hasPhotoEnding(const fs::path& path) {
  return std::ranges::find(kPhotoEndings, lowered(path.extension().string())) !=
         kPhotoEndings.end();
}

// Collects files; a file that is named twice, in whatever spelling, is kept once.
class Collector {
 public:
  void takeFile(const fs::path& file) {
    std::error_code error;
    const fs::file_status status = fs::status(file, error);
    if (!fs::exists(status)) {
      refuse(file, error ? error.value() : ENOENT);
    } else if (!fs::is_regular_file(status)) {
      m_found.refused.emplace_back(
          file, fail(ErrorCode::Unreadable, file.string() + " is no ordinary file"));
    } else if (m_seen.insert(fs::weakly_canonical(file, error)).second) {
      m_found.files.push_back(file);
    }
  }

  void takeFolder(const fs::path& folder) {
    std::error_code error;
    fs::directory_iterator entries(folder, error);
    for (; !error && entries != fs::directory_iterator(); entries.increment(error)) {
      takeEntry(*entries);
    }
    if (error) {
      refuse(folder, error.value());
    }
  }

  void refuse(const fs::path& path, int errorNumber) {
    m_found.refused.emplace_back(path, readError(path, errorNumber));
  }

  FoundFiles finish() {
    std::ranges::sort(m_found.files);
    std::ranges::sort(m_found.refused, {}, [](const auto& refused) { return refused.first; });
    return std::move(m_found);
  }

 private:
  void takeEntry(const fs::directory_entry& entry) {
    std::error_code error;
    if (isHidden(entry.path())) {
      return;
    }
    if (entry.symlink_status(error).type() == fs::file_type::directory) {
      takeFolder(entry.path());
    } else if (hasPhotoEnding(entry.path()) && !entry.is_directory(error)) {
      takeFile(entry.path());
    }
  }

  FoundFiles m_found;
  std::set<fs::path> m_seen;
};

}  // namespace

std::string sha256Of(std::span<const std::byte> bytes) {
  Hasher hasher;
  hasher.add(bytes);
  return hasher.finish();
}

Result<std::string> sha256OfFile(const fs::path& file) {
  return digestOf(file).transform([](const Digest& digest) { return digest.sha256; });
}

Result<std::vector<std::byte>> readFile(const fs::path& file) {
  const auto handle = openForReading(file);
  if (!handle) {
    return handle.error();
  }
  struct stat status{};
  if (::fstat(handle->descriptor(), &status) != 0) {
    return readError(file, errno);
  }
  // One byte more than the file has shows whether it grew.
  const auto size = static_cast<std::size_t>(status.st_size);
  std::vector<std::byte> bytes(size + 1);
  std::size_t filled = 0;
  while (filled < bytes.size()) {
    const auto count = readSome(*handle, std::span(bytes).subspan(filled), file);
    if (!count) {
      return count.error();
    }
    if (*count == 0) {
      break;
    }
    filled += *count;
  }
  if (filled != size) {
    return fail(ErrorCode::Unreadable,
                file.string() + " changed while it was read; wait until it is whole and try again");
  }
  bytes.resize(size);
  return bytes;
}

Result<StoredOriginal> storeOriginal(const Garden& garden,
                                     const fs::path& file,
                                     const std::string& ending) {
  EDAMORI_RETURN_IF_ERROR(checkEnding(ending));
  const auto digest = digestOf(file);
  if (!digest) {
    return digest.error();
  }
  const fs::path folder = garden.photosFolder() / digest->sha256.substr(0, 2);
  StoredOriginal original{.sha256 = digest->sha256,
                          .sizeBytes = digest->sizeBytes,
                          .file = folder / (digest->sha256 + "." + ending),
                          .wasThere = false};
  const auto present = digestOf(original.file);
  if (present && present->sha256 == digest->sha256) {
    original.wasThere = true;
    return original;
  }
  const auto newFolder = NewFolder::open(folder);
  if (!newFolder) {
    return newFolder.error();
  }
  EDAMORI_RETURN_IF_ERROR(copyVerified(file, *digest, original.file));
  return original;
}

FoundFiles findPhotoFiles(const std::vector<fs::path>& paths) {
  Collector collector;
  for (const fs::path& path : paths) {
    std::error_code error;
    if (fs::is_directory(path, error)) {
      collector.takeFolder(path);
    } else {
      collector.takeFile(path);
    }
  }
  return collector.finish();
}

}  // namespace edamori::store
