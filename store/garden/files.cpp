// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/files_internal.h"

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <system_error>

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace edamori::store {

namespace fs = std::filesystem;

namespace {

std::string reasonOf(int errorNumber) { return std::generic_category().message(errorNumber); }

int renameWithoutReplacing(const fs::path& from, const fs::path& to) {
  if (::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE) == 0) {
    return 0;
  }
  // Some disks (FAT, some network ones) cannot promise it; then look first.
  if (errno != EINVAL && errno != ENOSYS) {
    return errno;
  }
  std::error_code error;
  if (fs::exists(fs::symlink_status(to, error))) {
    return EEXIST;
  }
  return ::rename(from.c_str(), to.c_str()) == 0 ? 0 : errno;
}

}  // namespace

FileHandle& FileHandle::operator=(FileHandle&& other) noexcept {
  std::swap(m_descriptor, other.m_descriptor);
  return *this;
}

FileHandle::~FileHandle() {
  if (m_descriptor >= 0) {
    ::close(m_descriptor);
  }
}

Result<void> FileHandle::close(const fs::path& file) {
  if (::close(std::exchange(m_descriptor, -1)) != 0) {
    return writeError(file, errno);
  }
  return {};
}

TemporaryFile::~TemporaryFile() {
  if (!m_path.empty()) {
    std::error_code ignored;
    fs::remove(m_path, ignored);
  }
}

Error writeError(const fs::path& file, int errorNumber) {
  if (errorNumber == ENOSPC || errorNumber == EDQUOT || errorNumber == EFBIG) {
    return fail(ErrorCode::Io,
                "disk full: no room to write " + file.string() + " (" + reasonOf(errorNumber) +
                    "); make room and try again");
  }
  return fail(ErrorCode::Io, "cannot write " + file.string() + ": " + reasonOf(errorNumber));
}

Error readError(const fs::path& file, int errorNumber) {
  if (errorNumber == ENOENT || errorNumber == ENOTDIR) {
    return fail(ErrorCode::NotFound, "there is no file or folder " + file.string() + "; check the path");
  }
  if (errorNumber == EISDIR) {
    return fail(ErrorCode::Unreadable, file.string() + " is a folder; name a file in it");
  }
  return fail(ErrorCode::Unreadable, "cannot read " + file.string() + ": " + reasonOf(errorNumber));
}

Result<FileHandle> openForReading(const fs::path& file) {
  // Without O_NONBLOCK a pipe would hold the program until somebody writes to it.
  FileHandle handle(::open(file.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK));
  if (handle.descriptor() < 0) {
    return readError(file, errno);
  }
  struct stat status{};
  if (::fstat(handle.descriptor(), &status) != 0) {
    return readError(file, errno);
  }
  if (S_ISDIR(status.st_mode)) {
    return readError(file, EISDIR);
  }
  if (!S_ISREG(status.st_mode)) {
    return fail(ErrorCode::Unreadable, file.string() + " is no ordinary file");
  }
  return handle;
}

Result<FileHandle> createFile(const fs::path& file) {
  FileHandle handle(
      ::open(file.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666));
  if (handle.descriptor() < 0) {
    return writeError(file, errno);
  }
  return handle;
}

Result<void> writeAll(const FileHandle& handle,
                      std::span<const std::byte> bytes,
                      const fs::path& file) {
  while (!bytes.empty()) {
    const ssize_t written = ::write(handle.descriptor(), bytes.data(), bytes.size());
    if (written < 0) {
      if (errno == EINTR) {
        continue;
      }
      return writeError(file, errno);
    }
    bytes = bytes.subspan(static_cast<std::size_t>(written));
  }
  return {};
}

Result<std::size_t> readSome(const FileHandle& handle,
                             std::span<std::byte> bytes,
                             const fs::path& file) {
  while (true) {
    const ssize_t count = ::read(handle.descriptor(), bytes.data(), bytes.size());
    if (count >= 0) {
      return static_cast<std::size_t>(count);
    }
    if (errno != EINTR) {
      return readError(file, errno);
    }
  }
}

Result<void> flush(const FileHandle& handle, const fs::path& file) {
  if (::fsync(handle.descriptor()) != 0) {
    return writeError(file, errno);
  }
  return {};
}

Result<void> flushPath(const fs::path& fileOrFolder) {
  const FileHandle handle(::open(fileOrFolder.c_str(), O_RDONLY | O_CLOEXEC));
  if (handle.descriptor() < 0) {
    return writeError(fileOrFolder, errno);
  }
  // Some disks cannot flush a folder; they say EINVAL and there is nothing more to do.
  if (::fsync(handle.descriptor()) != 0 && errno != EINVAL) {
    return writeError(fileOrFolder, errno);
  }
  return {};
}

Result<void> makeFolder(const fs::path& folder) {
  std::error_code error;
  fs::create_directory(folder, error);
  if (error) {
    return writeError(folder, error.value());
  }
  return {};
}

Result<void> moveIntoPlace(const fs::path& from, const fs::path& to) {
  const int errorNumber = renameWithoutReplacing(from, to);
  if (errorNumber == EEXIST || errorNumber == ENOTEMPTY) {
    return fail(ErrorCode::Conflict, to.string() + " exists already; choose another name");
  }
  if (errorNumber != 0) {
    return writeError(to, errorNumber);
  }
  const fs::path folder = to.parent_path();
  return flushPath(folder.empty() ? fs::path(".") : folder);
}

bool isPathBelow(const fs::path& relative) {
  const auto isPlain = [](const fs::path& part) {
    return !part.empty() && part != ".." && part != ".";
  };
  return !relative.empty() && !relative.is_absolute() &&
         relative.string().find('\0') == std::string::npos &&
         std::all_of(relative.begin(), relative.end(), isPlain);
}

}  // namespace edamori::store
