// SPDX-License-Identifier: GPL-3.0-or-later
// Memory for whole photos.
#pragma once

#include <cstddef>

namespace edamori {

// From here on memory comes in huge pages.
inline constexpr std::size_t kLargeBlockBytes = std::size_t{4} << 20U;

// Uninitialised memory; in huge pages from kLargeBlockBytes on, where the system lends them on request.
// Throws std::bad_alloc. Free it with freeLargeBlock and the same size.
[[nodiscard]] void* largeBlock(std::size_t bytes);
void freeLargeBlock(void* block, std::size_t bytes) noexcept;

}  // namespace edamori
