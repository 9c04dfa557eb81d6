// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/by_outlines.h"

#include "tests/support/matchers.h"

#include <algorithm>
#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace edamori::vision {
namespace {

using test::failsWith;
using test::isOk;

const RgbImage kPhoto(1000, 800, 90);

// No two sides alike, so that only one way of laying it on itself is right.
const std::vector<PointPx> kBranch{{200, 400}, {330, 250}, {520, 300}, {700, 220}, {760, 380}, {560, 470}, {380, 520}};

Outline movedBy(const Homography& h) {
  Outline outline;
  for (const PointPx& p : kBranch) {
    outline.polygon.push_back(mapped(h, p));
  }
  return outline;
}

void expectNear(PointPx a, PointPx b, double px) { EXPECT_NEAR(std::hypot(a.x - b.x, a.y - b.y), 0.0, px); }

// 10° and 0.9 times, by the definition of a similarity.
Homography similarity() {
  const double c = 0.9 * std::cos(10.0 * M_PI / 180.0), s = 0.9 * std::sin(10.0 * M_PI / 180.0);
  return {c, -s, 120, s, c, -40, 0, 0, 1};
}

TEST(AlignByOutlines, FindsTheSimilarityWhereverAPersonBeganToDraw) {
  for (const bool isReversed : {false, true}) {
    Outline after = movedBy(similarity());
    std::rotate(after.polygon.begin(), after.polygon.begin() + 3, after.polygon.end());
    if (isReversed) {
      std::reverse(after.polygon.begin(), after.polygon.end());
    }
    const auto alignment = alignByOutlines(kPhoto, kPhoto, {.polygon = kBranch, .holes = {}}, after);
    ASSERT_THAT(alignment, isOk());
    EXPECT_EQ(alignment->model, AlignmentModel::Similarity);
    for (const PointPx& p : kBranch) {
      expectNear(mapped(alignment->afterFromBefore, p), mapped(similarity(), p), 6.0);
    }
    EXPECT_LT(alignment->residualPx, 4.0);
    EXPECT_GE(alignment->errorPx, 5.0) << "0.5 % of the longer side: a rim tells no more";
  }
}

TEST(AlignByOutlines, ToleratesAnUnsteadyHandAndAnotherNumberOfCorners) {
  Outline after = movedBy(similarity());
  for (std::size_t i = 0; i < after.polygon.size(); ++i) {
    after.polygon[i].x += i % 2 == 0 ? 7.0 : -7.0;
    after.polygon[i].y += i % 3 == 0 ? -6.0 : 5.0;
  }
  after.polygon.insert(after.polygon.begin() + 1, {0.5 * (after.polygon[0].x + after.polygon[1].x),
                                                   0.5 * (after.polygon[0].y + after.polygon[1].y)});
  const auto alignment = alignByOutlines(kPhoto, kPhoto, {.polygon = kBranch, .holes = {}}, after);
  ASSERT_THAT(alignment, isOk());
  for (const PointPx& p : kBranch) {
    expectNear(mapped(alignment->afterFromBefore, p), mapped(similarity(), p), 20.0);
  }
}

TEST(AlignByOutlines, RefusesAnotherShapeAndAnUpsideDownOne) {
  const Outline strip{.polygon = {{50, 400}, {950, 400}, {950, 430}, {50, 430}}, .holes = {}};
  EXPECT_THAT(alignByOutlines(kPhoto, kPhoto, {.polygon = kBranch, .holes = {}}, strip),
              failsWith(ErrorCode::NotMeasurable));
  const Outline upsideDown = movedBy({-1, 0, 960, 0, -1, 770, 0, 0, 1});
  const auto alignment = alignByOutlines(kPhoto, kPhoto, {.polygon = kBranch, .holes = {}}, upsideDown);
  const double turn =
      alignment ? std::atan2(alignment->afterFromBefore[3], alignment->afterFromBefore[0]) : 0.0;
  EXPECT_LE(std::abs(turn), 40.0 / 180.0 * M_PI + 1e-9) << "a hand does not hold the camera upside down";
}

TEST(AlignByOutlines, WantsAnOutlineWithAnArea) {
  const Outline line{.polygon = {{100, 100}, {500, 100}, {900, 100}}, .holes = {}};
  EXPECT_THAT(alignByOutlines(kPhoto, kPhoto, line, {.polygon = kBranch, .holes = {}}),
              failsWith(ErrorCode::InvalidArgument));
}

}  // namespace
}  // namespace edamori::vision
