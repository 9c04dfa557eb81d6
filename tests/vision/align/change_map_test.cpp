// SPDX-License-Identifier: GPL-3.0-or-later
// Expected maps are drawn by hand: '-' no foliage, 'k' kept, 'L' lost, 'G' gained, 'S' spotted,
// 'C' no longer spotted.
#include "vision/align/change_map.h"

#include <gtest/gtest.h>

#include <string>
#include <string_view>

namespace edamori::vision {
namespace {

// 'f' sound foliage, 's' spotted, '-' none.
LabelImage labels(std::string_view text) {
  std::vector<std::string> rows(1);
  for (const char c : text) {
    if (c == '/') {
      rows.emplace_back();
    } else {
      rows.back() += c;
    }
  }
  LabelImage image(static_cast<int>(rows.front().size()), static_cast<int>(rows.size()));
  for (int y = 0; y < image.height(); ++y) {
    for (int x = 0; x < image.width(); ++x) {
      const char c = rows[static_cast<std::size_t>(y)][static_cast<std::size_t>(x)];
      image.at(x, y) = static_cast<std::uint8_t>(c == 'f'   ? Label::SoundFoliage
                                                 : c == 's' ? Label::Spotted
                                                            : Label::NotFoliage);
    }
  }
  return image;
}

std::string drawn(const Raster<1>& map) {
  std::string text;
  for (int y = 0; y < map.height(); ++y) {
    text += y > 0 ? "/" : "";
    for (int x = 0; x < map.width(); ++x) {
      text += std::string_view("-kLGSC").at(map.at(x, y));
    }
  }
  return text;
}

Outline box(double left, double top, double right, double bottom) {
  return {.polygon = {{left, top}, {right, top}, {right, bottom}, {left, bottom}}, .holes = {}};
}

TEST(ChangeMap, TellsLostGainedSpottedAndKeptApart) {
  EXPECT_EQ(drawn(changeMap(labels("ff-s/f--f"),
                            box(0, 0, 4, 2),
                            labels("-ffs/f-s-"),
                            {.outlineAfter = box(0, 0, 4, 2)})),
            "LkGS/k-SL");
}

TEST(ChangeMap, LeavesOutWhatLiesBeyondEitherOutline) {
  EXPECT_EQ(drawn(changeMap(labels("ffff/ffff"),
                            box(1, 0, 4, 2),
                            labels("----/----"),
                            {.outlineAfter = box(0, 0, 3, 1)})),
            "-LL-/----");
}

TEST(ChangeMap, LooksWhereTheAlignmentPutsThePlace) {
  // The later photo shows the same 2 px further to the right, at twice the scale.
  EXPECT_EQ(drawn(changeMap(labels("f-f"),
                            box(0, 0, 3, 1),
                            labels("--ff--ff/--ff--ff"),
                            {.afterFromBefore = {2, 0, 2, 0, 2, 0, 0, 0, 1},
                             .outlineAfter = box(0, 0, 8, 2)})),
            "k-k");
}

TEST(ChangeMap, CallsNothingAChangeThatTheAlignmentsErrorDisplaces) {
  const LabelImage before = labels("-f----f-");
  const LabelImage after = labels("--f-----");
  const ChangeMapRequest exact{.outlineAfter = box(0, 0, 8, 1)};
  EXPECT_EQ(drawn(changeMap(before, box(0, 0, 8, 1), after, exact)), "-LG---L-");
  ChangeMapRequest rough = exact;
  rough.tolerancePx = 1.0;
  EXPECT_EQ(drawn(changeMap(before, box(0, 0, 8, 1), after, rough)), "------L-");
}

TEST(ChangeMap, ShowsWhereFoliageIsNoLongerSpotted) {
  // Gone, sound again, still spotted; and spotted one place further on, which the alignment may have moved.
  const LabelImage before = labels("sss--s--");
  const LabelImage after = labels("-fs--fs-");
  ChangeMapRequest request{.outlineAfter = box(0, 0, 8, 1)};
  EXPECT_EQ(drawn(changeMap(before, box(0, 0, 8, 1), after, request)), "LCS--CS-");
  request.tolerancePx = 1.0;
  EXPECT_EQ(drawn(changeMap(before, box(0, 0, 8, 1), after, request)), "-kS--kS-");
}

TEST(ChangeMap, IsReducedToTheSizeThatIsAskedFor) {
  const LabelImage before(40, 20, static_cast<std::uint8_t>(Label::SoundFoliage));
  const LabelImage after(40, 20, 0);
  ChangeMapRequest request{.outlineAfter = box(0, 0, 40, 20)};
  request.longSidePx = 10;
  const Raster<1> map = changeMap(before, box(0, 0, 20, 20), after, request);
  EXPECT_EQ(map.width(), 10);
  EXPECT_EQ(map.height(), 5);
  EXPECT_EQ(drawn(map), "LLLLL-----/LLLLL-----/LLLLL-----/LLLLL-----/LLLLL-----");
}

TEST(ChangeMap, IsEmptyWithoutLabels) {
  EXPECT_TRUE(changeMap({}, {}, labels("f"), {}).isEmpty());
}

}  // namespace
}  // namespace edamori::vision
