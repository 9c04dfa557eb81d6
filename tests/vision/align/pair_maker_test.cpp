// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/vision/align/pair_maker.h"

#include <algorithm>
#include <cstdlib>

#include <gtest/gtest.h>

namespace edamori::test {

namespace {

TEST(PairMaker, IdentityGivesNearlyTheSamePhoto) {
  const RgbImage scene = drawnScene(120, 90, 1);
  const RgbImage again = photographedAgain(scene, {1, 0, 0, 0, 1, 0, 0, 0, 1}, {});
  int worst = 0;
  for (std::size_t i = 0; i < scene.byteCount(); ++i) {
    worst = std::max(worst, std::abs(scene.data()[i] - again.data()[i]));
  }
  EXPECT_LT(worst, 64);  // Four samples a pixel soften the finest grain.
}

TEST(PairMaker, ContentMovesAsTheHomographySays) {
  RgbImage dot(60, 40, 0);
  for (int dy = 0; dy < 4; ++dy) {
    for (int dx = 0; dx < 4; ++dx) {
      dot.at(10 + dx, 12 + dy, 1) = 255;
    }
  }
  const RgbImage again = photographedAgain(dot, {1, 0, 20, 0, 1, 5, 0, 0, 1}, {});
  EXPECT_EQ(again.at(31, 18, 1), 255);
  EXPECT_EQ(again.at(11, 13, 1), 128);  // Came from outside the photo.
  EXPECT_EQ(again.at(25, 18, 1), 0);
}

}  // namespace

}  // namespace edamori::test
