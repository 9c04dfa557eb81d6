// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/cover_shift.h"

#include <gtest/gtest.h>

namespace edamori::vision {
namespace {

constexpr auto kFoliage = static_cast<std::uint8_t>(Label::SoundFoliage);
constexpr auto kSpot = static_cast<std::uint8_t>(Label::Spotted);

LabelImage filled(int width, int height, int fromColumn, std::uint8_t value) {
  LabelImage labels(width, height, 0);
  for (int y = 0; y < height; ++y) {
    for (int x = fromColumn; x < width; ++x) {
      labels.at(x, y) = value;
    }
  }
  return labels;
}

const Outline kWhole{.polygon = {{0, 0}, {100, 0}, {100, 80}, {0, 80}}, .holes = {}};

TEST(CoverShift, IsZeroWhereTheRegionIsEvenlyCovered) {
  const CoverShift shift = coverShift(filled(100, 80, 0, kFoliage), kWhole, 3.0);
  EXPECT_DOUBLE_EQ(shift.foliage, 0.0);
  EXPECT_DOUBLE_EQ(shift.spot, 0.0);
}

// Right half foliage: 2 px to the right lose 2 bare columns of 100 and gain 2 full ones.
TEST(CoverShift, OfAHalfCoveredRegionIsTheStripsShare) {
  EXPECT_NEAR(coverShift(filled(100, 80, 50, kFoliage), kWhole, 2.0).foliage, 0.02, 1e-12);
  EXPECT_NEAR(coverShift(filled(100, 80, 50, kFoliage), kWhole, 0.5).foliage, 0.005, 1e-12);
}

TEST(CoverShift, OfSpotsCountsAmongFoliage) {
  LabelImage labels = filled(100, 80, 0, kFoliage);
  for (int y = 0; y < 80; ++y) {
    for (int x = 50; x < 100; ++x) {
      labels.at(x, y) = kSpot;
    }
  }
  const CoverShift shift = coverShift(labels, kWhole, 2.0);
  EXPECT_DOUBLE_EQ(shift.foliage, 0.0);
  EXPECT_NEAR(shift.spot, 0.02, 1e-12);
}

TEST(CoverShift, OfNothingIsNothing) {
  const LabelImage labels = filled(100, 80, 50, kFoliage);
  EXPECT_DOUBLE_EQ(coverShift(labels, kWhole, 0.0).foliage, 0.0);
  EXPECT_DOUBLE_EQ(coverShift(labels, Outline{}, 2.0).foliage, 0.0);
  const Outline outside{.polygon = {{200, 0}, {300, 0}, {300, 80}}, .holes = {}};
  EXPECT_DOUBLE_EQ(coverShift(labels, outside, 2.0).foliage, 0.0);
}

}  // namespace
}  // namespace edamori::vision
