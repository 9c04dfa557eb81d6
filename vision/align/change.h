// SPDX-License-Identifier: GPL-3.0-or-later
// Pure arithmetic of a change between two estimates: losses, differences, verdict.
#pragma once

#include "vision/values/figure.h"

#include <optional>

namespace edamori::vision {

// Gap fractions outside this range give no loss by light: ln G runs away at one
// end, and at the other there is next to no foliage to lose.
inline constexpr double kMinGapFraction = 0.02;
inline constexpr double kMaxGapFraction = 0.98;

// A loss is a share of the cover before. Where that may be next to nothing, the share
// runs away: its lower limit must reach this cover. Chosen, no source; docs/figures.md.
inline constexpr double kLeastCoverBefore = 0.05;

// An interval that holds zero and is wider than this, 100 percentage points, does not
// rule out even that all is gone: it shows no lack of change. Chosen, no source.
inline constexpr double kWidestUsefulInterval = 1.0;

// Quotient numerator / denominator of two independent estimates with its interval.
//
// Input:  0 ≤ low ≤ value ≤ high in both; they need not be symmetric.
// Output: limits R where numerator − R · denominator is just told from 0; absent when the
//         denominator is 0 or its interval touches 0, for then R has no upper limit.
// Source: method of variance estimates recovery, Zou & Donner 2008, Statistics in
//         Medicine 27, 1693–1702; for ratios Donner & Zou 2012, Statistical Methods in
//         Medical Research 21, 347–359 (citations from memory; formula derived anew).
[[nodiscard]] std::optional<Estimate> ratioOf(const Estimate& numerator,
                                              const Estimate& denominator);

// Difference a − b of two independent estimates with its interval; source as ratioOf.
[[nodiscard]] Estimate differenceOf(const Estimate& a, const Estimate& b);

// The same estimate with an independent uncertainty of ± `halfWidth` added in
// quadrature, limits kept within 0…1.
[[nodiscard]] Estimate widened(const Estimate& fraction, double halfWidth);

// A photo's interval within a change, `share` (0…1) of its half-width wide: what errs alike on two
// photos of one branch cancels.
[[nodiscard]] Estimate narrowed(const Estimate& fraction, double share);

// Loss by cover 1 − C / C₀; negative = regrowth, at most 1.
//
// Input:  foliage covers 0…1 before and after.
// Output: absent when the interval of the cover before begins below kLeastCoverBefore.
[[nodiscard]] std::optional<Estimate> lossByCover(const Estimate& coverBefore,
                                                  const Estimate& coverAfter);

// Loss by light 1 − ln G / ln G₀ with gap fractions G = 1 − C.
//
// Input:  foliage covers 0…1 before and after.
// Output: absent unless both gap fractions lie within kMinGapFraction…kMaxGapFraction,
//         and when the interval of the cover before begins below kLeastCoverBefore.
// Source: Beer–Lambert gap-fraction theory, Monsi & Saeki 1953.
[[nodiscard]] std::optional<Estimate> lossByLight(const Estimate& coverBefore,
                                                  const Estimate& coverAfter);

// Told by the interval alone: low > 0 is a clear loss, high < 0 a clear gain, all
// else no clear change; limits that are not numbers, or that hold zero and lie further
// apart than kWidestUsefulInterval: cannot tell.
[[nodiscard]] Verdict verdictFor(const Estimate& loss);

}  // namespace edamori::vision
