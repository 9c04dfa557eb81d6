// SPDX-License-Identifier: GPL-3.0-or-later
// Outlines proposed on other photos of a tree: a drawn scene, turned and enlarged by known amounts.
#include "app/work/carry_outlines.h"

#include "app/work/carry_marks.h"
#include "app/work/import.h"
#include "tests/support/matchers.h"
#include "tests/support/temporary_folder.h"
#include "tests/vision/align/pair_maker.h"
#include "vision/load/load.h"

#include <cmath>
#include <memory>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace edamori::test {
namespace {

using ::testing::IsEmpty;
using ::testing::SizeIs;

constexpr int kWidth = 1200, kHeight = 900;

class CarryOutlines : public ::testing::Test {
 protected:
  CarryOutlines()
      : m_garden(std::make_unique<store::Garden>(*store::Garden::create(m_folder / "garden"))) {
    m_tree.id = store::TreeId::create();
    m_tree.tag = "T-1";
    EXPECT_THAT(m_garden->put(m_tree), isOk());
    m_left = branch("first left", 0);
    m_right = branch("first right", 1);
    m_first = import("a.jpg", drawnScene(kWidth, kHeight, 5), "2025-04-20T09:00:00");
  }
  store::BranchId branch(const char* name, int order) {
    const store::Branch made{.id = store::BranchId::create(),
                             .tree = m_tree.id,
                             .kind = store::BranchKind::Branch,
                             .name = name,
                             .order = order};
    EXPECT_THAT(m_garden->put(made), isOk());
    return made.id;
  }
  store::PhotoId import(const char* name, const RgbImage& image, const char* date) {
    EXPECT_THAT(vision::savePicture(m_folder / name, image), isOk());
    const auto report =
        work::importPhotos(*m_garden, {.paths = {m_folder / name}, .tree = m_tree.id});
    EXPECT_THAT(report, isOk());
    store::Photo photo = report->takenIn.at(0).photo;
    photo.takenAt = *store::parseLocalTime(date);
    photo.dateSource = store::DateSource::Edited;
    EXPECT_THAT(m_garden->put(photo), isOk());
    return photo.id;
  }
  store::PhotoId importAgain(const char* name, const char* date) {
    return import(
        name,
        photographedAgain(drawnScene(kWidth, kHeight, 5), m_truth, {.gain = 0.9, .noise = 2}),
        date);
  }
  store::OutlineId outline(const store::PhotoId& photo,
                           const store::BranchId& branch,
                           double left,
                           bool isConfirmed) {
    const store::OutlineRecord record{
        .id = store::OutlineId::create(),
        .photo = photo,
        .branch = branch,
        .shape = {.polygon = {{left, 250}, {left + 300, 250}, {left + 300, 600}, {left, 600}},
                  .holes = {}},
        .carriedFrom = {},
        .residualPx = {},
        .confirmed = isConfirmed};
    EXPECT_THAT(m_garden->put(record), isOk());
    return record.id;
  }

