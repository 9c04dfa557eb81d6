// SPDX-License-Identifier: GPL-3.0-or-later
// Expected places and sizes follow from the regions drawn here and the stroke's stated size.
#include "strokes.h"

#include "vision/figures/region.h"

#include <cstddef>
#include <cstdint>

#include <gtest/gtest.h>

namespace edamori::accuracy {
namespace {

constexpr int kWidth = 400, kHeight = 120;
constexpr auto kSound = static_cast<std::uint8_t>(Label::SoundFoliage);
constexpr auto kSpotted = static_cast<std::uint8_t>(Label::Spotted);

void fill(LabelImage& image, const PixelBox& box, std::uint8_t value) {
  for (int y = box.top; y < box.top + box.height; ++y) {
    for (int x = box.left; x < box.left + box.width; ++x) {
      image.at(x, y) = value;
    }
  }
}

PixelBox boxOf(const LabelImage& hints, Hint hint) {
  Mask mask(hints.width(), hints.height());
  for (std::size_t i = 0; i < hints.byteCount(); ++i) {
    mask.data()[i] = hints.data()[i] == static_cast<std::uint8_t>(hint) ? 255 : 0;
  }
  return vision::boxAround(mask);
}

TEST(SimulatedStrokes, AreNoneWhereTheLabelsAreRight) {
  const LabelImage labels(kWidth, kHeight, kSound);
  EXPECT_EQ(simulateStrokes(labels, labels, Mask(kWidth, kHeight, 255)).count, 0);
}

TEST(SimulatedStrokes, AreSixtyBySevenPixelsInTheMiddleOfALargeRegion) {
  const LabelImage found(kWidth, kHeight, kSound);
  LabelImage truth = found;
  fill(truth, {.left = 100, .top = 50, .width = 201, .height = 31}, kSpotted);
  fill(truth,
       {.left = 184, .top = 49, .width = 33, .height = 33},
       kSpotted);  // innermost: around 200, 65
  const PaintedStrokes painted = simulateStrokes(found, truth, Mask(kWidth, kHeight, 255));
  EXPECT_EQ(painted.count, 1);
  const PixelBox box = boxOf(painted.hints, Hint::Spot);
  EXPECT_NEAR(box.width, 60, 1);  // half a stroke ends between two pixels
  EXPECT_EQ(box.height, 7);
  // As deep as 200, 65 are the pixels beside it that are 17 px or more from the block's corners.
  EXPECT_NEAR(box.left + box.width / 2, 200, 17);
  EXPECT_EQ(box.top + box.height / 2, 65);
}

TEST(SimulatedStrokes, StayWithinASmallRegion) {
  const LabelImage found(kWidth, kHeight, kSpotted);
  LabelImage truth = found;
  const PixelBox region{.left = 20, .top = 30, .width = 25, .height = 5};
  fill(truth, region, 0);
  const PaintedStrokes painted = simulateStrokes(found, truth, Mask(kWidth, kHeight, 255));
  EXPECT_EQ(painted.count, 1);
  EXPECT_EQ(boxOf(painted.hints, Hint::NotFoliage), region);
}

TEST(SimulatedStrokes, GoIntoTheThreeLargestRegionsOfAnyClassWithinTheOutline) {
  const LabelImage found(kWidth, kHeight, kSound);
  LabelImage truth = found;
  fill(truth, {.left = 10, .top = 10, .width = 40, .height = 40}, kSpotted);
  fill(truth, {.left = 60, .top = 10, .width = 30, .height = 30}, 0);
  fill(truth, {.left = 100, .top = 10, .width = 20, .height = 20}, kSpotted);
  fill(truth, {.left = 130, .top = 10, .width = 10, .height = 10}, 0);         // the fourth
  fill(truth, {.left = 0, .top = 80, .width = kWidth, .height = 2}, 0);        // a line
  fill(truth, {.left = 200, .top = 0, .width = 200, .height = 60}, kSpotted);  // outside
  Mask inside(kWidth, kHeight, 255);
  fill(inside, {.left = 200, .top = 0, .width = 200, .height = kHeight}, 0);
  const PaintedStrokes painted = simulateStrokes(found, truth, inside);
  EXPECT_EQ(painted.count, 3);
  const PixelBox spots = boxOf(painted.hints, Hint::Spot);
  EXPECT_GE(spots.left, 10);
  EXPECT_GT(spots.left + spots.width, 100);
  EXPECT_LE(spots.left + spots.width, 120);
  const PixelBox none = boxOf(painted.hints, Hint::NotFoliage);
  EXPECT_GE(none.left, 60);
  EXPECT_LE(none.left + none.width, 90);
  EXPECT_LE(none.top + none.height, 40);
}

// 3200 px are measured at 1600 px, so that a stroke is twice as large on the photo.
TEST(SimulatedStrokes, GrowWithAPhotoThatIsReducedForMeasuring) {
  const LabelImage found(3200, 100, kSound);
  LabelImage truth = found;
  fill(truth, {.left = 1000, .top = 20, .width = 601, .height = 61}, kSpotted);
  fill(truth, {.left = 1269, .top = 19, .width = 63, .height = 63}, kSpotted);
  const auto painted = simulateStrokes(found, truth, Mask(3200, 100, 255));
  const PixelBox box = boxOf(painted.hints, Hint::Spot);
  EXPECT_NEAR(box.width, 120, 2);
  EXPECT_NEAR(box.height, 14, 1);
}

}  // namespace
}  // namespace edamori::accuracy
