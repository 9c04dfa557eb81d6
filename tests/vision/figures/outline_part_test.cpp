// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/support/matchers.h"
#include "vision/figures/outline_part_internal.h"
#include "vision/load/load.h"

#include <limits>

#include <gtest/gtest.h>

namespace edamori::vision {
namespace {

using test::failsWith;
using test::isOk;

constexpr PartSizes kSizes{.marginShare = 0.1, .workingSidePx = 100};

Outline box(double left, double top, double right, double bottom) {
  return {.polygon = {{left, top}, {right, top}, {right, bottom}, {left, bottom}}, .holes = {}};
}

RgbImage slope(int width, int height) {
  RgbImage image(width, height);
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      image.at(x, y, 0) = static_cast<std::uint8_t>(x % 256);
      image.at(x, y, 1) = static_cast<std::uint8_t>(y % 256);
      image.at(x, y, 2) = 7;
    }
  }
  return image;
}

TEST(PartOf, HoldsTheOutlineAndItsSurroundings) {
  const RgbImage photo = slope(400, 300);
  const auto part = partOf(photo, box(100, 80, 200, 140), kSizes);
  ASSERT_THAT(part, isOk());
  EXPECT_EQ(part->outlinePx, 100 * 60);
  // A margin of 10 px around 100 × 60, and so much more that sides are multiples of 8.
  EXPECT_EQ(part->box, (PixelBox{.left = 90, .top = 70, .width = 120, .height = 80}));
  EXPECT_EQ(part->seen, cropped(photo, 90, 70, 120, 80));
  EXPECT_EQ(part->work.width(), 100);
  EXPECT_EQ(part->inside.at(9, 20), 0);
  EXPECT_EQ(part->inside.at(10, 10), 255);
  EXPECT_EQ(part->inside.at(109, 69), 255);
  EXPECT_EQ(part->inside.at(110, 69), 0);
}

TEST(PartOf, StaysWithinThePhoto) {
  const auto part = partOf(slope(203, 151), box(-50, -50, 1000, 90), kSizes);
  ASSERT_THAT(part, isOk());
  EXPECT_EQ(part->outlinePx, 203 * 90);
  EXPECT_EQ(part->box.left, 0);
  EXPECT_EQ(part->box.width, 203);
  EXPECT_LE(part->box.top + part->box.height, 151);
}

TEST(PartOf, WithoutAnOutlineIsTheWholePhoto) {
  const RgbImage photo = slope(123, 77);
  const auto part = partOf(photo, std::nullopt, kSizes);
  ASSERT_THAT(part, isOk());
  EXPECT_EQ(part->box, (PixelBox{.left = 0, .top = 0, .width = 123, .height = 77}));
  EXPECT_EQ(part->outlinePx, 123 * 77);
  EXPECT_EQ(part->seen, photo);
}

TEST(PartOf, LargePhotosAreHalvedForTheFocus) {
  const auto part = partOf(slope(3200, 1600), std::nullopt, kSizes);
  ASSERT_THAT(part, isOk());
  EXPECT_EQ(part->seen.width(), 1600);
  EXPECT_EQ(part->seen.height(), 800);
}

TEST(PartOf, RefusesWhatCarriesNoFigure) {
  const RgbImage photo = slope(400, 300);
  EXPECT_THAT(partOf(photo, box(500, 0, 700, 200), kSizes), failsWith(ErrorCode::NotMeasurable));
  EXPECT_THAT(partOf(photo, box(10, 10, 40, 40), kSizes), failsWith(ErrorCode::NotMeasurable));
  EXPECT_THAT(partOf(photo, Outline{.polygon = {{900, 900}, {950, 950}}, .holes = {}}, kSizes),
              failsWith(ErrorCode::InvalidArgument));
  Outline infinite = box(10, 10, 300, 200);
  infinite.polygon[2].x = std::numeric_limits<double>::quiet_NaN();
  EXPECT_THAT(partOf(photo, infinite, kSizes), failsWith(ErrorCode::InvalidArgument));
}

}  // namespace
}  // namespace edamori::vision
