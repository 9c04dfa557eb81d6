// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/load/file_bytes.h"

#include <fcntl.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <cstring>
#include <system_error>

namespace edamori::vision {
namespace {

// An open file, closed at the end.
class Descriptor {
 public:
  explicit Descriptor(int number) : m_number(number) {}
  ~Descriptor() { close(); }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;

  [[nodiscard]] int number() const { return m_number; }
  // False when the system reports that a write was lost.
  bool close() {
    const bool isClosed = m_number < 0 || ::close(m_number) == 0;
    m_number = -1;
    return isClosed;
  }

 private:
  int m_number;
};

std::string reasonOf(int error) { return std::generic_category().message(error); }

bool writeAll(int descriptor, std::span<const std::byte> bytes) {
  while (!bytes.empty()) {
    const ssize_t written = ::write(descriptor, bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) {
      continue;
    }
    if (written <= 0) {
      return false;
    }
    bytes = bytes.subspan(static_cast<std::size_t>(written));
  }
  return true;
}

Error notWritten(const std::filesystem::path& file, int error) {
  return fail(ErrorCode::Io, shownName(file) + " could not be written (" + reasonOf(error) +
                                 "); check the folder and its free space");
}

std::filesystem::path partFileOf(const std::filesystem::path& file) {
  static std::atomic<unsigned> counter{0};
  return file.parent_path() / ("." + file.filename().string() + "." + std::to_string(::getpid()) +
                               "-" + std::to_string(++counter) + ".part");
}

Result<std::size_t> readableSizeOf(const std::filesystem::path& file) {
  std::error_code error;
  const auto status = std::filesystem::status(file, error);
  if (status.type() == std::filesystem::file_type::not_found) {
    return fail(ErrorCode::NotFound, shownName(file) + " does not exist; check the name");
  }
  if (error) {
    return fail(ErrorCode::Unreadable, shownName(file) + " cannot be read (" + error.message() +
                                           "); check its permissions");
  }
  if (std::filesystem::is_directory(status)) {
    return fail(ErrorCode::Unreadable,
                shownName(file) + " is a folder; name a photo file inside it");
  }
  if (!std::filesystem::is_regular_file(status)) {
    return fail(ErrorCode::Unreadable, shownName(file) + " is not a file; name a photo file");
  }
  const std::uintmax_t size = std::filesystem::file_size(file, error);
  if (!error && size > kMaxFileBytes) {
    return fail(ErrorCode::Corrupt,
                shownName(file) + " is larger than 1 GB, which no photo is; choose another file");
  }
  return error ? std::size_t{0} : static_cast<std::size_t>(size);
}

}  // namespace

std::string shownName(std::string_view name) {
  std::string shown(name);
  for (char& c : shown) {
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) {
      c = '?';
    }
  }
  return shown;
}

std::string shownName(const std::filesystem::path& file) {
  return shownName(std::string_view(file.string()));
}

Result<std::vector<std::byte>> readFileBytes(const std::filesystem::path& file) {
  const auto size = readableSizeOf(file);
  if (!size) {
    return size.error();
  }
  const Descriptor input(::open(file.c_str(), O_RDONLY | O_CLOEXEC));
  if (input.number() < 0) {
    return fail(ErrorCode::Unreadable, shownName(file) + " cannot be read (" + reasonOf(errno) +
                                           "); check its permissions");
  }
  std::vector<std::byte> bytes(*size);
  std::size_t filled = 0;
  while (filled < bytes.size()) {
    const ssize_t got = ::read(input.number(), bytes.data() + filled, bytes.size() - filled);
    if (got < 0 && errno == EINTR) {
      continue;
    }
    if (got < 0) {
      return fail(ErrorCode::Unreadable, shownName(file) + " cannot be read (" + reasonOf(errno) +
                                             "); check the disk or card");
    }
    if (got == 0) {
      break;
    }
    filled += static_cast<std::size_t>(got);
  }
  bytes.resize(filled);
  return bytes;
}

Result<void> writeFileBytes(const std::filesystem::path& file, std::span<const std::byte> bytes) {
  const std::filesystem::path part = partFileOf(file);
  Descriptor output(::open(part.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666));
  if (output.number() < 0) {
    return notWritten(file, errno);
  }
  errno = 0;
  const bool isWritten = writeAll(output.number(), bytes) && ::fsync(output.number()) == 0;
  const int writeError = errno;
  if (!output.close() || !isWritten) {
    const int error = isWritten ? errno : writeError;
    ::unlink(part.c_str());
    return notWritten(file, error != 0 ? error : EIO);
  }
  if (::rename(part.c_str(), file.c_str()) != 0) {
    const int error = errno;
    ::unlink(part.c_str());
    return notWritten(file, error);
  }
  return {};
}

}  // namespace edamori::vision
