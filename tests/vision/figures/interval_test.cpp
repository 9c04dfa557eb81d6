// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/figures/interval.h"

#include "tests/support/mask_text.h"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

namespace edamori::vision {
namespace {

using test::maskFromText;

// Eight blocks of 10 000 px with these shares. For blocks of equal size the standard error
// of the block bootstrap is √Σ(m − m̄)² / B exactly (Lahiri 2003); 200 000 resamples in
// R 4.2.2 gave 0.031433 and the percentile interval 0.105 … 0.2275.
std::vector<BlockCount> eightBlocks() {
  std::vector<BlockCount> blocks;
  for (const double mean : {.10, .12, .30, .28, .05, .07, .22, .18}) {
    blocks.push_back({.part = mean * 10000, .whole = 10000});
  }
  return blocks;
}

TEST(BlockStandardError, HasItsClosedForm) {
  EXPECT_NEAR(ratioOf(eightBlocks()), 0.165, 1e-12);
  EXPECT_NEAR(blockStandardError(eightBlocks()), 0.031424513, 1e-9);
}

TEST(BlockStandardError, IsFarAboveThatOfIndependentPixels) {
  const double wrong = std::sqrt(0.165 * 0.835 / 80000);  // 0.001312321
  EXPECT_GT(blockStandardError(eightBlocks()), 20 * wrong);
}

TEST(BlockStandardError, IsZeroWhenAllBlocksAgree) {
  const std::vector<BlockCount> blocks(9, {.part = 30, .whole = 100});
  EXPECT_EQ(blockStandardError(blocks), 0.0);
  EXPECT_EQ(blockStandardError(std::vector<BlockCount>{{.part = 3, .whole = 9}}), 0.0);
  EXPECT_EQ(blockStandardError({}), 0.0);
}

TEST(BlockBootstrap, HasThePercentilesOfTheReference) {
  const Estimate estimate = blockBootstrap(eightBlocks(), 200000, 1);
  EXPECT_NEAR(estimate.value, 0.165, 1e-12);
  // Means of eight shares lie 0.00125 apart: one step of that either way.
  EXPECT_NEAR(estimate.low, 0.105, 0.00126);
  EXPECT_NEAR(estimate.high, 0.2275, 0.00126);
}

TEST(BlockBootstrap, RepeatsBitForBit) {
  EXPECT_EQ(blockBootstrap(eightBlocks(), 1000, 5), blockBootstrap(eightBlocks(), 1000, 5));
  EXPECT_NE(blockBootstrap(eightBlocks(), 1000, 5), blockBootstrap(eightBlocks(), 1000, 6));
}

TEST(BlockBootstrap, WeighsBlocksByTheirLeafArea) {
  // One block all spotted but tiny, one large and sound: the ratio is 1 %, not 50 %.
  const std::vector<BlockCount> blocks{{.part = 1, .whole = 1}, {.part = 0, .whole = 99}};
  EXPECT_NEAR(blockBootstrap(blocks, 1000, 1).value, 0.01, 1e-12);
}

TEST(BlockBootstrap, OfOneBlockIsTheValueAlone) {
  const std::vector<BlockCount> one{{.part = 1, .whole = 4}};
  EXPECT_EQ(blockBootstrap(one, 1000, 1), (Estimate{.value = 0.25, .low = 0.25, .high = 0.25}));
  EXPECT_EQ(blockBootstrap({}, 1000, 1), Estimate{});
}

TEST(CountBlocks, CountsWithinTheWholeAlone) {
  const Mask whole = maskFromText(R"(
      ####..
      ####..
      ##....)");
  const Mask part = maskFromText(R"(
      ##...#
      .#...#
      ......)");
  const std::vector<BlockCount> blocks = countBlocks(part, whole, 2);
  ASSERT_EQ(blocks.size(), 3U);  // the right column and two blocks below hold nothing
  EXPECT_EQ(blocks[0].part, 3);
  EXPECT_EQ(blocks[0].whole, 4);
  EXPECT_EQ(blocks[1].part, 0);
  EXPECT_EQ(blocks[2].whole, 2);
}

TEST(CorrelationLength, GrowsWithTheSizeOfTheSpots) {
  const auto checks = [](int side) {
    Mask mask(600, 600, 0);
    for (int y = 0; y < 600; ++y) {
      for (int x = 0; x < 600; ++x) {
        mask.at(x, y) = (x / side + y / side) % 2 == 0 ? 255 : 0;
      }
    }
    return mask;
  };
  const Mask whole(600, 600, 255);
  const int fine = correlationLengthPx(checks(8), whole, 200);
  const int coarse = correlationLengthPx(checks(40), whole, 200);
  // On a checkerboard of side s the autocorrelation falls along rows as 1 − 2 · lag / s:
  // below 1/e from lag 0.316 s on. Lags are tried in steps of a quarter.
  EXPECT_NEAR(fine, 0.316 * 8, 1.0);
  EXPECT_NEAR(coarse, 0.316 * 40, 0.316 * 40 / 4 + 1);
}

TEST(CorrelationLength, OfOneToneIsOne) {
  const Mask whole(50, 50, 255);
  EXPECT_EQ(correlationLengthPx(whole, whole, 20), 1);
  EXPECT_EQ(correlationLengthPx(Mask(50, 50, 0), whole, 20), 1);
  EXPECT_EQ(correlationLengthPx(Mask(50, 50, 0), Mask(50, 50, 0), 20), 1);
}

}  // namespace
}  // namespace edamori::vision
