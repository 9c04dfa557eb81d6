// SPDX-License-Identifier: GPL-3.0-or-later
// Sizes in mm from a ruler laid on the photo.
#pragma once

#include "store/records/records.h"

namespace edamori::work {

// Holds in the plane of the ruler, seen at a right angle; nearer and farther parts differ.
struct PhotoScale {
  double mmPerPx = 0;
  double relativeUncertainty = 0;  // standard uncertainty of mmPerPx ÷ mmPerPx, 0…
};

// A value with the half-width of its 95 % interval.
struct Size {
  double value = 0;
  double plusMinus = 0;
};

// The two clicks are independent and equally good, so that the length in px is uncertain by √2
// clicks. The known length itself counts as exact.
// Source: propagation of uncertainty, JCGM 100:2008, 5.1.2.
[[nodiscard]] PhotoScale scaleOf(const store::Ruler& ruler);
// Standard uncertainty of one click, in photo px: a pixel of the view or half a pixel of the
// photo, whichever is more. Common practice, no source.
[[nodiscard]] double clickUncertaintyPx(double viewPxPerPhotoPx);

// Coverage factor 1.96 (normal distribution, 95 %).
[[nodiscard]] Size lengthMm(const PhotoScale& scale, double lengthPx);
[[nodiscard]] Size areaMm2(const PhotoScale& scale, double areaPx2);
// `count` for each dm² of an area; a count of 0 gives 0. Of the scale alone: the uncertainty of
// the count itself is not in it.
[[nodiscard]] Size densityPerDm2(const PhotoScale& scale, int count, double areaPx2);

}  // namespace edamori::work
