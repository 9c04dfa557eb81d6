// SPDX-License-Identifier: GPL-3.0-or-later
// How the figures of a region answer to a small shift of its outline.
#pragma once

#include "vision/values/geometry.h"
#include "vision/values/raster.h"

namespace edamori::vision {

struct CoverShift {
  double foliage = 0.0;  // change of the foliage cover, ≥ 0
  double spot = 0.0;     // change of the spot fraction, ≥ 0
};

// Change of both fractions when the outline moves by `shiftPx` across and down, the
// two combined in quadrature.
//
// Input:  labels as measure() returns them, which are 0 outside the outline.
// Output: 0 for an empty outline or a shift of 0. The strip that a shifted outline gains is
//         not labelled; the strip just inside stands for it.
// Cost:   four passes over the outline's bounds.
[[nodiscard]] CoverShift coverShift(const LabelImage& labels,
                                    const Outline& outline,
                                    double shiftPx);

}  // namespace edamori::vision
