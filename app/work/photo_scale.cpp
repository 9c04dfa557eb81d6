// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/photo_scale.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace edamori::work {

namespace {
constexpr double kCoverage = 1.96;
constexpr double kMm2PerDm2 = 10'000;
}  // namespace

PhotoScale scaleOf(const store::Ruler& ruler) {
  const double lengthPx = std::hypot(ruler.to.x - ruler.from.x, ruler.to.y - ruler.from.y);
  return {.mmPerPx = ruler.lengthMm / lengthPx,
          .relativeUncertainty = std::numbers::sqrt2 * ruler.clickPx / lengthPx};
}

double clickUncertaintyPx(double viewPxPerPhotoPx) { return std::max(0.5, 1 / viewPxPerPhotoPx); }

Size lengthMm(const PhotoScale& scale, double lengthPx) {
  const double value = lengthPx * scale.mmPerPx;
  return {.value = value, .plusMinus = kCoverage * scale.relativeUncertainty * value};
}

// An area goes with the square of the scale, so that its relative uncertainty is twice as large.
Size areaMm2(const PhotoScale& scale, double areaPx2) {
  const double value = areaPx2 * scale.mmPerPx * scale.mmPerPx;
  return {.value = value, .plusMinus = kCoverage * 2 * scale.relativeUncertainty * value};
}

Size densityPerDm2(const PhotoScale& scale, int count, double areaPx2) {
  const auto area = areaMm2(scale, areaPx2);
  const double value = area.value > 0 ? count / (area.value / kMm2PerDm2) : 0;
  return {.value = value, .plusMinus = kCoverage * 2 * scale.relativeUncertainty * value};
}

}  // namespace edamori::work
