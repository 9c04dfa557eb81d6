// SPDX-License-Identifier: GPL-3.0-or-later
// Intervals for area fractions: pixels are no independent trials, so that their number says
// nothing; how clear they are says much, and pictures with known truth say how much.
#pragma once

#include "vision/values/figure.h"

#include <string>

namespace edamori::vision {

// How unclear the pixels are: means of min(p, 1 − p), 0…0.5.
struct Doubt {
  double ofFoliage = 0.0;  // over the outline
  double ofSpots = 0.0;    // over the foliage
  double cover = 1.0;      // share of the outline that is foliage, > 0
};

// 95 % interval of a foliage cover, and of a spotted share of the foliage.
//
// Half-width: a multiple of an error that grows with the doubt; the multiples are the 95 %
// quantiles of |error| / expected error over pictures that neither trained the network nor
// report its accuracy (calibration set, tests/accuracy). Hence neighbouring pixels may err
// together, as they do: the unit is the outline. Clipped to 0…1; low ≤ value ≤ high.
// Source: split conformal prediction with normalised errors, Lei, G'Sell, Rinaldo, Tibshirani &
//         Wasserman 2018, J. Am. Stat. Assoc. 113, 1094–1111.
[[nodiscard]] Estimate coverInterval(double cover, double doubtOfFoliage, Subject subject);
[[nodiscard]] Estimate spotInterval(double spotted, const Doubt& doubt, Subject subject);

// The multiples in use, for a figure's method.
[[nodiscard]] std::string intervalParametersJson();

}  // namespace edamori::vision
