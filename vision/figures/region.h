// SPDX-License-Identifier: GPL-3.0-or-later
// Outlines as masks: which pixels of a photo belong to a branch.
#pragma once

#include "vision/values/geometry.h"
#include "vision/values/pixel_box.h"
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

// As the first, but only the pixels of `frame`, a box of the photo or beyond it: the mask has the
// frame's size and is that part of the whole photo's mask. An outline may cover little of 48 megapixels.
// Errors: as above, when a side of the frame is below 1 px.
Result<Mask> maskOf(const Outline& outline, const PixelBox& frame);

// As the first; without an outline the whole photo is inside.
Result<Mask> maskOf(const std::optional<Outline>& outline, int widthPx, int heightPx);

// Pixels that lie in either mask, each counted once. Both must have the same size.
[[nodiscard]] Mask unionOf(const Mask& a, const Mask& b);

// Number of pixels that are not 0.
[[nodiscard]] std::int64_t countInside(const Mask& mask);

// Smallest box around the pixels that are not 0; empty when there are none.
[[nodiscard]] PixelBox boxAround(const Mask& mask);

}  // namespace edamori::vision
