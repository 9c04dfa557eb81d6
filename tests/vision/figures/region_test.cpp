// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/figures/region.h"

#include "tests/support/mask_text.h"
#include "tests/support/matchers.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace edamori::vision {
namespace {

using test::failsWith;
using test::isOk;
using test::maskFromText;
using test::textFromMask;

Outline box(double left, double top, double right, double bottom) {
  return {.polygon = {{left, top}, {right, top}, {right, bottom}, {left, bottom}}, .holes = {}};
}

TEST(MaskOf, TakesThePixelsWhoseCentreIsInside) {
  const auto mask = maskOf(Outline{.polygon = {{0, 0}, {6, 0}, {0, 4}}, .holes = {}}, 6, 4);
  ASSERT_THAT(mask, isOk());
  // Hypotenuse x = 6 − 1.5 y: centres of row 0 up to 5.25, row 1 3.75, row 2 2.25, row 3 0.75.
  EXPECT_EQ(textFromMask(*mask), textFromMask(maskFromText(R"(
      #####.
      ####..
      ##....
      #.....)")));
}

// Squares on whole pixels, where the count must be the area: computed with shapely 1.8.5.
TEST(MaskOf, LeavesOutHoles) {
  Outline outline = box(1, 1, 11, 11);
  outline.holes.push_back({{4, 4}, {6, 4}, {6, 6}, {4, 6}});
  const auto mask = maskOf(outline, 20, 15);
  ASSERT_THAT(mask, isOk());
  EXPECT_EQ(countInside(*mask), 96);
}

TEST(MaskOf, OfAFrameIsThatPartOfTheWholeMask) {
  Outline outline{.polygon = {{3.2, 2.7}, {41.5, 8.1}, {33.3, 27.9}, {20.4, 15.2}, {5.6, 24.4}}, .holes = {}};
  outline.holes.push_back({{10.3, 8.2}, {22.7, 9.6}, {15.1, 13.3}});
  const auto whole = maskOf(outline, 48, 32);
  ASSERT_THAT(whole, isOk());
  for (const PixelBox& frame : {PixelBox{.left = 0, .top = 0, .width = 48, .height = 32},
                                PixelBox{.left = 9, .top = 5, .width = 21, .height = 13},
                                PixelBox{.left = 40, .top = 20, .width = 8, .height = 12}}) {
    const auto part = maskOf(outline, frame);
    ASSERT_THAT(part, isOk());
    for (int y = 0; y < frame.height; ++y) {
      for (int x = 0; x < frame.width; ++x) {
        ASSERT_EQ(part->at(x, y), whole->at(frame.left + x, frame.top + y)) << x << ' ' << y;
      }
    }
  }
  EXPECT_THAT(maskOf(outline, PixelBox{.left = 4, .top = 4, .width = 0, .height = 9}),
              failsWith(ErrorCode::InvalidArgument));
}

TEST(UnionOf, CountsOverlapsOnce) {
  const auto a = maskOf(box(0, 0, 4, 4), 10, 10);
  const auto b = maskOf(box(2, 2, 6, 6), 10, 10);
  ASSERT_THAT(a, isOk());
  ASSERT_THAT(b, isOk());
  EXPECT_EQ(countInside(unionOf(*a, *b)), 28);
}

TEST(MaskOf, ComesCloseToTheShoelaceArea) {
  Polygon polygon;
  for (int i = 0; i < 24; ++i) {
    const double angle = 2 * M_PI * i / 24;
    const double radius = i % 2 == 0 ? 190.3 : 120.7;  // a star, not convex
    polygon.push_back({250.2 + radius * std::cos(angle), 240.9 + radius * std::sin(angle)});
  }
  const auto mask = maskOf(Outline{.polygon = polygon, .holes = {}}, 500, 500);
  ASSERT_THAT(mask, isOk());
  // Pixels on the edge err by half a pixel either way; the errors of 24 slanting edges even out.
  EXPECT_NEAR(static_cast<double>(countInside(*mask)), areaPx2(polygon), 0.05 * perimeterPx(polygon));
}

TEST(MaskOf, AgreesWithContains) {
  const Outline outline{.polygon = {{2.3, 1.1}, {17.9, 4.6}, {12.2, 17.5}, {8.8, 9.4}, {3.1, 15.2}},
                        .holes = {{{7.1, 4.2}, {9.7, 4.4}, {8.3, 7.9}}}};
  const auto mask = maskOf(outline, 20, 20);
  ASSERT_THAT(mask, isOk());
  for (int y = 0; y < 20; ++y) {
    for (int x = 0; x < 20; ++x) {
      EXPECT_EQ(mask->at(x, y) != 0, contains(outline, {x + 0.5, y + 0.5})) << x << ',' << y;
    }
  }
}

TEST(MaskOf, IsCutOffAtThePhoto) {
  const auto mask = maskOf(box(-1e6, -50, 3, 1e6), 8, 5);
  ASSERT_THAT(mask, isOk());
  EXPECT_EQ(countInside(*mask), 15);
  const auto outside = maskOf(box(100, 100, 200, 200), 8, 5);
  ASSERT_THAT(outside, isOk());
  EXPECT_EQ(countInside(*outside), 0);
}

TEST(MaskOf, OfNoOutlineIsTheWholePhoto) {
  const auto mask = maskOf(std::nullopt, 7, 3);
  ASSERT_THAT(mask, isOk());
  EXPECT_EQ(countInside(*mask), 21);
}

TEST(MaskOf, RefusesWhatIsNoOutline) {
  EXPECT_THAT(maskOf(Outline{.polygon = {{0, 0}, {1, 1}}, .holes = {}}, 5, 5),
              failsWith(ErrorCode::InvalidArgument));
  Outline withBadHole = box(0, 0, 4, 4);
  withBadHole.holes.push_back({{1, 1}});
  EXPECT_THAT(maskOf(withBadHole, 5, 5), failsWith(ErrorCode::InvalidArgument));
  Outline infinite = box(0, 0, 4, 4);
  infinite.polygon[1].x = std::numeric_limits<double>::infinity();
  EXPECT_THAT(maskOf(infinite, 5, 5), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(maskOf(box(0, 0, 4, 4), 0, 5), failsWith(ErrorCode::InvalidArgument));
}

TEST(BoxAround, IsTheSmallestBox) {
  EXPECT_EQ(boxAround(maskFromText(R"(
      ......
      ..#...
      ....#.
      ......)")),
            (PixelBox{.left = 2, .top = 1, .width = 3, .height = 2}));
  EXPECT_EQ(boxAround(Mask(4, 4, 0)), PixelBox{});
  EXPECT_EQ(boxAround(Mask(4, 3, 255)), (PixelBox{.left = 0, .top = 0, .width = 4, .height = 3}));
}

}  // namespace
}  // namespace edamori::vision
