// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/photo_scale.h"

#include <gmock/gmock.h>

namespace edamori::work {
namespace {

// A ruler of 3-4-5 × 100 px that is 250 mm long: 0.5 mm/px. Worked out by hand.
store::Ruler ruler(double clickPx) {
  return {.id = {},
          .photo = {},
          .from = {100, 50},
          .to = {400, 450},
          .lengthMm = 250,
          .clickPx = clickPx};
}

TEST(PhotoScale, IsTheKnownLengthOverThePixels) {
  const auto scale = scaleOf(ruler(2));
  EXPECT_DOUBLE_EQ(scale.mmPerPx, 0.5);
  // √2 · 2 px / 500 px
  EXPECT_NEAR(scale.relativeUncertainty, 0.00565685, 1e-8);
}

TEST(PhotoScale, LengthsAndAreasCarryTheUncertaintyOfTheClicks) {
  const auto scale = scaleOf(ruler(2));
  const auto length = lengthMm(scale, 200);
  EXPECT_DOUBLE_EQ(length.value, 100);
  EXPECT_NEAR(length.plusMinus, 1.96 * 0.00565685 * 100, 1e-5);
  const auto area = areaMm2(scale, 400);
  EXPECT_DOUBLE_EQ(area.value, 100);
  EXPECT_NEAR(area.plusMinus, 2 * 1.96 * 0.00565685 * 100, 1e-5);
}

TEST(PhotoScale, DensityIsPerSquareDecimetre) {
  // 200 × 200 px at 0.5 mm are 1 dm².
  const auto density = densityPerDm2(scaleOf(ruler(0)), 7, 40'000);
  EXPECT_DOUBLE_EQ(density.value, 7);
  EXPECT_DOUBLE_EQ(density.plusMinus, 0);
  EXPECT_DOUBLE_EQ(densityPerDm2(scaleOf(ruler(1)), 0, 40'000).value, 0);
}

TEST(PhotoScale, AClickIsGoodToAPixelOfTheViewOrHalfOneOfThePhoto) {
  EXPECT_DOUBLE_EQ(clickUncertaintyPx(0.25), 4);
  EXPECT_DOUBLE_EQ(clickUncertaintyPx(16), 0.5);
}

}  // namespace
}  // namespace edamori::work
