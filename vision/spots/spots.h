// SPDX-License-Identifier: GPL-3.0-or-later
// Which foliage is spotted or blighted: tissue that differs from the sound tissue around it.
#pragma once

#include "vision/foliage/foliage.h"
#include "vision/values/figure.h"
#include "vision/values/raster.h"

namespace edamori::vision {

struct SpotOptions {
  int rounds = 3;                   // rounds of finding the sound tissue, 1…10
  double windowShare = 0.3;         // half the window of sound tissue / √foliage area, 0.02…1
  double globalWeight = 0.25;       // weight of the branch's own mean in the local one, 0…1
  double minRednessStep = 0.4;      // least shift of ln(R/G) from sound tissue, > 0
  double maxRednessStep = 0.6;      // most that green tissue's own spread may raise it to
  double minDarkStep = 22.0;        // least loss of L* from sound tissue, > 0
  double minChromaLoss = 0.45;      // share of the expected chroma that a dark spot lacks, 0…1
  double spreadFactor = 2.3;        // sound tissue's own spread (σ) that a shift must exceed
  double softness = 0.16;           // width of the decision in units of the step, > 0
  double glintLightness = 88.0;     // brighter tissue of little colour is a glint, L*
  double minAreaPx = 14.0;          // smaller specks are noise, working px
  double minNeedleAreaPx = 5.0;     // as above, on needles
  double minLeafContact = 0.6;      // share of a spot's boundary on foliage, 0…1
  double maxStreakWidthPx = 4.0;    // streaks on leaves thinner than this, working px, and
  double minStreakElongation = 20.0;  // longer than this (length / width) are veins or edges
  double minInnerShare = 0.4;       // share of a spot off the leaf margin, 0…1
  int leafEdgePx = 3;               // leaf margin whose colour is mixed with what is behind
};

// Probability that a pixel is spotted or blighted foliage.
//
// Input:  upright sRGB at working size; `foliage` and `hints` (or empty) of the same size.
// Output: same size; 0 outside foliage.
// Method: the sound tissue's redness ln(R/G), lightness and chroma are averaged over a
//         wide window without what is already held for spotted, and each pixel is compared
//         with it: redder (on red leaves: less red), or darker with less colour. Shade,
//         which keeps R/G, glints, veins and margins are left out. Deterministic.
// Cost:   about 0.1 µs a pixel and round; thread safe.
[[nodiscard]] ProbabilityMap spotProbability(const RgbImage& image,
                                             const ProbabilityMap& foliage,
                                             const LabelImage& hints,
                                             Subject subject,
                                             const SpotOptions& options);

}  // namespace edamori::vision
