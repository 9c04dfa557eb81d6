// SPDX-License-Identifier: GPL-3.0-or-later
// Where foliage went, came, is spotted or no longer is between two measured photos of one branch.
#pragma once

#include "vision/values/geometry.h"
#include "vision/values/raster.h"

#include <cstdint>

namespace edamori::vision {

// What became of a place of the before photo.
enum class ChangeKind : std::uint8_t {
  None = 0,     // no foliage on both, or outside the outlines
  Kept = 1,     // sound foliage on both
  Lost = 2,     // foliage before, none near by after
  Gained = 3,   // foliage after, none near by before
  Spotted = 4,  // spotted or blighted foliage after
  Cleared = 5,  // spotted before, sound foliage after, nothing spotted near by
};

struct ChangeMapRequest {
  Homography afterFromBefore{1, 0, 0, 0, 1, 0, 0, 0, 1};  // full-size px
  Outline outlineAfter;        // what was measured of the after photo, full-size px
  double tolerancePx = 0.0;    // how far off foliage may lie and still be the same, px of before, ≥ 0
  int longSidePx = 1600;       // of the map, at least 1; never finer than the labels
};

// One ChangeKind per place, on the frame of the before photo reduced to `longSidePx`.
//
// Input:  labels of both photos as measure() returns them, 0 outside their outlines;
//         `outlineBefore` is what was measured of the before photo.
// Output: None beyond either outline, so that what only one photo was measured for is no change.
//         Foliage that only the alignment's error displaces is no change either: a place is lost
//         only when no foliage lies within the tolerance of it on the after photo, and the other
//         way round, and no longer spotted only when nothing spotted lies that near.
// Cost:   one look at both labels per pixel of the map, and two passes for the tolerance.
[[nodiscard]] Raster<1> changeMap(const LabelImage& before,
                                  const Outline& outlineBefore,
                                  const LabelImage& after,
                                  const ChangeMapRequest& request);

}  // namespace edamori::vision
