// SPDX-License-Identifier: GPL-3.0-or-later
// Whole files in and out of memory.
#pragma once

#include "vision/values/result.h"

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace edamori::vision {

// Larger files are no photos: an uncompressed 160-megapixel TIFF of 16 bits has 0.96 GB.
inline constexpr std::uintmax_t kMaxFileBytes = std::uintmax_t{1} << 30;

// Reads a file. Errors: NotFound, Unreadable (a folder, no permission), Corrupt (too large).
Result<std::vector<std::byte>> readFileBytes(const std::filesystem::path& file);

// Writes a file whole or not at all: into a part file beside it, flushed to the disk, then
// renamed. Errors: Io; no part file is left behind.
Result<void> writeFileBytes(const std::filesystem::path& file, std::span<const std::byte> bytes);

// The name for messages, on one line: control characters become '?'.
[[nodiscard]] std::string shownName(std::string_view name);
[[nodiscard]] std::string shownName(const std::filesystem::path& file);

}  // namespace edamori::vision
