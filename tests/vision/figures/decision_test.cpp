// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/figures/decision_internal.h"

#include <cstdint>
#include <vector>

#include <gtest/gtest.h>

namespace edamori::vision {
namespace {

// Expected values follow from the definitions in docs/figures.md, computed by hand.

ProbabilityMap mapOf(int width, int height, const std::vector<int>& values) {
  ProbabilityMap map(width, height);
  for (std::size_t i = 0; i < values.size(); ++i) {
    map.data()[i] = static_cast<std::uint8_t>(values[i]);
  }
  return map;
}

TEST(Decided, CountsAsMuchAsTheMeanProbabilitySays) {
  // Probabilities 0.4 on six of ten pixels, 0 on four: 2.4 pixels' worth. Between none and six
  // that many lies nearer to none, and a limit of 128 would say so, too; at 0.6 six is nearer.
  const auto spotted = ProbabilityMap(10, 1, 0);
  const Judgement few{.foliage = mapOf(10, 1, {102, 102, 102, 102, 102, 102, 0, 0, 0, 0}),
                      .spotted = spotted};
  EXPECT_EQ(decided(few, 10, {}).foliagePx, 0);
  const Judgement many{.foliage = mapOf(10, 1, {153, 153, 153, 153, 153, 153, 0, 0, 0, 0}),
                       .spotted = spotted};
  EXPECT_EQ(decided(many, 10, {}).foliagePx, 6);
  // 0.45 on six and 0.2 on four pixels: 3.5 pixels' worth; a limit of one half would find none.
  const Judgement thin{.foliage = mapOf(10, 1, {115, 115, 115, 115, 115, 115, 51, 51, 51, 51}),
                       .spotted = spotted};
  EXPECT_EQ(decided(thin, 10, {}).foliagePx, 6);
}

TEST(Decided, LeavesOutWhatLiesOutsideTheOutline) {
  const Judgement judgement{.foliage = mapOf(4, 2, {255, 255, 0, 0, 255, 0, 0, 0}),
                            .spotted = mapOf(4, 2, {255, 0, 255, 255, 0, 255, 255, 255})};
  const Decision decision = decided(judgement, 4, {});
  EXPECT_EQ(decision.foliagePx, 3);
  EXPECT_EQ(decision.spottedPx, 1);
  EXPECT_EQ(decision.foliageDoubt, 0.0);
  EXPECT_EQ(decision.spottedDoubt, 0.0);
}

TEST(Decided, DoubtIsTheMeanDistanceFromTheNearerAnswer) {
  const Judgement judgement{.foliage = mapOf(4, 1, {255, 204, 51, 0}),
                            .spotted = ProbabilityMap(4, 1, 0)};
  EXPECT_NEAR(decided(judgement, 4, {}).foliageDoubt, (0.0 + 0.2 + 0.2 + 0.0) / 4, 1e-12);
  EXPECT_NEAR(decided(judgement, 3, {}).foliageDoubt, 0.4 / 3, 1e-12);  // one pixel lies outside
}

TEST(LabelsOf, LieWhereTheBoxLies) {
  const Judgement judgement{.foliage = mapOf(3, 2, {255, 255, 0, 0, 255, 255}),
                            .spotted = mapOf(3, 2, {0, 255, 255, 0, 0, 255})};
  const Decision decision = decided(judgement, 5, {});
  const LabelImage labels =
      labelsOf(judgement, decision, {.left = 1, .top = 2, .width = 3, .height = 2}, 5, 5);
  const auto sound = static_cast<int>(Label::SoundFoliage);
  const auto spotted = static_cast<int>(Label::Spotted);
  const std::vector<int> expected{0, 0, 0, 0, 0,     0,       0, 0, 0, 0, 0, sound, spotted,
                                  0, 0, 0, 0, sound, spotted, 0, 0, 0, 0, 0, 0};
  EXPECT_EQ(labels, mapOf(5, 5, expected));
}

}  // namespace
}  // namespace edamori::vision
