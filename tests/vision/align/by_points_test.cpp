// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/by_points.h"

#include "tests/support/matchers.h"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace edamori::vision {
namespace {

using test::failsWith;
using test::isOk;

const RgbImage kPhoto(1000, 800, 90);

// A quarter turn by hand: (x, y) → (800 − y, x) turns the photo clockwise.
TEST(AlignByPoints, TwoPairsGiveTheSimilarityThroughThem) {
  const RgbImage upright(800, 1000, 90);
  const auto alignment = alignByPoints(
      kPhoto,
      upright,
      {{.before = {100, 100}, .after = {700, 100}}, {.before = {900, 700}, .after = {100, 900}}},
      std::nullopt);
  ASSERT_THAT(alignment, isOk());
  EXPECT_EQ(alignment->model, AlignmentModel::Similarity);
  const PointPx p = mapped(alignment->afterFromBefore, {.x = 300, .y = 200});
  EXPECT_NEAR(p.x, 600.0, 1e-9);
  EXPECT_NEAR(p.y, 300.0, 1e-9);
  EXPECT_NEAR(alignment->residualPx, 0.0, 1e-9);
  EXPECT_NEAR(alignment->overlap, 1.0, 1e-9);
}

// An equilateral triangle whose corners are pulled out by 10 px along their radii: the least
// squares similarity is the pure scale 110 / 100, which meets all three.
TEST(AlignByPoints, ThreePairsGiveTheLeastSquaresSimilarity) {
  std::vector<PointPairPx> pairs;
  for (int i = 0; i < 3; ++i) {
    const double angle = i * 2.0 * M_PI / 3.0;
    pairs.push_back({.before = {500 + 100 * std::cos(angle), 400 + 100 * std::sin(angle)},
                     .after = {500 + 110 * std::cos(angle), 400 + 110 * std::sin(angle)}});
  }
  pairs[0].after.x += 6.0;  // moves the middle by 2 and the scale by 6 · 100 / (3 · 100²) = 0.02
  const auto alignment = alignByPoints(kPhoto, kPhoto, pairs, std::nullopt);
  ASSERT_THAT(alignment, isOk());
  EXPECT_NEAR(alignment->afterFromBefore[0], 1.12, 1e-9);
  EXPECT_NEAR(alignment->afterFromBefore[3], 0.0, 1e-9);
  const PointPx middle = mapped(alignment->afterFromBefore, {.x = 500, .y = 400});
  EXPECT_NEAR(middle.x, 502.0, 1e-9);
  EXPECT_NEAR(middle.y, 400.0, 1e-9);
}

TEST(AlignByPoints, FourPairsGiveTheHomographyThroughThem) {
  const Homography truth{0.9, 0.1, 30, -0.05, 1.0, 20, 0.0001, 0.00005, 1};
  std::vector<PointPairPx> pairs;
  for (const PointPx p : {PointPx{100, 100}, PointPx{800, 120}, PointPx{850, 700}, PointPx{90, 650}}) {
    pairs.push_back({.before = p, .after = mapped(truth, p)});
  }
  const auto alignment = alignByPoints(kPhoto, kPhoto, pairs, std::nullopt);
  ASSERT_THAT(alignment, isOk());
  EXPECT_EQ(alignment->model, AlignmentModel::Homography);
  const PointPx p = mapped(alignment->afterFromBefore, {.x = 400, .y = 300});
  const PointPx expected = mapped(truth, {.x = 400, .y = 300});
  EXPECT_NEAR(p.x, expected.x, 0.01);  // OpenCV takes the points as floats
  EXPECT_NEAR(p.y, expected.y, 0.01);
}

TEST(AlignByPoints, StatesALargerErrorForPointsCloseTogether) {
  const auto errorFor = [](double half) {
    const auto alignment = alignByPoints(
        kPhoto,
        kPhoto,
        {{.before = {500 - half, 400}, .after = {500 - half, 400}},
         {.before = {500 + half, 400}, .after = {500 + half, 400}}},
        std::nullopt);
    return alignment ? alignment->errorPx : std::nan("");
  };
  // By hand: 2.146 · 0.002 · 1000 · √(1/2 + (500² + 400²) / (2 half²)).
  EXPECT_NEAR(errorFor(400), 4.292 * std::sqrt(0.5 + 410000.0 / 320000.0), 0.01);
  EXPECT_NEAR(errorFor(50), 4.292 * std::sqrt(0.5 + 410000.0 / 5000.0), 0.05);
}

TEST(AlignByPoints, RefusesWhatCannotPlaceABranch) {
  const auto pair = [](double x, double y) { return PointPairPx{.before = {x, y}, .after = {x, y}}; };
  EXPECT_THAT(alignByPoints(kPhoto, kPhoto, {pair(1, 1)}, std::nullopt),
              failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(alignByPoints(kPhoto, kPhoto, {pair(100, 100), pair(110, 100)}, std::nullopt),
              failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(alignByPoints(kPhoto,
                            kPhoto,
                            {pair(100, 100), pair(400, 110), pair(700, 120), pair(300, 600)},
                            std::nullopt),
              failsWith(ErrorCode::InvalidArgument));
  // Another scale than two photos of one branch can have.
  EXPECT_THAT(alignByPoints(kPhoto,
                            kPhoto,
                            {{.before = {100, 100}, .after = {500, 400}},
                             {.before = {900, 700}, .after = {540, 430}}},
                            std::nullopt),
              failsWith(ErrorCode::NotMeasurable));
}

}  // namespace
}  // namespace edamori::vision
