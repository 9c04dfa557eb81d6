// SPDX-License-Identifier: GPL-3.0-or-later
// Alignment of pairs drawn by the test. The homography that made a pair is the outside
// truth; the pair maker does its arithmetic without the libraries that align() uses.
#include "tests/support/matchers.h"
#include "tests/vision/align/pair_maker.h"
#include "vision/align/compare.h"
#include "vision/align/plane.h"

#include <cmath>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace edamori::vision {
namespace {

using test::drawnScene;
using test::failsWith;
using test::isOk;
using test::LightChange;
using test::photographedAgain;
using test::ViewChange;
using ::testing::HasSubstr;

constexpr int kWidth = 1200;
constexpr int kHeight = 900;

Outline middleOutline() {
  return {.polygon = {{350, 200}, {850, 200}, {850, 700}, {350, 700}}, .holes = {}};
}

struct Case {
  const char* name;
  ViewChange view;
  LightChange light;
};

class KnownPair : public ::testing::TestWithParam<Case> {};

// 0.3 % of the longer side is what an outline's carrying may be off.
TEST_P(KnownPair, CarriesTheOutlineToItsPlace) {
  const RgbImage before = drawnScene(kWidth, kHeight, 5);
  const Homography truth = test::homographyOf(GetParam().view, kWidth, kHeight);
  const RgbImage after = photographedAgain(before, truth, GetParam().light);
  const auto alignment = align(before, after, middleOutline());
  ASSERT_THAT(alignment, isOk());
  EXPECT_LT(test::cornerErrorPx(alignment->afterFromBefore, truth, middleOutline()),
            0.003 * kWidth);
  EXPECT_GT(alignment->supportingMatches, 0);
  EXPECT_LT(alignment->residualPx, 0.003 * kWidth);
}

INSTANTIATE_TEST_SUITE_P(
    Align,
    KnownPair,
    ::testing::Values(
        Case{"Shifted", {.shiftX = 0.05, .shiftY = -0.03}, {}},
        Case{"TurnedRight", {.rollDeg = 25}, {.noise = 3}},
        Case{"TurnedLeft", {.rollDeg = -25}, {.gain = 0.7, .noise = 3}},
        Case{"Nearer", {.rollDeg = 4, .scale = 1.6}, {.noise = 3}},
        Case{"Farther", {.rollDeg = -6, .scale = 0.6}, {.noise = 3}},
        Case{"Tilted", {.rollDeg = 5, .scale = 1.1, .tiltX = 0.15, .tiltY = -0.1}, {.noise = 3}},
        Case{"Darker", {.rollDeg = 3}, {.gain = 0.5, .noise = 4}},
        Case{"BrighterAndWarmer", {.scale = 0.9}, {.gain = 1.3, .cast = 0.15, .noise = 4}}),
    [](const auto& instance) { return std::string(instance.param.name); });

TEST(Align, ChoosesAHomographyForATiltedView) {
  const RgbImage before = drawnScene(kWidth, kHeight, 5);
  const Homography truth = test::homographyOf({.tiltX = 0.2, .tiltY = 0.1}, kWidth, kHeight);
  const auto alignment = align(before, photographedAgain(before, truth, {}), middleOutline());
  ASSERT_THAT(alignment, isOk());
  EXPECT_EQ(alignment->model, AlignmentModel::Homography);
  EXPECT_EQ(toText(alignment->model), "homography");
}

TEST(Align, ChoosesASimilarityWhenNothingMoreIsNeeded) {
  const RgbImage before = drawnScene(kWidth, kHeight, 6);
  const auto alignment = align(before, before, middleOutline());
  ASSERT_THAT(alignment, isOk());
  EXPECT_EQ(alignment->model, AlignmentModel::Similarity);
  EXPECT_EQ(toText(alignment->model), "similarity");
  EXPECT_LT(
      test::cornerErrorPx(alignment->afterFromBefore, {1, 0, 0, 0, 1, 0, 0, 0, 1}, middleOutline()),
      0.05);
  EXPECT_DOUBLE_EQ(alignment->overlap, 1.0);
}

TEST(Align, GivesTheSameBitsAgain) {
  const RgbImage before = drawnScene(kWidth, kHeight, 7);
  const Homography truth = test::homographyOf({.rollDeg = 7, .tiltX = 0.1}, kWidth, kHeight);
  const RgbImage after = photographedAgain(before, truth, {.noise = 5});
  const auto first = align(before, after, middleOutline());
  const auto second = align(before, after, middleOutline());
  ASSERT_THAT(first, isOk());
  ASSERT_THAT(second, isOk());
  EXPECT_EQ(first->afterFromBefore, second->afterFromBefore);
  EXPECT_EQ(first->residualPx, second->residualPx);
  EXPECT_EQ(first->supportingMatches, second->supportingMatches);
}

TEST(Align, SaysHowMuchOfTheOutlineTheAfterPhotoShows) {
  const RgbImage before = drawnScene(kWidth, kHeight, 8);
  // The outline spans 350…850 px; content moves 540 px right, so that 350…660 stay.
  const Homography truth = test::homographyOf({.shiftX = 0.45}, kWidth, kHeight);
  const auto alignment = align(before, photographedAgain(before, truth, {}), middleOutline());
  ASSERT_THAT(alignment, isOk());
  EXPECT_NEAR(alignment->overlap, 310.0 / 500.0, 0.01);
}

TEST(Align, RefusesAnOutlineThatLiesMostlyOutside) {
  const RgbImage before = drawnScene(kWidth, kHeight, 8);
  const Homography truth = test::homographyOf({.shiftX = 0.6}, kWidth, kHeight);
  const auto alignment = align(before, photographedAgain(before, truth, {}), middleOutline());
  ASSERT_THAT(alignment, failsWith(ErrorCode::NotMeasurable));
  EXPECT_THAT(alignment.error().message, HasSubstr("outside the after photo"));
}

TEST(Align, RefusesAMirroredPhoto) {
  const RgbImage before = drawnScene(kWidth, kHeight, 9);
  const auto alignment = align(before, test::mirrored(before), middleOutline());
  ASSERT_THAT(alignment, failsWith(ErrorCode::NotMeasurable));
  EXPECT_THAT(alignment.error().message, HasSubstr("mirror"));
}

TEST(Align, RefusesUnrelatedScenes) {
  constexpr std::uint32_t kScenes = 5;
  std::vector<RgbImage> scenes;
  for (std::uint32_t i = 0; i < kScenes; ++i) {
    scenes.push_back(drawnScene(800, 600, 100 + 17 * i));
  }
  for (const RgbImage& before : scenes) {
    for (const RgbImage& after : scenes) {
      if (&before != &after) {
        EXPECT_THAT(align(before, after, std::nullopt), failsWith(ErrorCode::NotMeasurable));
      }
    }
  }
}

TEST(Align, RefusesPhotosWithoutDetail) {
  const RgbImage blank(800, 600, 90);
  const RgbImage scene = drawnScene(800, 600, 3);
  EXPECT_THAT(align(blank, blank, std::nullopt), failsWith(ErrorCode::NotMeasurable));
  EXPECT_THAT(align(scene, blank, std::nullopt), failsWith(ErrorCode::NotMeasurable));
  EXPECT_THAT(align(blank, scene, std::nullopt), failsWith(ErrorCode::NotMeasurable));
}

TEST(Align, RefusesNoiseThatSharesNothing) {
  const RgbImage grey(800, 600, 128);
  const Homography still{1, 0, 0, 0, 1, 0, 0, 0, 1};
  const RgbImage first = photographedAgain(grey, still, {.noise = 40, .seed = 1});
  const RgbImage second = photographedAgain(grey, still, {.noise = 40, .seed = 2});
  EXPECT_THAT(align(first, second, std::nullopt), failsWith(ErrorCode::NotMeasurable));
}

TEST(Align, RefusesEmptyAndTinyPhotosAndOutlinesOutside) {
  const RgbImage scene = drawnScene(400, 300, 3);
  EXPECT_THAT(align(RgbImage(), scene, std::nullopt), failsWith(ErrorCode::NotMeasurable));
  EXPECT_THAT(align(scene, RgbImage(20, 20, 7), std::nullopt), failsWith(ErrorCode::NotMeasurable));
  const Outline outside{.polygon = {{500, 10}, {600, 10}, {600, 90}}, .holes = {}};
  EXPECT_THAT(align(scene, scene, outside), failsWith(ErrorCode::NotMeasurable));
  const Outline line{.polygon = {{10, 10}, {60, 10}}, .holes = {}};
  EXPECT_THAT(align(scene, scene, line), failsWith(ErrorCode::NotMeasurable));
}

// A backdrop full of detail that moves one way, and before it a tree that moves another:
// the outline has to go with the tree, or not at all.
TEST(Align, FollowsTheBranchAndNotTheBackdrop) {
  RgbImage before = drawnScene(kWidth, kHeight, 31);
  const RgbImage tree = drawnScene(kWidth, kHeight, 77);
  const Homography backdropMove = test::homographyOf({.shiftX = 0.08}, kWidth, kHeight);
  const Homography treeMove =
      test::homographyOf({.rollDeg = 2, .scale = 1.05, .shiftX = -0.03}, kWidth, kHeight);
  RgbImage after = photographedAgain(before, backdropMove, {.noise = 2});
  const RgbImage treeAfter = photographedAgain(tree, treeMove, {.noise = 2});
  const Outline outline = middleOutline();
  const Outline outlineAfter = mapped(treeMove, outline);
  for (int y = 0; y < kHeight; ++y) {
    for (int x = 0; x < kWidth; ++x) {
      for (int c = 0; c < 3; ++c) {
        if (contains(outline, {x + 0.5, y + 0.5})) {
          before.at(x, y, c) = tree.at(x, y, c);
        }
        if (contains(outlineAfter, {x + 0.5, y + 0.5})) {
          after.at(x, y, c) = treeAfter.at(x, y, c);
        }
      }
    }
  }
  const auto alignment = align(before, after, outline);
  ASSERT_THAT(alignment, isOk());
  EXPECT_LT(test::cornerErrorPx(alignment->afterFromBefore, treeMove, outline), 0.003 * kWidth);
}

TEST(WarpedOntoBefore, BringsTheAfterPhotoBack) {
  const RgbImage before = drawnScene(600, 450, 12);
  const Homography truth = test::homographyOf({.rollDeg = 9, .scale = 1.1, .tiltX = 0.1}, 600, 450);
  const RgbImage after = photographedAgain(before, truth, {});
  const RgbImage back = warpedOntoBefore(after, truth, 600, 450);
  ASSERT_EQ(back.width(), 600);
  ASSERT_EQ(back.height(), 450);
  double sum = 0.0;
  int count = 0;
  for (int y = 150; y < 300; ++y) {
    for (int x = 200; x < 400; ++x) {
      sum += std::abs(before.at(x, y, 1) - back.at(x, y, 1));
      ++count;
    }
  }
  EXPECT_LT(sum / count, 8.0);  // Sampling twice softens; a shift by 1 px gives over 15.
}

TEST(WarpedOntoBefore, IsMidGreyWhereTheAfterPhotoEnds) {
  const RgbImage after(100, 100, 255);
  const Homography shift{1, 0, 60, 0, 1, 0, 0, 0, 1};
  const RgbImage warped = warpedOntoBefore(after, shift, 100, 100);
  EXPECT_EQ(warped.at(20, 50, 0), 255);
  EXPECT_EQ(warped.at(38, 50, 0), 255);
  EXPECT_EQ(warped.at(60, 50, 0), 128);
  EXPECT_EQ(warped.at(99, 50, 2), 128);
}

TEST(WarpedOntoBefore, OfTheIdentityIsThePhoto) {
  const RgbImage photo = drawnScene(120, 80, 4);
  EXPECT_EQ(warpedOntoBefore(photo, {1, 0, 0, 0, 1, 0, 0, 0, 1}, 120, 80), photo);
}

}  // namespace
}  // namespace edamori::vision
