// SPDX-License-Identifier: GPL-3.0-or-later
// Outlines carried to a later photo; the homography that made the pair is the outside truth.
#include "tests/support/matchers.h"
#include "tests/vision/align/pair_maker.h"
#include "vision/align/compare.h"

#include <cmath>

#include <gtest/gtest.h>

namespace edamori::vision {
namespace {

using test::drawnScene;
using test::failsWith;
using test::homographyOf;
using test::isOk;
using test::photographedAgain;

constexpr int kWidth = 1200;
constexpr int kHeight = 900;

Outline box(double left, double top, double side) {
  return {
      .polygon = {{left, top}, {left + side, top}, {left + side, top + side}, {left, top + side}},
      .holes = {}};
}

TEST(CarriedOutlines, LieWhereTheBranchesWent) {
  const RgbImage before = drawnScene(kWidth, kHeight, 5);
  const Homography truth =
      homographyOf({.rollDeg = 6, .scale = 1.1, .shiftX = 0.04}, kWidth, kHeight);
  const RgbImage after = photographedAgain(before, truth, {.gain = 0.8, .noise = 3});
  Outline holed = box(600, 300, 260);
  holed.holes.push_back(box(680, 380, 60).polygon);
  const std::vector<Outline> outlines{box(300, 250, 240), holed};
  const auto carried = carriedOutlines(before, after, outlines);
  ASSERT_THAT(carried, isOk());
  ASSERT_EQ(carried->size(), outlines.size());
  for (std::size_t i = 0; i < outlines.size(); ++i) {
    ASSERT_TRUE(carried->at(i).has_value());
    EXPECT_TRUE(carried->at(i)->isCertain);
    const Outline expected = mapped(truth, outlines[i]);
    ASSERT_EQ(carried->at(i)->shape.holes.size(), expected.holes.size());
    for (std::size_t k = 0; k < expected.polygon.size(); ++k) {
      const PointPx at = carried->at(i)->shape.polygon[k];
      const double offPx = std::hypot(at.x - expected.polygon[k].x, at.y - expected.polygon[k].y);
      EXPECT_LT(offPx, 0.003 * kWidth);  // what an outline's carrying may be off
      EXPECT_LE(offPx, carried->at(i)->errorPx + 1.0);
    }
  }
}

TEST(CarriedOutlines, AreThoseThatAlignPlaces) {
  const RgbImage before = drawnScene(kWidth, kHeight, 5);
  const RgbImage after =
      photographedAgain(before, homographyOf({.rollDeg = -4}, kWidth, kHeight), {.noise = 3});
  const auto alignment = align(before, after, box(350, 200, 400));
  const auto carried = carriedOutlines(before, after, {box(350, 200, 400)});
  ASSERT_THAT(alignment, isOk());
  ASSERT_THAT(carried, isOk());
  EXPECT_EQ(carried->at(0)->shape, mapped(alignment->afterFromBefore, box(350, 200, 400)));
}

TEST(CarriedOutlines, OfAnotherSceneAreNeverCertain) {
  const auto carried = carriedOutlines(drawnScene(kWidth, kHeight, 5),
                                       drawnScene(kWidth, kHeight, 11),
                                       {box(300, 250, 240), box(600, 300, 260)});
  ASSERT_THAT(carried, isOk());
  for (const auto& one : *carried) {
    EXPECT_FALSE(one && one->isCertain);
  }
}

TEST(CarriedOutlines, ThatEncloseNothingAreLeftOut) {
  const RgbImage photo = drawnScene(kWidth, kHeight, 5);
  const auto carried =
      carriedOutlines(photo, photo, {box(kWidth + 50, 0, 100), box(350, 200, 400)});
  ASSERT_THAT(carried, isOk());
  EXPECT_FALSE(carried->at(0).has_value());
  EXPECT_TRUE(carried->at(1).has_value());
  EXPECT_THAT(carriedOutlines(photo, RgbImage(20, 20, 9), {box(350, 200, 400)}),
              failsWith(ErrorCode::NotMeasurable));
}

}  // namespace
}  // namespace edamori::vision
