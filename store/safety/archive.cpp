// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/files_internal.h"
#include "store/intake/originals.h"
#include "store/safety/archive_internal.h"

#include <cerrno>
#include <cstdint>
#include <ctime>
#include <span>
#include <vector>

#include <archive.h>
#include <archive_entry.h>
#include <sys/stat.h>

namespace edamori::store {

namespace fs = std::filesystem;

namespace {

constexpr std::size_t kBlockBytes = std::size_t{1} << 16U;

struct FreeWriter {
  void operator()(struct archive* handle) const { archive_write_free(handle); }
};
struct FreeReader {
  void operator()(struct archive* handle) const { archive_read_free(handle); }
};
struct FreeEntry {
  void operator()(struct archive_entry* entry) const { archive_entry_free(entry); }
};
using Reader = std::unique_ptr<struct archive, FreeReader>;

// The library's reason speaks of its format; a person needs to know what to think of the file.
constexpr const char* kBroken = "it ends too early, is damaged or is something else";

std::string textOf(struct archive* handle) {
  const char* const text = archive_error_string(handle);
  return text != nullptr ? text : "unknown reason";
}

Error corrupt(const fs::path& file, const std::string& reason) {
  return fail(ErrorCode::Corrupt,
              file.string() + " is no whole backup: " + reason + "; take another backup file");
}

Result<Reader> openTar(const fs::path& file) {
  Reader reader(archive_read_new());
  archive_read_support_filter_none(reader.get());
  archive_read_support_format_tar(reader.get());
  archive_read_set_options(reader.get(), "hdrcharset=BINARY");
  if (archive_read_open_filename(reader.get(), file.c_str(), kBlockBytes) != ARCHIVE_OK) {
    return corrupt(file, kBroken);
  }
  return reader;
}

// The entry's name, if it is an ordinary file at a harmless place.
Result<std::string> checkedName(struct archive_entry* entry, const fs::path& file) {
  const char* const raw = archive_entry_pathname(entry);
  const std::string name = raw != nullptr ? raw : "";
  if (!isPathBelow(name) || fs::path(name).lexically_normal() != fs::path(name)) {
    return corrupt(file, "it has the file name \"" + name + "\", which leads elsewhere");
  }
  if (archive_entry_hardlink(entry) != nullptr || archive_entry_symlink(entry) != nullptr ||
      archive_entry_filetype(entry) != AE_IFREG) {
    return corrupt(file, name + " in it is a link or no ordinary file");
  }
  if (archive_entry_size_is_set(entry) == 0 || archive_entry_size(entry) < 0 ||
      archive_entry_sparse_count(entry) > 0) {
    return corrupt(file, name + " in it has no plain size");
  }
  return name;
}

Result<void> unpackEntry(Reader& reader, const fs::path& file, const fs::path& target) {
  std::error_code error;
  fs::create_directories(target.parent_path(), error);
  if (error) {
    return writeError(target.parent_path(), error.value());
  }
  auto handle = createFile(target);
  if (!handle) {
    return std::move(handle).error();
  }
  std::vector<std::byte> block(kBlockBytes);
  while (true) {
    const auto count = archive_read_data(reader.get(), block.data(), block.size());
    if (count < 0) {
      return corrupt(file, kBroken);
    }
    if (count == 0) {
      break;
    }
    EDAMORI_RETURN_IF_ERROR(
        writeAll(*handle, std::span(block).first(static_cast<std::size_t>(count)), target));
  }
  EDAMORI_RETURN_IF_ERROR(flush(*handle, target));
  return handle->close(target);
}

}  // namespace

struct TarWriter::State {
  fs::path file;
  FileHandle handle;
  std::unique_ptr<struct archive, FreeWriter> writer;
  Hashes hashes;

  [[nodiscard]] Error error() const {
    const int number = archive_errno(writer.get());
    return number > 0
               ? writeError(file, number)
               : fail(ErrorCode::Io, "cannot write " + file.string() + ": " + textOf(writer.get()));
  }

