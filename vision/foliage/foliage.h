// SPDX-License-Identifier: GPL-3.0-or-later
// Which pixels show foliage: colour, learned within the photo, and surroundings.
#pragma once

#include "vision/values/figure.h"
#include "vision/values/raster.h"

#include <cstdint>

namespace edamori::vision {

// Probability of a class, 0 (certainly not) … 255 (certainly).
using ProbabilityMap = Raster<1>;
// Pixels at or above this belong to the class.
inline constexpr std::uint8_t kDecision = 128;

struct FoliageOptions {
  int rounds = 3;                    // rounds of learning, 1…10
  double priorWeight = 0.6;          // pull of what foliage looks like in general, ≥ 0
  double learnedWeight = 0.7;        // pull of the photo's own colours, 0…1
  double contextWeight = 2.0;        // pull of the surroundings, ≥ 0
  double leafContextShare = 0.01;    // half the window of surroundings / longer side, 0…0.2
  double needleContextShare = 0.005; // as above, for needles, which are finer
  double focusWeight = 8.0;          // pull of being out of focus, against foliage, ≥ 0
  double leafDetailBonus = 0.6;      // pull of being as fine as the foliage, ≥ 0
  double needleDetailBonus = 1.6;    // as above, for needles: blight takes their colour
  double minFocusDetail = 4.0;       // detail of 255 that foliage in focus must have for it
  double maxHoleShare = 0.06;        // largest hole that is filled / foliage, 0…1
  double hintWeight = 40.0;          // a painted pixel counts as that many for its colour, ≥ 1
};

// What the colour says by itself: log-odds that tissue of this colour is foliage.
//
// Green, yellow-green, blue-green and red are foliage, greys and blues are not;
// browns are left open, slightly against. Values −3…3; common practice in
// vegetation indices (Woebbecke et al. 1995), limits chosen by eye.
[[nodiscard]] double foliageLogOdds(std::uint8_t r, std::uint8_t g, std::uint8_t b);

// Probability of foliage, sound or spotted, for each pixel.
//
// Input:  upright sRGB at working size (longer side up to about 1600 px); `hints` of
//         the same size, or empty (Hint values).
// Output: same size. Give some surroundings of the branch with it: they teach the
//         model what lies behind.
// Method: colour prior, then rounds in which each colour takes the mean judgement
//         of its pixels and each pixel heeds its neighbourhood; then holes that
//         do not look like the background are filled (lesions). Deterministic.
// Cost:   about 0.15 µs a pixel and round; thread safe.
[[nodiscard]] ProbabilityMap foliageProbability(const RgbImage& image,
                                                const LabelImage& hints,
                                                Subject subject,
                                                const FoliageOptions& options);

}  // namespace edamori::vision
