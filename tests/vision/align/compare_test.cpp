// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/compare.h"

#include "tests/support/matchers.h"
#include "tests/vision/align/pair_maker.h"
#include "vision/align/plane.h"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace edamori::vision {
namespace {

using test::drawnScene;
using test::isOk;
using test::photographedAgain;
using ::testing::Contains;
using ::testing::Field;
using ::testing::HasSubstr;

constexpr int kWidth = 1200;
constexpr int kHeight = 900;

Outline middleOutline() {
  return {.polygon = {{350, 200}, {850, 200}, {850, 700}, {350, 700}}, .holes = {}};
}

CompareRequest middle() {
  return {.outlineBefore = middleOutline(), .outlineAfter = std::nullopt, .subject = Subject::Leaf};
}

TEST(Compare, OfAPhotoWithItselfFindsNoClearChange) {
  const RgbImage photo = drawnScene(kWidth, kHeight, 5);
  const auto comparison = compare(photo, photo, middle());
  ASSERT_THAT(comparison, isOk());
  ASSERT_TRUE(comparison->aligned) << comparison->refusal;
  ASSERT_TRUE(comparison->lossByCover);
  EXPECT_NEAR(comparison->lossByCover->value, 0.0, 0.005);
  EXPECT_LE(comparison->lossByCover->low, 0.0);
  EXPECT_GE(comparison->lossByCover->high, 0.0);
  if (comparison->spotChange) {
    EXPECT_NEAR(comparison->spotChange->value, 0.0, 0.005);
  }
  EXPECT_NE(comparison->verdict, Verdict::ClearLoss);
  EXPECT_NE(comparison->verdict, Verdict::ClearGain);
}

TEST(Compare, CarriesTheOutlineOver) {
  const RgbImage before = drawnScene(kWidth, kHeight, 5);
  const Homography truth =
      test::homographyOf({.rollDeg = 8, .scale = 0.9, .shiftX = 0.02}, kWidth, kHeight);
  const auto comparison = compare(before, photographedAgain(before, truth, {.noise = 3}), middle());
  ASSERT_THAT(comparison, isOk());
  ASSERT_TRUE(comparison->aligned) << comparison->refusal;
  ASSERT_EQ(comparison->outlineAfter.polygon.size(), 4U);
  for (std::size_t i = 0; i < 4; ++i) {
    const PointPx expected = mapped(truth, middleOutline().polygon[i]);
    EXPECT_NEAR(comparison->outlineAfter.polygon[i].x, expected.x, 0.003 * kWidth);
    EXPECT_NEAR(comparison->outlineAfter.polygon[i].y, expected.y, 0.003 * kWidth);
  }
  EXPECT_EQ(comparison->after->labels.width(), kWidth);
  EXPECT_NE(comparison->verdict, Verdict::ClearLoss);
  EXPECT_NE(comparison->verdict, Verdict::ClearGain);
}

TEST(Compare, TakesThePersonsOutline) {
  const RgbImage photo = drawnScene(kWidth, kHeight, 5);
  CompareRequest request = middle();
  request.outlineAfter = Outline{.polygon = {{360, 200}, {860, 200}, {860, 700}}, .holes = {}};
  const auto comparison = compare(photo, photo, request);
  ASSERT_THAT(comparison, isOk());
  EXPECT_EQ(comparison->outlineAfter, *request.outlineAfter);
  request.outlineAfter = Outline{.polygon = {{1, 1}, {2, 2}}, .holes = {}};
  EXPECT_THAT(compare(photo, photo, request), test::failsWith(ErrorCode::InvalidArgument));
}

TEST(Compare, MeasuresOnlyWhatBothPhotosShow) {
  const RgbImage before = drawnScene(kWidth, kHeight, 5);
  const Homography truth =
      test::homographyOf({.shiftX = 0.4}, kWidth, kHeight);  // 350…720 of 350…850 stay
  const auto comparison = compare(before, photographedAgain(before, truth, {}), middle());
  ASSERT_THAT(comparison, isOk());
  ASSERT_TRUE(comparison->aligned) << comparison->refusal;
  EXPECT_NEAR(comparison->alignment.overlap, 370.0 / 500.0, 0.01);
  EXPECT_NEAR(static_cast<double>(comparison->before->outlinePx), 370.0 * 500.0, 0.01 * 370 * 500);
  EXPECT_NEAR(static_cast<double>(comparison->after->outlinePx), 370.0 * 500.0, 0.01 * 370 * 500);
  EXPECT_THAT(comparison->cautions, Contains(Field(&Caution::code, "outline-clipped")));
}

TEST(Compare, OfUnrelatedPhotosSaysWhyAndTellsNothing) {
  const auto comparison =
      compare(drawnScene(kWidth, kHeight, 5), drawnScene(kWidth, kHeight, 500), middle());
  ASSERT_THAT(comparison, isOk());
  EXPECT_FALSE(comparison->aligned);
  EXPECT_THAT(comparison->refusal, HasSubstr("cannot be aligned"));
  EXPECT_EQ(comparison->verdict, Verdict::CannotTell);
  EXPECT_FALSE(comparison->before);
  EXPECT_FALSE(comparison->lossByCover);
}

// The scene's green flecks are painted over with its own pale backdrop colour in half of
// the outline: what is lost is known to be about half.
TEST(Compare, TakesTheTwoOutlinesWhereThePhotosCannotBeLaidOnEachOther) {
  const RgbImage before = drawnScene(kWidth, kHeight, 5);
  const RgbImage after = drawnScene(kWidth, kHeight, 77);
  CompareRequest request = middle();
  request.drawnAfter = Outline{.polygon = {{300, 210}, {790, 200}, {800, 690}, {310, 700}}, .holes = {}};
  const auto comparison = compare(before, after, request);
  ASSERT_THAT(comparison, isOk());
  ASSERT_TRUE(comparison->aligned) << comparison->refusal;
  EXPECT_THAT(comparison->cautions, Contains(Field(&Caution::code, "by-outlines")));
  EXPECT_EQ(comparison->outlineAfter.polygon.size(), 4U);
  EXPECT_NEAR(comparison->outlineAfter.polygon[0].x, 300.0, 1e-9);
  const auto own = measure(after, {.outline = request.drawnAfter, .subject = Subject::Leaf, .hints = std::nullopt, .learned = {}});
  ASSERT_THAT(own, isOk());
  EXPECT_EQ(comparison->after->foliage.value, own->foliage.value);
}

TEST(Compare, LaysThePhotosOnEachOtherRatherThanTheOutlines) {
  const RgbImage photo = drawnScene(kWidth, kHeight, 5);
  CompareRequest request = middle();
  request.drawnAfter = Outline{.polygon = {{360, 230}, {850, 200}, {850, 700}, {350, 700}}, .holes = {}};
  const auto comparison = compare(photo, photo, request);
  ASSERT_THAT(comparison, isOk());
  ASSERT_TRUE(comparison->aligned);
  EXPECT_NEAR(comparison->outlineAfter.polygon[0].x, 350.0, 2.0);
  EXPECT_THAT(comparison->cautions, ::testing::Not(Contains(Field(&Caution::code, "by-outlines"))));
}

TEST(Compare, FindsALossThatIsThere) {
  const RgbImage before = drawnScene(kWidth, kHeight, 5);
  RgbImage after = before;
  for (int y = 420; y < 620; ++y) {
    for (int x = 540; x < 640; ++x) {
      const bool isGreen = before.at(x, y, 1) > before.at(x, y, 0) + 15 &&
                           before.at(x, y, 1) > before.at(x, y, 2) + 15;
      if (isGreen && (x / 50 + y / 50) % 2 == 0) {
        after.at(x, y, 0) = 185;
        after.at(x, y, 1) = 190;
        after.at(x, y, 2) = 200;
      }
    }
  }
  CompareRequest request = middle();
  // Foliage alone: the drawn trunk beside it, a pattern of brown streaks, can pass for dead leaves.
  request.outlineBefore = Outline{.polygon = {{540, 420}, {640, 420}, {640, 620}, {540, 620}}, .holes = {}};
  request.points = {{.before = {100, 100}, .after = {100, 100}}, {.before = {1100, 800}, .after = {1100, 800}}};
  const auto comparison = compare(before, after, request);
  ASSERT_THAT(comparison, isOk());
  ASSERT_TRUE(comparison->aligned) << comparison->refusal;
  ASSERT_TRUE(comparison->lossByCover);
  EXPECT_NEAR(comparison->lossByCover->value, 0.5, 0.15);
  EXPECT_EQ(comparison->verdict, Verdict::ClearLoss);
}

// The outline holds nothing but grey bark: the cover before is none by construction, and the share
// of none is any number.
TEST(Compare, StatesNoLossOfNextToNothing) {
  const RgbImage after = drawnScene(kWidth, kHeight, 5);
  RgbImage before = after;
  for (int y = 150; y < 750; ++y) {
    for (int x = 300; x < 900; ++x) {
      for (const int channel : {0, 1, 2}) {
        before.at(x, y, channel) = static_cast<std::uint8_t>(150 + (x * 7 + y * 3) % 9);
      }
    }
  }
  CompareRequest request = middle();
  request.points = {{.before = {100, 100}, .after = {100, 100}}, {.before = {1100, 800}, .after = {1100, 800}}};
  const auto comparison = compare(before, after, request);
  ASSERT_THAT(comparison, isOk());
  ASSERT_TRUE(comparison->aligned) << comparison->refusal;
  EXPECT_FALSE(comparison->lossByCover);
  EXPECT_FALSE(comparison->lossByLight);
  EXPECT_EQ(comparison->verdict, Verdict::CannotTell);
  EXPECT_THAT(comparison->cautions, Contains(Field(&Caution::code, "no-foliage-before")));
}

}  // namespace
}  // namespace edamori::vision
