// SPDX-License-Identifier: GPL-3.0-or-later
// Strokes of the hint brush as the picture that measuring reads.
#pragma once

#include "store/records/records.h"
#include "vision/values/raster.h"

#include <optional>
#include <vector>

namespace edamori::work {

// A pixel is painted when its centre lies within the stroke's radius of its way; later strokes lie
// over earlier ones. Nothing when there is no stroke.
[[nodiscard]] std::optional<LabelImage> hintImage(const std::vector<store::HintStroke>& strokes,
                                                  int widthPx,
                                                  int heightPx);

}  // namespace edamori::work
