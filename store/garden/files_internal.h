// SPDX-License-Identifier: GPL-3.0-or-later
// Writing files so that they are on the disk, whole, or not there at all.
#pragma once

#include "vision/values/result.h"

#include <cstddef>
#include <filesystem>
#include <span>
#include <string>
#include <utility>

namespace edamori::store {

// An open file of the system; closes with its owner.
class FileHandle {
 public:
  FileHandle() = default;
  explicit FileHandle(int descriptor) : m_descriptor(descriptor) {}
  FileHandle(FileHandle&& other) noexcept : m_descriptor(std::exchange(other.m_descriptor, -1)) {}
  FileHandle& operator=(FileHandle&& other) noexcept;
  ~FileHandle();
  [[nodiscard]] int descriptor() const { return m_descriptor; }
  // Closes now. Errors: Io, which some network disks only tell here.
  Result<void> close(const std::filesystem::path& file);

 private:
  int m_descriptor = -1;
};

// Removes the file unless it was released: what is half written does not stay.
class TemporaryFile {
 public:
  explicit TemporaryFile(std::filesystem::path path) : m_path(std::move(path)) {}
  TemporaryFile(const TemporaryFile&) = delete;
  TemporaryFile& operator=(const TemporaryFile&) = delete;
  ~TemporaryFile();
  [[nodiscard]] const std::filesystem::path& path() const { return m_path; }
  void release() { m_path.clear(); }

 private:
  std::filesystem::path m_path;
};

// The error for a failed write of `file` with this errno; ENOSPC, EDQUOT and EFBIG say "disk full".
[[nodiscard]] Error writeError(const std::filesystem::path& file, int errorNumber);
// The error for a failed read or open of `file`: NotFound or Unreadable.
[[nodiscard]] Error readError(const std::filesystem::path& file, int errorNumber);

// Opens an ordinary file for reading. Errors: NotFound, Unreadable (also for folders and devices).
Result<FileHandle> openForReading(const std::filesystem::path& file);
// Makes a file that must not exist yet. Errors: Io.
Result<FileHandle> createFile(const std::filesystem::path& file);
// Errors: Io.
Result<void> writeAll(const FileHandle& handle,
                      std::span<const std::byte> bytes,
                      const std::filesystem::path& file);
// Errors: Unreadable. Gives the number of bytes read; 0 at the end.
Result<std::size_t> readSome(const FileHandle& handle,
                             std::span<std::byte> bytes,
                             const std::filesystem::path& file);
// Waits until the bytes, or a folder's entries, are on the disk. Errors: Io.
Result<void> flush(const FileHandle& handle, const std::filesystem::path& file);
Result<void> flushPath(const std::filesystem::path& fileOrFolder);
// Makes one folder, or leaves the one that is there. Errors: Io.
Result<void> makeFolder(const std::filesystem::path& folder);
// Moves a finished file into place, never over another one, and flushes the folder.
// Errors: Conflict when `to` exists; Io.
Result<void> moveIntoPlace(const std::filesystem::path& from, const std::filesystem::path& to);

// True for a plain path below a folder: not absolute, no "..", not empty.
[[nodiscard]] bool isPathBelow(const std::filesystem::path& relative);

}  // namespace edamori::store
