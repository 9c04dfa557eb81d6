// SPDX-License-Identifier: GPL-3.0-or-later
// The photo folder of a garden: originals by content hash, never changed.
#pragma once

#include "store/garden/garden.h"
#include "vision/values/result.h"

#include <cstddef>
#include <filesystem>
#include <functional>
#include <span>
#include <string>

namespace edamori::store {

// SHA-256 (FIPS 180-4) as 64 lower-case hex digits.
[[nodiscard]] std::string sha256Of(std::span<const std::byte> bytes);
// Errors: NotFound, Unreadable.
Result<std::string> sha256OfFile(const std::filesystem::path& file);
// Whole file in memory. Errors: NotFound, Unreadable (permission, folder, changed while reading).
Result<std::vector<std::byte>> readFile(const std::filesystem::path& file);

struct StoredOriginal {
  std::string sha256;
  std::int64_t sizeBytes = 0;
  std::filesystem::path file;  // below photos/
  bool wasThere = false;       // the same bytes were stored already
};

// Copies `file` byte for byte to photos/<first two hex digits>/<hash>.<ending>, by way of a
// temporary file in the same folder that is flushed, read back and compared by hash, then renamed.
//
// `ending` is the format's ("jpg", "png", "tif", "heic"). A copy that is already there and whole is
// left alone (wasThere); one that is damaged is replaced.
// Errors: NotFound, Unreadable (source); Io with "disk full" in words where that is the reason.
//         On any error nothing new is left in photos/.
Result<StoredOriginal> storeOriginal(const Garden& garden,
                                     const std::filesystem::path& file,
                                     const std::string& ending);

// Photo-like files below each path, folders walked recursively, sorted, each once; hidden files and
// folders are passed over; links to folders are not followed. Paths that cannot be
// read end up in `refused` with the reason.
struct FoundFiles {
  std::vector<std::filesystem::path> files;
  std::vector<std::pair<std::filesystem::path, Error>> refused;
};
[[nodiscard]] FoundFiles findPhotoFiles(const std::vector<std::filesystem::path>& paths);

}  // namespace edamori::store
