// SPDX-License-Identifier: GPL-3.0-or-later
// Areas, perimeters and centroids: computed with shapely 1.8.5. Homographies: the
// direct linear transform in double, compared with OpenCV 4.6 getPerspectiveTransform.
#include "vision/values/geometry.h"

#include "tests/support/matchers.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace edamori {
namespace {

using test::failsWith;
using test::isOk;
using ::testing::HasSubstr;

const Polygon kFivePoints{{3, 4}, {5, 11}, {12, 8}, {9, 5}, {5, 6}};
const Polygon kSquare{{0, 0}, {10, 0}, {10, 10}, {0, 10}};
// Card of 100 × 60 mm, its corners seen at (120,80) (520,110) (560,420) (90,380) px.
constexpr Homography kMmFromPx{0.2632999924,  0.0263299992, -33.7023990334,
                               -0.0182937747, 0.2439169963, -17.3181067346,
                               -0.0000103511, 0.0006043775, 1.0};

TEST(Area, FollowsTheShoelaceFormula) {
  EXPECT_DOUBLE_EQ(areaPx2(kFivePoints), 30.0);
  EXPECT_DOUBLE_EQ(areaPx2({{0, 0}, {4, 0}, {4, 3}, {0, 3}}), 12.0);
  EXPECT_DOUBLE_EQ(areaPx2({{1, 6}, {3, 1}, {7, 2}, {4, 4}, {8, 5}}), 16.5);
}

TEST(Area, DoesNotDependOnTheDirection) {
  EXPECT_DOUBLE_EQ(areaPx2(Polygon(kFivePoints.rbegin(), kFivePoints.rend())), 30.0);
}

TEST(Area, OfTheEmptyPolygonIsZero) { EXPECT_EQ(areaPx2({}), 0.0); }

TEST(Perimeter, IsTheLengthOfTheClosedBoundary) {
  EXPECT_NEAR(perimeterPx(kFivePoints), 26.090056433, 1e-9);
  // Pythagoras, edge by edge.
  const double length = std::sqrt(29) + std::sqrt(17) + std::sqrt(13) + std::sqrt(17) + std::sqrt(50);
  EXPECT_NEAR(perimeterPx({{1, 6}, {3, 1}, {7, 2}, {4, 4}, {8, 5}}), length, 1e-12);
}

TEST(Centroid, IsThatOfTheArea) {
  const PointPx centroid = centroidPx(kFivePoints);
  EXPECT_NEAR(centroid.x, 7.166666667, 1e-9);
  EXPECT_NEAR(centroid.y, 7.611111111, 1e-9);
}

TEST(Centroid, OfAFlatPolygonIsTheMeanOfItsVertices) {
  EXPECT_EQ(centroidPx({{0, 0}, {2, 2}, {4, 4}}), (PointPx{2, 2}));
}

TEST(Bounds, EncloseAllVertices) {
  const BoundsPx box = boundsPx(kFivePoints);
  EXPECT_EQ(box.left, 3);
  EXPECT_EQ(box.top, 4);
  EXPECT_EQ(box.width(), 9);
  EXPECT_EQ(box.height(), 7);
}

TEST(Contains, LeavesOutTheHoles) {
  const Outline outline{.polygon = kSquare, .holes = {{{4, 4}, {6, 4}, {6, 6}, {4, 6}}}};
  EXPECT_TRUE(contains(outline, {2, 2}));
  EXPECT_FALSE(contains(outline, {5, 5}));
  EXPECT_FALSE(contains(outline, {11, 5}));
}

TEST(CrossesItself, TellsABowTieFromASquare) {
  EXPECT_TRUE(crossesItself({{0, 0}, {2, 2}, {2, 0}, {0, 2}}));
  EXPECT_FALSE(crossesItself(kSquare));
}

TEST(DistanceToEdge, IsThatToTheNearestEdge) {
  EXPECT_DOUBLE_EQ(distanceToEdgePx(kSquare, {5, 2}), 2.0);
  EXPECT_DOUBLE_EQ(distanceToEdgePx(kSquare, {13, 14}), 5.0);  // 3-4-5 triangle at a corner
  EXPECT_TRUE(std::isinf(distanceToEdgePx({}, {0, 0})));
}

TEST(Homography, TakesTheCentreOfASquareWhereTheDiagonalsMeet) {
  // Unit square onto (0,0) (4,0) (3,2) (1,2); the mean of the corners would be (2, 1).
  const PointPx centre = mapped(Homography{4, 2, 0, 0, 4, 0, 0, 1, 1}, PointPx{0.5, 0.5});
  EXPECT_NEAR(centre.x, 2.0, 1e-12);
  EXPECT_NEAR(centre.y, 1.333333333, 1e-9);
}

TEST(Homography, MapsPixelsOfACardToMillimetres) {
  const PointPx mm = mapped(kMmFromPx, PointPx{320, 250});
  EXPECT_NEAR(mm.x, 49.779571675, 1e-5);
  EXPECT_NEAR(mm.y, 32.939297777, 1e-5);
}

TEST(Homography, MapsAnOutlineVertexByVertex) {
  const Outline card = mapped(
      kMmFromPx, Outline{.polygon = {{250, 180}, {380, 190}, {390, 300}, {240, 290}}, .holes = {}});
  EXPECT_NEAR(areaPx2(card.polygon), 700.701630456, 1e-3);
}

TEST(ParsePolygon, ReadsPointsInOrder) {
  const auto polygon = parsePolygon(" 3,4 5,11\t12,8 9,5 5.5,6 ");
  ASSERT_THAT(polygon, isOk());
  EXPECT_EQ(*polygon, (Polygon{{3, 4}, {5, 11}, {12, 8}, {9, 5}, {5.5, 6}}));
}

TEST(ParsePolygon, GivesBackWhatToTextWrote) {
  const Polygon polygon{{0.25, 1}, {100, 2.5}, {-3, 44.75}};
  EXPECT_EQ(toText(polygon), "0.25,1 100,2.5 -3,44.75");
  const auto again = parsePolygon(toText(polygon));
  ASSERT_THAT(again, isOk());
  EXPECT_EQ(*again, polygon);
}

struct BadOutline {
  const char* text;
  const char* says;
};

class ParsePolygonRefuses : public ::testing::TestWithParam<BadOutline> {};

TEST_P(ParsePolygonRefuses, WithTheReason) {
  const auto polygon = parsePolygon(GetParam().text);
  ASSERT_THAT(polygon, failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(polygon.error().message, HasSubstr(GetParam().says));
}

INSTANTIATE_TEST_SUITE_P(Outlines,
                         ParsePolygonRefuses,
                         ::testing::Values(BadOutline{"", "at least 3 points"},
                                           BadOutline{"1,1 5,5", "at least 3 points"},
                                           BadOutline{"1,1 5 9,9", "list of points"},
                                           BadOutline{"1,1 5,x 9,9", "list of points"},
                                           BadOutline{"1,1 5,5, 9,9", "list of points"},
                                           BadOutline{"1,1 nan,5 9,9", "list of points"},
                                           BadOutline{"1,1 inf,5 9,9", "list of points"},
                                           BadOutline{"0,0 2,2 2,0 0,2", "crosses itself"}));

}  // namespace
}  // namespace edamori
