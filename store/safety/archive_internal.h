// SPDX-License-Identifier: GPL-3.0-or-later
// Writing and reading tar files through libarchive.
#pragma once

#include "vision/values/result.h"

#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <string>

struct archive;

namespace edamori::store {

// Names below the archive's root and the SHA-256 of their bytes, sorted.
using Hashes = std::map<std::string, std::string>;

// A POSIX pax archive (IEEE Std 1003.1-2001, "pax Interchange Format") being
// written. Destroying it before finish() leaves a file without an end.
class TarWriter {
 public:
  // `file` must not exist. Errors: Io.
  static Result<TarWriter> create(const std::filesystem::path& file);
  TarWriter(TarWriter&&) noexcept;
  ~TarWriter();

  // Errors: NotFound, Unreadable (source, also when it changes meanwhile); Io.
  Result<void> addFile(const std::string& name, const std::filesystem::path& source);
  Result<void> addText(const std::string& name, const std::string& text);
  // Closes and waits until it is on the disk. Errors: Io.
  Result<void> finish();
  [[nodiscard]] const Hashes& hashes() const;

 private:
  struct State;
  explicit TarWriter(std::unique_ptr<State> state);
  std::unique_ptr<State> m_state;
};

// Unpacks ordinary files into `folder`, an empty folder of our own.
//
// Errors: Corrupt for what is no tar file, is cut short or damaged, or has links, devices, sparse
//         files, absolute names, "..", a name twice, or more bytes than the archive itself; Io.
Result<Hashes> unpackTar(const std::filesystem::path& file, const std::filesystem::path& folder);

}  // namespace edamori::store
