// SPDX-License-Identifier: GPL-3.0-or-later
// What a person would paint who sees where the labels are wrong.
#pragma once

#include "vision/values/raster.h"

namespace edamori::accuracy {

struct PaintedStrokes {
  LabelImage hints;  // Hint values
  int count = 0;
};

// Paints the right class into the three largest regions that the labels have wrong.
//
// A region is connected (8 neighbours) and of one true class; lines thinner than 3 px are
// no regions, because nobody paints along an edge. A stroke is straight, passes through the
// region's innermost point, stays within the region, and is at most 60 px × 7 px large at
// the scale at which measuring works (longer side of the outline's box at most 1600 px).
//
// Input: labels found and true, and the outline, all of one size.
[[nodiscard]] PaintedStrokes simulateStrokes(const LabelImage& found,
                                             const LabelImage& truth,
                                             const Mask& inside);

}  // namespace edamori::accuracy
