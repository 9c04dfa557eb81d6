// SPDX-License-Identifier: GPL-3.0-or-later
// Aligning by what a person drew: the outline of one branch on both photos.
#pragma once

#include "vision/align/compare.h"

namespace edamori::vision {

// Puts `after` onto `before` so that the rims of the two outlines lie on each other: the similarity
// of least squares between points along them, then between each point and the nearest of the other
// rim. Pixels are not looked at, and details within the branch may lie off by more than the rims.
// residualPx is the median distance of the rims, errorPx what nine tenths of them keep to.
//
// Errors: InvalidArgument for an outline with < 3 points or without area; NotMeasurable as align(), and
//         when the outlines differ so much in shape that they cannot be of one branch from one side.
// Source: iterated nearest points, Besl & McKay 1992, IEEE Trans. PAMI 14, 239–256; its start is the best
//         of all cyclic pairings (least-squares similarity, Umeyama 1991).
[[nodiscard]] Result<Alignment> alignByOutlines(const RgbImage& before,
                                                const RgbImage& after,
                                                const Outline& outlineBefore,
                                                const Outline& outlineAfter);

}  // namespace edamori::vision
