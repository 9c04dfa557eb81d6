// SPDX-License-Identifier: GPL-3.0-or-later
// What every alignment of two full-size photos has to pass, and the fit that several use.
#pragma once

#include "vision/align/compare.h"

#include <cmath>
#include <vector>

namespace edamori::vision {

// The alignment with its overlap; refused when its homography cannot be two views of the branch
// or most of the branch lies outside the after photo.
[[nodiscard]] Result<Alignment> checkedAlignment(Alignment alignment,
                                                 const RgbImage& before,
                                                 const RgbImage& after,
                                                 const std::optional<Outline>& outlineBefore);

// Distance of two points of one photo.
[[nodiscard]] inline double apart(PointPx a, PointPx b) { return std::hypot(a.x - b.x, a.y - b.y); }

// Least-squares similarity without mirroring, from[i] → to[i]; as many of both, ≥ 2, not all the same.
// Source: Umeyama 1991, IEEE Trans. PAMI 13, 376–380.
[[nodiscard]] Homography similarityThrough(const std::vector<PointPx>& from,
                                           const std::vector<PointPx>& to);

}  // namespace edamori::vision
