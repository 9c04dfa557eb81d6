// SPDX-License-Identifier: GPL-3.0-or-later
// What every alignment of two full-size photos has to pass.
#pragma once

#include "vision/align/compare.h"

namespace edamori::vision {

// The alignment with its overlap; refused when its homography cannot be two views of the branch
// or most of the branch lies outside the after photo.
[[nodiscard]] Result<Alignment> checkedAlignment(Alignment alignment,
                                                 const RgbImage& before,
                                                 const RgbImage& after,
                                                 const std::optional<Outline>& outlineBefore);

}  // namespace edamori::vision
