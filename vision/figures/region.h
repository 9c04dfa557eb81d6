// SPDX-License-Identifier: GPL-3.0-or-later
// Outlines as masks: which pixels of a photo belong to a branch.
#pragma once

#include "vision/values/geometry.h"
#include "vision/values/raster.h"
#include "vision/values/result.h"

#include <cstdint>
#include <optional>

namespace edamori::vision {

// The pixels whose centre lies inside the outline (even-odd rule), less its holes.
//
// Output: width × height px, 255 inside, 0 outside; parts beyond the photo are cut off.
// Errors: InvalidArgument when the polygon or a hole has fewer than 3 points or a
//         coordinate that is not finite, or when a side of the photo is below 1 px.
// Cost:   O(height × vertices + width × height); thread safe.
Result<Mask> maskOf(const Outline& outline, int widthPx, int heightPx);

// As above; without an outline the whole photo is inside.
Result<Mask> maskOf(const std::optional<Outline>& outline, int widthPx, int heightPx);

// Pixels that lie in either mask, each counted once. Both must have the same size.
[[nodiscard]] Mask unionOf(const Mask& a, const Mask& b);

// Number of pixels that are not 0.
[[nodiscard]] std::int64_t countInside(const Mask& mask);

// Box of whole pixels; empty when a side is 0.
struct PixelBox {
  int left = 0, top = 0, width = 0, height = 0;  // px
  friend bool operator==(const PixelBox&, const PixelBox&) = default;
};

// Smallest box around the pixels that are not 0; empty when there are none.
[[nodiscard]] PixelBox boxAround(const Mask& mask);

}  // namespace edamori::vision
