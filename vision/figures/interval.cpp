// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/figures/interval.h"

#include <algorithm>
#include <cmath>

#include <nlohmann/json.hpp>

namespace edamori::vision {
namespace {

// Expected error = least + doubt part; chosen so that |error| / expected error is spread alike
// over clear and unclear pictures of the calibration set.
constexpr double kLeastCover = 0.004;
constexpr double kLeastSpot = 0.003;
constexpr double kSpotShare = 0.10;     // of the spotted share itself: people differ by as much
constexpr double kFoliageDoubt = 0.25;  // of the doubt about foliage, for spots

// 0.95 quantiles of error / expected error on the calibration sets (667 outlines: leaves on boards
// and in gardens, needles in gardens), docs/accuracy.md.
struct Multiples {
  double cover = 1.0, spot = 1.0;
};
constexpr Multiples kLeaf{.cover = 1.14, .spot = 1.85};
constexpr Multiples kNeedles{.cover = 0.91, .spot = 1.57};

const Multiples& multiplesFor(Subject subject) { return subject == Subject::Leaf ? kLeaf : kNeedles; }

Estimate around(double value, double halfWidth) {
  return {.value = value,
          .low = std::clamp(value - halfWidth, 0.0, value),
          .high = std::clamp(value + halfWidth, value, 1.0)};
}

}  // namespace

Estimate coverInterval(double cover, double doubtOfFoliage, Subject subject) {
  return around(cover, multiplesFor(subject).cover * (kLeastCover + doubtOfFoliage));
}

Estimate spotInterval(double spotted, const Doubt& doubt, Subject subject) {
  const double expected = kLeastSpot + doubt.ofSpots + kSpotShare * spotted +
                          kFoliageDoubt * doubt.ofFoliage * spotted / std::max(doubt.cover, 0.01);
  return around(spotted, multiplesFor(subject).spot * expected);
}

std::string intervalParametersJson() {
  return nlohmann::json{{"least", {kLeastCover, kLeastSpot}},
                        {"spot_share", kSpotShare},
                        {"foliage_doubt", kFoliageDoubt},
                        {"leaf", {kLeaf.cover, kLeaf.spot}},
                        {"needles", {kNeedles.cover, kNeedles.spot}}}
      .dump();
}

}  // namespace edamori::vision
