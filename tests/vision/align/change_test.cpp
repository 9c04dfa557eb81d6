// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/change.h"

#include <cmath>
#include <limits>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace edamori::vision {
namespace {

constexpr Estimate exactly(double value) { return {.value = value, .low = value, .high = value}; }

// Expected values are the closed forms 1 − C / C₀ and 1 − ln G / ln G₀ by hand.
TEST(LossByCover, IsOneLessTheRatioOfCovers) {
  const auto half = lossByCover(exactly(0.8), exactly(0.4));
  ASSERT_TRUE(half);
  EXPECT_DOUBLE_EQ(half->value, 0.5);
  EXPECT_NEAR(half->low, 0.5, 1e-12);
  EXPECT_NEAR(half->high, 0.5, 1e-12);
  const auto regrowth = lossByCover(exactly(0.5), exactly(0.6));
  ASSERT_TRUE(regrowth);
  EXPECT_NEAR(regrowth->value, -0.2, 1e-12);
}

TEST(LossByCover, IsOneWhenNothingIsLeft) {
  const auto all = lossByCover({.value = 0.6, .low = 0.6, .high = 0.6}, {.value = 0.0, .low = 0.0, .high = 0.03});
  ASSERT_TRUE(all);
  EXPECT_DOUBLE_EQ(all->value, 1.0);
  EXPECT_DOUBLE_EQ(all->high, 1.0);
  EXPECT_NEAR(all->low, 1.0 - 0.03 / 0.6, 1e-12);
}

TEST(LossByCover, IsAbsentWhenTheCoverBeforeCannotBeToldFromNone) {
  EXPECT_FALSE(lossByCover(exactly(0.0), exactly(0.3)));
  EXPECT_FALSE(lossByCover({.value = 0.05, .low = 0.0, .high = 0.1}, exactly(0.3)));
}

// The limit of docs/figures.md, at both of its sides; common sense, no source.
TEST(LossByCover, IsAbsentWhenTheCoverBeforeMayBeBelowFivePercent) {
  EXPECT_FALSE(lossByCover({.value = 0.2, .low = 0.049, .high = 0.4}, exactly(0.3)));
  EXPECT_TRUE(lossByCover({.value = 0.2, .low = 0.05, .high = 0.4}, exactly(0.3)));
}

TEST(Narrowed, KeepsTheShareOfTheHalfWidthThatWasNotClipped) {
  const Estimate half = narrowed({.value = 0.9, .low = 0.7, .high = 1.0}, 0.5);
  EXPECT_NEAR(half.low, 0.8, 1e-12);
  EXPECT_NEAR(half.high, 1.0, 1e-12);
  const Estimate quarter = narrowed({.value = 0.9, .low = 0.7, .high = 1.0}, 0.25);
  EXPECT_NEAR(quarter.high, 0.95, 1e-12);
  const Estimate none = narrowed({.value = 0.1, .low = 0.0, .high = 0.3}, 0.0);
  EXPECT_EQ(none.low, 0.1);
  EXPECT_EQ(none.high, 0.1);
}

TEST(LossByLight, IsAbsentWhenTheCoverBeforeMayBeBelowFivePercent) {
  EXPECT_FALSE(lossByLight({.value = 0.2, .low = 0.049, .high = 0.4}, exactly(0.3)));
  EXPECT_TRUE(lossByLight({.value = 0.2, .low = 0.05, .high = 0.4}, exactly(0.3)));
}

// Symmetric intervals: the limits are those of Fieller's theorem for independent
// estimates (Fieller 1954, J. R. Statist. Soc. B 16, 175–185), here with
// C₀ = 0.8 ± 0.04 and C = 0.4 ± 0.03:
// R = (ab ± √(a²b² − (a² − 0.04²)(b² − 0.03²))) / (a² − 0.04²), a = 0.8, b = 0.4
//   = (0.32 ± √(0.1024 − 0.6384 · 0.1591)) / 0.6384 = (0.32 ± 0.0288194…) / 0.6384.
TEST(LossByCover, LimitsOfSymmetricIntervalsAreFiellers) {
  const auto loss = lossByCover({.value = 0.8, .low = 0.76, .high = 0.84},
                                {.value = 0.4, .low = 0.37, .high = 0.43});
  ASSERT_TRUE(loss);
  const double root = std::sqrt(0.1024 - 0.6384 * 0.1591);
  EXPECT_NEAR(root, 0.0288194, 5e-8);
  EXPECT_NEAR(loss->low, 1.0 - (0.32 + root) / 0.6384, 1e-12);
  EXPECT_NEAR(loss->high, 1.0 - (0.32 - root) / 0.6384, 1e-12);
}

TEST(LossByCover, OneExactSideLeavesTheOtherSidesInterval) {
  const auto loss = lossByCover(exactly(0.5), {.value = 0.4, .low = 0.3, .high = 0.45});
  ASSERT_TRUE(loss);
  EXPECT_NEAR(loss->low, 1.0 - 0.45 / 0.5, 1e-12);
  EXPECT_NEAR(loss->high, 1.0 - 0.3 / 0.5, 1e-12);
}

// Cover 0.75 → gap 0.25; cover 0.5 → gap 0.5: 1 − ln 0.5 / ln 0.25 = 1 − 1/2.
TEST(LossByLight, IsOneLessTheRatioOfLogarithms) {
  const auto loss = lossByLight(exactly(0.75), exactly(0.5));
  ASSERT_TRUE(loss);
  EXPECT_NEAR(loss->value, 0.5, 1e-12);
  // 1 − ln 0.1 / ln 0.4, logarithms from a table: 2.302585 / 0.916291.
  const auto regrowth = lossByLight(exactly(0.6), exactly(0.9));
  ASSERT_TRUE(regrowth);
  EXPECT_NEAR(regrowth->value, 1.0 - 2.302585093 / 0.916290732, 1e-8);
}

TEST(LossByLight, NeedsBothGapsWithinItsRange) {
  EXPECT_TRUE(lossByLight(exactly(0.98), exactly(0.02)));
  EXPECT_FALSE(lossByLight(exactly(0.981), exactly(0.5)));
  EXPECT_FALSE(lossByLight(exactly(0.5), exactly(0.981)));
  EXPECT_FALSE(lossByLight(exactly(0.019), exactly(0.5)));
  EXPECT_FALSE(lossByLight(exactly(0.5), exactly(0.019)));
}

TEST(LossByLight, StaysFiniteWhenAnIntervalReachesFullCover) {
  const auto loss = lossByLight({.value = 0.9, .low = 0.8, .high = 1.0}, exactly(0.5));
  ASSERT_TRUE(loss);
  EXPECT_TRUE(std::isfinite(loss->low));
  EXPECT_TRUE(std::isfinite(loss->high));
  EXPECT_LE(loss->low, loss->value);
  EXPECT_GE(loss->high, loss->value);
}

// Half-widths 0.03 and 0.04 combine to 0.05 (3-4-5 triangle).
TEST(Difference, CombinesHalfWidthsInQuadrature) {
  const Estimate difference = differenceOf({.value = 0.30, .low = 0.27, .high = 0.34},
                                           {.value = 0.10, .low = 0.07, .high = 0.14});
  EXPECT_NEAR(difference.value, 0.20, 1e-12);
  EXPECT_NEAR(difference.low, 0.20 - 0.05, 1e-12);
  EXPECT_NEAR(difference.high, 0.20 + 0.05, 1e-12);
}

TEST(Widened, AddsInQuadratureAndStaysAFraction) {
  const Estimate wide = widened({.value = 0.5, .low = 0.47, .high = 0.53}, 0.04);
  EXPECT_NEAR(wide.low, 0.45, 1e-12);
  EXPECT_NEAR(wide.high, 0.55, 1e-12);
  const Estimate capped = widened({.value = 0.99, .low = 0.98, .high = 1.0}, 0.5);
  EXPECT_DOUBLE_EQ(capped.high, 1.0);
  EXPECT_GE(capped.low, 0.0);
}

TEST(VerdictOnAChange, IsDecidedByTheIntervalAlone) {
  EXPECT_EQ(verdictFor({.value = 0.3, .low = 0.01, .high = 0.6}), Verdict::ClearLoss);
  EXPECT_EQ(verdictFor({.value = -0.3, .low = -0.6, .high = -0.01}), Verdict::ClearGain);
  EXPECT_EQ(verdictFor({.value = 0.3, .low = -0.01, .high = 0.6}), Verdict::NoClearChange);
  EXPECT_EQ(verdictFor({.value = 0.3, .low = 0.0, .high = 0.6}), Verdict::NoClearChange);
  EXPECT_EQ(verdictFor({.value = -0.3, .low = -0.6, .high = 0.0}), Verdict::NoClearChange);
  // Wider than 100 percentage points with zero inside tells nothing; without zero it does.
  EXPECT_EQ(verdictFor({.value = -0.1, .low = -0.55, .high = 0.5}), Verdict::CannotTell);
  EXPECT_EQ(verdictFor({.value = -0.1, .low = -0.5, .high = 0.5}), Verdict::NoClearChange);
  EXPECT_EQ(verdictFor({.value = -2.0, .low = -3.0, .high = -0.5}), Verdict::ClearGain);
  const double nan = std::numeric_limits<double>::quiet_NaN();
  EXPECT_EQ(verdictFor({.value = 0.3, .low = nan, .high = 0.6}), Verdict::CannotTell);
}

}  // namespace
}  // namespace edamori::vision
