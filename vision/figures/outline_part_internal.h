// SPDX-License-Identifier: GPL-3.0-or-later
// The part of a photo around one outline, at the sizes that measuring looks at.
#pragma once

#include "vision/values/geometry.h"
#include "vision/values/pixel_box.h"
#include "vision/values/raster.h"
#include "vision/values/result.h"

#include <cstdint>
#include <optional>

namespace edamori::vision {

struct OutlinePart {
  PixelBox box;                // outline plus margin, within the photo; px
  Mask inside;                 // the outline within the box, full size
  std::int64_t outlinePx = 0;  // pixels inside
  double beyondShare = 0.0;    // of the outline's area, what lies beyond the photo, 0 … 1
  RgbImage seen;               // the box, of at most twice kPartSidePx a side
  RgbImage work;               // the box at the working side
};

// What the focus is read on has this length of its longer side, or up to twice as much.
inline constexpr int kPartSidePx = 1600;

struct PartSizes {
  double marginShare = 0.0;  // surroundings looked at, as a share of the outline's box
  int workingSidePx = 0;     // longer side of the working image
  double mostEnlarged = 1.0;  // a smaller box is enlarged by no more than this, ≥ 1
};

// Cuts the part out of the photo; without an outline it is the whole photo.
//
// Errors: InvalidArgument (outline with < 3 points); NotMeasurable (outside the photo, or too few
//         pixels for a figure).
Result<OutlinePart> partOf(const RgbImage& photo,
                           const std::optional<Outline>& outline,
                           const PartSizes& sizes);

// A mask of the box at another size, the nearest pixel each.
[[nodiscard]] Mask atSize(const Mask& mask, int width, int height);

}  // namespace edamori::vision
