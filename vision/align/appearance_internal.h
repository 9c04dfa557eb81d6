// SPDX-License-Identifier: GPL-3.0-or-later
// Whether the branch itself looks the same where an alignment puts it.
#pragma once

#include "vision/align/matches_internal.h"
#include "vision/values/geometry.h"

namespace edamori::vision {

// Correlation of the outline's content with the after photo, at the place where the
// alignment puts it and at the best place around it. All in px of the working photo.
struct Appearance {
  double here = 0.0;    // correlation coefficient −1…1 as aligned
  double best = 0.0;    // the highest within kSearchShare around
  PointPx bestShift;    // of the after photo's content in the before frame
  double offset = 0.0;  // length of bestShift
};

// How far around is looked, as a share of the working photo's longer side.
inline constexpr double kSearchShare = 0.08;

// Details of the background can outnumber those of the branch many times, and move
// otherwise when the camera moves; only the branch's own look tells which ones it follows.
//
// Source: normalised cross-correlation over a mask, Lewis 1995, Vision Interface, 120–123.
[[nodiscard]] Appearance appearanceOf(const WorkingPhoto& before,
                                      const WorkingPhoto& after,
                                      const Homography& afterFromBefore,
                                      const Outline& outline);

}  // namespace edamori::vision