  TemporaryFolder m_folder;
  std::unique_ptr<store::Garden> m_garden;
  store::Tree m_tree;
  store::BranchId m_left, m_right;
  store::PhotoId m_first;
  Homography m_truth = homographyOf({.rollDeg = 5, .scale = 1.1}, kWidth, kHeight);
};

TEST_F(CarryOutlines, ProposesThemWhereTheBranchesWent) {
  outline(m_first, m_left, 250, true);
  outline(m_first, m_right, 650, true);
  const auto later = importAgain("b.jpg", "2026-04-25T09:00:00");
  const auto proposed = work::proposeOutlines(*m_garden, later);
  // Import has carried them already, so that nothing is left to propose.
  ASSERT_THAT(proposed, isOk());
  EXPECT_FALSE(proposed->from.has_value());
  const auto carried = m_garden->outlines(later);
  ASSERT_THAT(carried, isOk());
  ASSERT_THAT(*carried, SizeIs(2));
  for (const auto& one : *carried) {
    EXPECT_FALSE(one.confirmed);
    EXPECT_EQ(one.carriedFrom, m_first);
    ASSERT_TRUE(one.residualPx.has_value());
    const double left = one.branch == m_left ? 250 : 650;
    const PointPx expected = mapped(m_truth, PointPx{.x = left, .y = 250});
    EXPECT_NEAR(one.shape.polygon[0].x, expected.x, 0.003 * kWidth);
    EXPECT_NEAR(one.shape.polygon[0].y, expected.y, 0.003 * kWidth);
  }
}

TEST_F(CarryOutlines, AreLookedForOnEarlierPhotosToo) {
  const auto earlier = importAgain("b.jpg", "2024-04-25T09:00:00");
  outline(m_first, m_left, 250, true);
  const auto proposed = work::proposeOutlines(*m_garden, earlier);
  ASSERT_THAT(proposed, isOk());
  EXPECT_EQ(proposed->from, m_first);
  EXPECT_THAT(proposed->outlines, SizeIs(1));
  EXPECT_EQ(proposed->guesses(), 0);
  EXPECT_THAT(*m_garden->outlines(earlier), IsEmpty()) << "proposals are not stored";
}

TEST_F(CarryOutlines, LeaveAloneWhatIsOutlinedAndWhatNobodyConfirmed) {
  const auto later = importAgain("b.jpg", "2026-04-25T09:00:00");
  outline(m_first, m_left, 250, true);
  outline(m_first, m_right, 650, false);
  outline(later, m_left, 300, true);
  const auto proposed = work::proposeOutlines(*m_garden, later);
  ASSERT_THAT(proposed, isOk());
  EXPECT_FALSE(proposed->from.has_value());
  EXPECT_THAT(proposed->outlines, IsEmpty());
}

TEST_F(CarryOutlines, OfAnotherSceneAreNoMoreThanALikelyPlace) {
  outline(m_first, m_left, 250, true);
  const auto other = import("c.jpg", drawnScene(kWidth, kHeight, 31), "2026-04-25T09:00:00");
  const auto carried = m_garden->outlines(other);
  ASSERT_THAT(carried, isOk());
  for (const auto& one : *carried) {
    EXPECT_FALSE(one.residualPx.has_value());
    EXPECT_FALSE(one.confirmed);
  }
}

TEST_F(CarryOutlines, CountsPhotosOnWhichNothingWasFoundAgain) {
  const auto later = importAgain("b.jpg", "2026-04-25T09:00:00");
  const auto blank = import("d.png", RgbImage(kWidth, kHeight, 90), "2026-04-26T09:00:00");
  outline(m_first, m_left, 250, true);
  const auto tally = work::carryOutlines(*m_garden, {later, blank});
  ASSERT_THAT(tally, isOk());
  EXPECT_EQ(tally->outlines, 1);
  EXPECT_EQ(tally->photosWithoutAny, 1);
  EXPECT_THAT(*m_garden->outlines(later), SizeIs(1));
  EXPECT_THAT(*m_garden->outlines(blank), IsEmpty());
}

TEST_F(CarryOutlines, EndWhenThePersonSaysSo) {
  const auto later = importAgain("b.jpg", "2026-04-25T09:00:00");
  outline(m_first, m_left, 250, true);
  const auto tally = work::carryOutlines(*m_garden, {later}, [](int) { return false; });
  ASSERT_THAT(tally, isOk());
  EXPECT_EQ(tally->outlines, 0);
  EXPECT_THAT(*m_garden->outlines(later), IsEmpty());
}

TEST_F(CarryOutlines, MarksFollowTheOutlineOfTheirBranch) {
  const auto later = importAgain("b.jpg", "2026-04-25T09:00:00");
  outline(m_first, m_left, 250, true);
  store::Mark mark;
  mark.id = store::MarkId::create();
  mark.photo = m_first;
  mark.branch = m_left;
  mark.centre = {400, 400};
  const auto carried = work::carryMarks(*m_garden, m_first, later, {mark});
  ASSERT_THAT(carried, isOk());
  ASSERT_THAT(carried->marks, SizeIs(1));
  const PointPx expected = mapped(m_truth, mark.centre);
  EXPECT_NEAR(carried->marks[0].centre.x, expected.x, 0.003 * kWidth);
  EXPECT_NEAR(carried->marks[0].centre.y, expected.y, 0.003 * kWidth);
}

}  // namespace
}  // namespace edamori::test
