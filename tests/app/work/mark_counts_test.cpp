// SPDX-License-Identifier: GPL-3.0-or-later
// Shares are checked against the areas of rectangles, worked out by hand.
#include "app/work/mark_counts.h"

#include <gtest/gtest.h>

namespace edamori::work {
namespace {

Polygon box(double left, double top, double right, double bottom) {
  return {{left, top}, {right, top}, {right, bottom}, {left, bottom}};
}

store::Mark patch(Polygon shape, store::Stage stage = store::Stage::Live) {
  store::Mark mark;
  mark.branch = {"B1"};
  mark.finding = store::Finding::NeedleBlight;
  mark.kind = store::MarkKind::Patch;
  mark.stage = stage;
  mark.patch = std::move(shape);
  return mark;
}

store::OutlineRecord outlineOf(const std::string& branch) {
  store::OutlineRecord record;
  record.branch = {branch};
  record.shape.polygon = box(0, 0, 400, 100);
  return record;
}

TEST(MarkCounts, SharesCountWhatTwoPatchesHaveInCommonOnceAndWhatIsOutsideNotAtAll) {
  // 0–100 and 50–150 of 400 wide; the second also reaches out below the outline.
  const auto share = shareInside({box(0, 0, 100, 100), box(50, 0, 150, 300)}, outlineOf("B1").shape);
  ASSERT_TRUE(share.has_value());
  EXPECT_NEAR(*share, 150.0 / 400.0, 0.005);
}

TEST(MarkCounts, HolesOfTheOutlineAreNoPartOfIt) {
  Outline outline{.polygon = box(0, 0, 400, 100), .holes = {box(200, 0, 400, 100)}};
  const auto share = shareInside({box(0, 0, 100, 100)}, outline);
  ASSERT_TRUE(share.has_value());
  EXPECT_NEAR(*share, 0.5, 0.005);
}

TEST(MarkCounts, PatchesAreCountedAndThoseRemovedAreNot) {
  const auto counts = countMarks({patch(box(0, 0, 100, 100)),
                                  patch(box(100, 0, 200, 100), store::Stage::Dead),
                                  patch(box(300, 0, 400, 100), store::Stage::Removed)},
                                 {outlineOf("B0"), outlineOf("B1")});
  ASSERT_EQ(counts.size(), 1U);
  EXPECT_EQ(counts[0].patches, 2);
  EXPECT_EQ(counts[0].dots, 0);
  EXPECT_EQ(counts[0].removed, 1);
  ASSERT_TRUE(counts[0].patchShare.has_value());
  EXPECT_NEAR(*counts[0].patchShare, 0.5, 0.005);
}

TEST(MarkCounts, AShareIsOnlyKnownWhereTheBranchHasAnOutline) {
  EXPECT_FALSE(countMarks({patch(box(0, 0, 9, 9))}, {outlineOf("B0")})[0].patchShare.has_value());
  EXPECT_FALSE(shareInside({}, outlineOf("B1").shape).has_value());
  EXPECT_FALSE(shareInside({box(0, 0, 9, 9)}, {}).has_value());
}

}  // namespace
}  // namespace edamori::work
