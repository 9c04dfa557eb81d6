// SPDX-License-Identifier: GPL-3.0-or-later
// Pairs made from real photographs by a known homography and a change of light.
#pragma once

#include "tests/accuracy/align/pair.h"

#include <filesystem>
#include <vector>

namespace edamori::accuracy {

// Every second photograph found below the folders (sorted by name) belongs to each split.
[[nodiscard]] std::vector<RgbImage> photographsOf(Split split,
                                                  const std::vector<std::filesystem::path>& folders);

// Each photo seen again: ≤ 25° roll, 0.6–1.6 × scale, ≤ 20° viewpoint, other light.
[[nodiscard]] std::vector<KnownPair> possiblePhotoPairs(Split split,
                                                        const std::vector<RgbImage>& photos);

// Every photo against every other, and against its mirror image.
[[nodiscard]] std::vector<KnownPair> impossiblePhotoPairs(const std::vector<RgbImage>& photos);

// A photo seen from elsewhere at its own size, for timing.
struct LargePair {
  RgbImage before, after;
};
[[nodiscard]] LargePair largePair(const RgbImage& photo, int widthPx, int heightPx);

}  // namespace edamori::accuracy
