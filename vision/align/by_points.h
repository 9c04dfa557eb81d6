// SPDX-License-Identifier: GPL-3.0-or-later
// Aligning by what a person says: places that are the same on both photos.
#pragma once

#include "vision/align/compare.h"

#include <vector>

namespace edamori::vision {

inline constexpr std::size_t kMinPointPairs = 2;
inline constexpr std::size_t kMaxPointPairs = 4;

// Puts `after` onto `before` by 2 to 4 pairs of points alone: a similarity through 2, the
// least-squares similarity through 3, a homography through 4. supportingMatches is the number
// of pairs; residualPx their median distance, which is 0 where the model has no choice.
// errorPx is how far off a careful click is, carried to the outline's farthest corner.
//
// Errors: InvalidArgument when there are other than 2 to 4 pairs, when two points of one photo
//         coincide or, of four, three lie in one line; NotMeasurable as align().
// Source: least-squares similarity, Umeyama 1991, IEEE Trans. PAMI 13, 376–380.
[[nodiscard]] Result<Alignment> alignByPoints(const RgbImage& before,
                                              const RgbImage& after,
                                              const std::vector<PointPairPx>& pairs,
                                              const std::optional<Outline>& outlineBefore);

}  // namespace edamori::vision
