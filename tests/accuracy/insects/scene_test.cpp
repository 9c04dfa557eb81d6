// SPDX-License-Identifier: GPL-3.0-or-later
// The truth that insect scenes come with is that of their pixels.
#include "insect_scene.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace edamori::scenes {
namespace {

TEST(InsectScene, IsTheSameEachTimeAndAnotherOneForAnotherSetOrNumber) {
  const auto first = drawInsectScene(SceneSet::Tuning, 3, 200, 150);
  EXPECT_EQ(first.rgb, drawInsectScene(SceneSet::Tuning, 3, 200, 150).rgb);
  EXPECT_NE(first.rgb, drawInsectScene(SceneSet::Tuning, 4, 200, 150).rgb);
  EXPECT_NE(first.rgb, drawInsectScene(SceneSet::HeldOut, 3, 200, 150).rgb);
}

TEST(InsectScene, ListsInsectsOnThePictureThatAreSeen) {
  int insects = 0, bare = 0;
  for (std::uint64_t index = 0; index < 12; ++index) {
    const auto scene = drawInsectScene(SceneSet::Calibration, index, 240, 180);
    bare += scene.insects.empty() ? 1 : 0;
    for (const TrueInsect& insect : scene.insects) {
      ++insects;
      EXPECT_TRUE(insect.x >= 0 && insect.x < 240 && insect.y >= 0 && insect.y < 180);
      EXPECT_GE(insect.radiusPx, 3.5F);
      EXPECT_LE(insect.radiusPx, 40.0F);
      EXPECT_GE(insect.visible, 0.15F);
    }
  }
  EXPECT_GT(insects, 20);
  EXPECT_GT(bare, 1);
}

TEST(InsectScene, DrawsLooksForHeldOutThatTuningNeverHas) {
  bool isUnseen = false;
  for (std::uint64_t index = 0; index < 40; ++index) {
    EXPECT_LE(drawInsectScene(SceneSet::Tuning, index, 24, 16).look, BarkLook::Twigs);
    isUnseen = isUnseen || drawInsectScene(SceneSet::HeldOut, index, 24, 16).look > BarkLook::Twigs;
  }
  EXPECT_TRUE(isUnseen);
}

}  // namespace
}  // namespace edamori::scenes
