// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/foliage/foliage.h"

#include "tests/vision/figures/drawn_leaf.h"

#include <gtest/gtest.h>

#include <string>

namespace edamori::vision {
namespace {

using test::Colour;
using test::DrawnLeaf;

struct Tone {
  const char* name;
  Colour colour;
  bool isFoliage;
};

class FoliageTone : public ::testing::TestWithParam<Tone> {};

// Tones read off photographs by eye; common practice, no source.
TEST_P(FoliageTone, IsToldByColourAlone) {
  const auto [r, g, b] = GetParam().colour;
  const double logOdds = foliageLogOdds(static_cast<std::uint8_t>(r), static_cast<std::uint8_t>(g),
                                        static_cast<std::uint8_t>(b));
  EXPECT_EQ(logOdds > 0.0, GetParam().isFoliage) << logOdds;
}

INSTANTIATE_TEST_SUITE_P(Tones,
                         FoliageTone,
                         ::testing::Values(Tone{"leaf", {60, 120, 40}, true},
                                           Tone{"young_leaf", {150, 200, 60}, true},
                                           Tone{"dark_needle", {34, 52, 30}, true},
                                           Tone{"blue_needle", {80, 128, 120}, true},
                                           Tone{"yellow_leaf", {208, 190, 40}, true},
                                           Tone{"red_leaf", {142, 34, 42}, true},
                                           Tone{"orange_leaf", {230, 140, 40}, true},
                                           Tone{"white", {250, 250, 250}, false},
                                           Tone{"grey", {128, 128, 128}, false},
                                           Tone{"black", {0, 0, 0}, false},
                                           Tone{"sky", {120, 170, 230}, false},
                                           Tone{"wood", {176, 136, 92}, false},
                                           Tone{"bark", {96, 78, 62}, false},
                                           Tone{"soil", {70, 52, 38}, false},
                                           Tone{"blue_glaze", {40, 60, 120}, false}),
                         [](const auto& tone) { return std::string(tone.param.name); });

TEST(FoliageProbability, FillsALesionButNotAHoleThatShowsTheBackground) {
  DrawnLeaf leaf;
  leaf.spotColour = {150, 148, 140};  // grey, unlike the wood behind
  leaf.background = {176, 136, 92};
  leaf.spots = {{300, 300, 30, 30, 0}};
  const RgbImage withLesion = test::draw(leaf);
  leaf.spotColour = leaf.background;
  const RgbImage withHole = test::draw(leaf);
  const FoliageOptions options;
  EXPECT_GE(foliageProbability(withLesion, {}, Subject::Leaf, options).at(300, 300), kDecision);
  EXPECT_LT(foliageProbability(withHole, {}, Subject::Leaf, options).at(300, 300), kDecision);
}

TEST(FoliageProbability, ObeysHints) {
  const RgbImage image = test::draw(DrawnLeaf{});
  LabelImage hints(image.width(), image.height(), 0);
  hints.at(400, 300) = static_cast<std::uint8_t>(Hint::NotFoliage);
  hints.at(5, 5) = static_cast<std::uint8_t>(Hint::Spot);  // spotted foliage is foliage
  const ProbabilityMap map = foliageProbability(image, hints, Subject::Leaf, FoliageOptions{});
  EXPECT_EQ(map.at(400, 300), 0);
  EXPECT_EQ(map.at(5, 5), 255);
}

}  // namespace
}  // namespace edamori::vision
