// SPDX-License-Identifier: GPL-3.0-or-later
// Intervals for area fractions: pixels are no independent trials, blocks of them nearly are.
#pragma once

#include "vision/values/figure.h"
#include "vision/values/raster.h"

#include <cstdint>
#include <span>
#include <vector>

namespace edamori::vision {

// What one block of the region holds: a fraction is Σ part / Σ whole.
struct BlockCount {
  double part = 0.0;   // px of the class, or any amount
  double whole = 0.0;  // px that could be of it, ≥ 0
};

// Σ part / Σ whole; 0 when there is no whole.
[[nodiscard]] double ratioOf(std::span<const BlockCount> blocks);

// Standard error of the ratio over blocks: √Σ(part − R·whole)² / Σ whole, which for blocks
// of equal size is √Σ(m − m̄)² / B; 0 with fewer than 2 blocks.
// Source: Künsch 1989, Ann. Statist. 17, 1217–1241; Lahiri 2003, Resampling Methods for
//         Dependent Data; ratio estimator: Cochran 1977, Sampling Techniques, ch. 6.
[[nodiscard]] double blockStandardError(std::span<const BlockCount> blocks);

// 95 % percentile interval of the ratio when blocks are drawn with replacement.
//
// The same seed gives the same interval. Fewer than 2 blocks: the value alone.
[[nodiscard]] Estimate blockBootstrap(std::span<const BlockCount> blocks,
                                      int resamples,
                                      std::uint64_t seed);

// Counts class pixels in square blocks; blocks without any `whole` are left out.
// Both masks of the same size, not 0 = in; side ≥ 1 px.
[[nodiscard]] std::vector<BlockCount> countBlocks(const Mask& part, const Mask& whole, int sidePx);

// Lag in px at which the class inside `whole` no longer resembles itself: the smallest
// lag, along rows or columns, whose autocorrelation falls below 1/e. At least 1; `maxLagPx`
// when it never does; 1 when the class is everywhere or nowhere.
[[nodiscard]] int correlationLengthPx(const Mask& part, const Mask& whole, int maxLagPx);

}  // namespace edamori::vision
