// SPDX-License-Identifier: GPL-3.0-or-later
// Pairs of drawn trees: known per outline corner, because the scene is known in depth.
#pragma once

#include "tests/accuracy/align/pair.h"
#include "tests/accuracy/align/picture_cache.h"

namespace edamori::accuracy {

// Pairs of two views of one tree within the stated limits (≤ 25° roll, 0.6–1.6 × scale, ≤ 20°
// viewpoint, new light, 0–40 % of foliage gone): outlines of branches and trunk, and close-ups.
[[nodiscard]] std::vector<KnownPair> possibleTreePairs(Split split, PictureCache& cache);

// Pairs that must be refused: other trees (half of them in the same place and pot), the other
// side of the same tree, mirrored photos.
[[nodiscard]] std::vector<KnownPair> impossibleTreePairs(Split split, PictureCache& cache);

}  // namespace edamori::accuracy
