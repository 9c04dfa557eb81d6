// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/spots/spots.h"

#include "tests/vision/figures/drawn_leaf.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace edamori::vision {
namespace {

using test::DrawnLeaf;

ProbabilityMap everywhere(const RgbImage& image) {
  return ProbabilityMap(image.width(), image.height(), 255);
}

// A leaf that fills the frame.
DrawnLeaf closeUp() {
  DrawnLeaf leaf;
  leaf.width = 400;
  leaf.height = 300;
  leaf.leaf = {200, 150, 2000, 2000, 0};
  return leaf;
}

std::int64_t spottedPx(const ProbabilityMap& map) {
  return std::count_if(map.data(), map.data() + map.byteCount(),
                       [](std::uint8_t p) { return p >= kDecision; });
}

TEST(SpotProbability, IsZeroOutsideFoliage) {
  DrawnLeaf leaf = closeUp();
  leaf.spots = {{100, 150, 20, 20, 0}, {300, 150, 20, 20, 0}};
  const RgbImage image = test::draw(leaf);
  ProbabilityMap foliage = everywhere(image);
  for (int y = 0; y < 300; ++y) {
    std::fill_n(foliage.row(y), 200, std::uint8_t{0});
  }
  const ProbabilityMap map = spotProbability(image, foliage, {}, Subject::Leaf, SpotOptions{});
  EXPECT_EQ(map.at(100, 150), 0);
  EXPECT_GE(map.at(300, 150), kDecision);
}

TEST(SpotProbability, LeavesThinVeinsAlone) {
  DrawnLeaf leaf = closeUp();
  leaf.spotColour = {150, 165, 90};  // a pale vein
  leaf.spots = {{200, 150, 300, 1.0, 20}};
  const RgbImage image = test::draw(leaf);
  const ProbabilityMap map = spotProbability(image, everywhere(image), {}, Subject::Leaf, SpotOptions{});
  EXPECT_LT(spottedPx(map), 0.002 * 400 * 300);
}

TEST(SpotProbability, LeavesGlintsAlone) {
  DrawnLeaf leaf = closeUp();
  leaf.spotColour = {253, 254, 252};
  leaf.spots = {{200, 150, 12, 7, 0}};
  const RgbImage image = test::draw(leaf);
  const ProbabilityMap map = spotProbability(image, everywhere(image), {}, Subject::Leaf, SpotOptions{});
  EXPECT_LT(map.at(200, 150), kDecision);
}

TEST(SpotProbability, SeesSingleBrownNeedlesOnNeedlesAlone) {
  DrawnLeaf leaf = closeUp();
  leaf.spotColour = {140, 84, 36};
  leaf.spots = {{200, 150, 60, 1.5, 0}};
  const RgbImage image = test::draw(leaf);
  const SpotOptions options;
  EXPECT_GE(spotProbability(image, everywhere(image), {}, Subject::Needles, options).at(200, 150),
            kDecision);
}

TEST(SpotProbability, KnowsSoundTissueWhereHalfTheBranchIsBrown) {
  DrawnLeaf leaf = closeUp();
  leaf.spotColour = {140, 84, 36};
  leaf.spots = {{100, 150, 100, 200, 0}};
  const RgbImage image = test::draw(leaf);
  const ProbabilityMap map =
      spotProbability(image, everywhere(image), {}, Subject::Needles, SpotOptions{});
  EXPECT_GE(map.at(100, 150), kDecision);
  EXPECT_LT(map.at(300, 150), kDecision);
}

TEST(SpotProbability, OfHardlyAnyFoliageIsZero) {
  const RgbImage image = test::draw(closeUp());
  ProbabilityMap foliage(image.width(), image.height(), 0);
  foliage.at(10, 10) = 255;
  EXPECT_EQ(spottedPx(spotProbability(image, foliage, {}, Subject::Leaf, SpotOptions{})), 0);
}

}  // namespace
}  // namespace edamori::vision
