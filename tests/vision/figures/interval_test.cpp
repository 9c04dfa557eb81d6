// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/figures/interval.h"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

namespace edamori::vision {
namespace {

// Expected values: the definition, half-width = multiple × (least + doubt), worked by hand.
TEST(CoverInterval, IsTheMultipleOfTheExpectedError) {
  const auto parameters = nlohmann::json::parse(intervalParametersJson());
  const double multiple = parameters.at("leaf").at(0);
  const double least = parameters.at("least").at(0);
  const Estimate cover = coverInterval(0.5, 0.06, Subject::Leaf);
  EXPECT_DOUBLE_EQ(cover.value, 0.5);
  EXPECT_NEAR(cover.high - 0.5, multiple * (least + 0.06), 1e-12);
  EXPECT_NEAR(0.5 - cover.low, multiple * (least + 0.06), 1e-12);
}

TEST(CoverInterval, NeverLeavesWhatAShareCanBe) {
  EXPECT_EQ(coverInterval(0.98, 0.3, Subject::Leaf).high, 1.0);
  EXPECT_EQ(coverInterval(0.02, 0.3, Subject::Needles).low, 0.0);
}

TEST(SpotInterval, IsWiderTheMoreDoubtThereIs) {
  const auto widthOf = [](const Doubt& doubt) {
    const Estimate spots = spotInterval(0.3, doubt, Subject::Leaf);
    return spots.high - spots.low;
  };
  const double clear = widthOf({.ofFoliage = 0.0, .ofSpots = 0.0, .cover = 0.8});
  EXPECT_GT(clear, 0.0);
  EXPECT_GT(widthOf({.ofFoliage = 0.0, .ofSpots = 0.05, .cover = 0.8}), clear);
  EXPECT_GT(widthOf({.ofFoliage = 0.05, .ofSpots = 0.0, .cover = 0.8}), clear);
  EXPECT_GT(widthOf({.ofFoliage = 0.05, .ofSpots = 0.0, .cover = 0.2}),
            widthOf({.ofFoliage = 0.05, .ofSpots = 0.0, .cover = 0.8}));
}

}  // namespace
}  // namespace edamori::vision