  Result<void> add(const std::string& name, std::span<const std::byte> bytes, std::time_t time) {
    const std::unique_ptr<struct archive_entry, FreeEntry> entry(archive_entry_new());
    archive_entry_set_pathname(entry.get(), name.c_str());
    archive_entry_set_filetype(entry.get(), AE_IFREG);
    archive_entry_set_perm(entry.get(), 0644);
    archive_entry_set_size(entry.get(), static_cast<la_int64_t>(bytes.size()));
    archive_entry_set_mtime(entry.get(), time, 0);
    if (archive_write_header(writer.get(), entry.get()) != ARCHIVE_OK) {
      return error();
    }
    while (!bytes.empty()) {
      const auto written = archive_write_data(writer.get(), bytes.data(), bytes.size());
      if (written <= 0) {
        return error();
      }
      bytes = bytes.subspan(static_cast<std::size_t>(written));
    }
    return {};
  }
};

TarWriter::TarWriter(std::unique_ptr<State> state) : m_state(std::move(state)) {}
TarWriter::TarWriter(TarWriter&&) noexcept = default;
TarWriter::~TarWriter() = default;

Result<TarWriter> TarWriter::create(const fs::path& file) {
  auto handle = createFile(file);
  if (!handle) {
    return std::move(handle).error();
  }
  auto state = std::make_unique<State>();
  state->file = file;
  state->handle = std::move(handle).value();
  state->writer.reset(archive_write_new());
  archive_write_set_format_pax(state->writer.get());
  // Names are bytes to us; without this libarchive asks the locale.
  archive_write_set_options(state->writer.get(), "hdrcharset=BINARY");
  if (archive_write_open_fd(state->writer.get(), state->handle.descriptor()) != ARCHIVE_OK) {
    return state->error();
  }
  return TarWriter(std::move(state));
}

Result<void> TarWriter::addFile(const std::string& name, const fs::path& source) {
  auto bytes = readFile(source);
  if (!bytes) {
    return std::move(bytes).error();
  }
  m_state->hashes[name] = sha256Of(*bytes);
  struct stat status{};
  const bool hasTime = ::stat(source.c_str(), &status) == 0;
  return m_state->add(name, *bytes, hasTime ? status.st_mtim.tv_sec : 0);
}

Result<void> TarWriter::addText(const std::string& name, const std::string& text) {
  return m_state->add(name, std::as_bytes(std::span(text)), std::time(nullptr));
}

Result<void> TarWriter::finish() {
  if (archive_write_close(m_state->writer.get()) != ARCHIVE_OK) {
    return m_state->error();
  }
  EDAMORI_RETURN_IF_ERROR(flush(m_state->handle, m_state->file));
  return m_state->handle.close(m_state->file);
}

const Hashes& TarWriter::hashes() const { return m_state->hashes; }

Result<Hashes> unpackTar(const fs::path& file, const fs::path& folder) {
  std::error_code error;
  auto bytesLeft = static_cast<std::int64_t>(fs::file_size(file, error));
  auto reader = openTar(file);
  if (!reader) {
    return std::move(reader).error();
  }
  Hashes hashes;
  while (true) {
    struct archive_entry* entry = nullptr;
    const int status = archive_read_next_header(reader->get(), &entry);
    if (status == ARCHIVE_EOF) {
      return hashes;
    }
    if (status != ARCHIVE_OK) {
      return corrupt(file, kBroken);
    }
    const auto name = checkedName(entry, file);
    if (!name) {
      return name.error();
    }
    bytesLeft -= archive_entry_size(entry);
    if (bytesLeft < 0) {
      return corrupt(file, kBroken);
    }
    if (hashes.contains(*name)) {
      return corrupt(file, *name + " in it is there twice");
    }
    EDAMORI_RETURN_IF_ERROR(unpackEntry(*reader, file, folder / *name));
    const auto hash = sha256OfFile(folder / *name);
    if (!hash) {
      return hash.error();
    }
    hashes[*name] = *hash;
  }
}

}  // namespace edamori::store
