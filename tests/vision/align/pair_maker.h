// SPDX-License-Identifier: GPL-3.0-or-later
// Pairs of photos whose alignment is known, because the second is made from the first.
#pragma once

#include "vision/values/geometry.h"
#include "vision/values/raster.h"

#include <cstdint>

namespace edamori::test {

// A scene with bark, leaves, a pot and a bench, drawn by formulas; other seeds give
// other scenes that share nothing but their kind.
[[nodiscard]] RgbImage drawnScene(int width, int height, std::uint32_t seed);

struct ViewChange {
  double rollDeg = 0.0;
  double scale = 1.0;
  double tiltX = 0.0,
         tiltY = 0.0;  // perspective: change of scale from one side to the other, about
  double shiftX = 0.0, shiftY = 0.0;  // share of the longer side
};

// After-from-before homography about the centre of the photo.
[[nodiscard]] Homography homographyOf(const ViewChange& change, int width, int height);

struct LightChange {
  double gain = 1.0;   // of all channels
  double cast = 0.0;   // red × (1 + cast), blue × (1 − cast)
  double noise = 0.0;  // standard deviation, 8-bit counts
  std::uint32_t seed = 1;
};

// The photo as seen through the homography, on a frame of the same size; bilinear over
// 2 × 2 samples a pixel, by arithmetic of its own. Outside is mid grey.
[[nodiscard]] RgbImage photographedAgain(const RgbImage& photo,
                                         const Homography& afterFromBefore,
                                         const LightChange& light);

[[nodiscard]] RgbImage mirrored(const RgbImage& photo);

// Largest distance of the outline's mapped vertices between two homographies, px.
[[nodiscard]] double cornerErrorPx(const Homography& actual,
                                   const Homography& expected,
                                   const Outline& outline);

}  // namespace edamori::test
