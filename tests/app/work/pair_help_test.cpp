// SPDX-License-Identifier: GPL-3.0-or-later
// Help with a pair over two photos that the program alone refuses: drawn leaves without anything
// else to hold on to, moved by a known step.
#include "app/work/pair_help.h"

#include "app/work/figure_inputs.h"
#include "app/work/measuring.h"
#include "app/work/remeasure.h"
#include "tests/app/work/leafy_garden.h"

namespace edamori::test {
namespace {

using ::testing::Contains;
using ::testing::Field;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

constexpr double kShiftPx = 40.0;

class PairHelp : public ::testing::Test {
 protected:
  PairHelp() {
    // A leaf on plain ground, and the same leaf some px to the right.
    EXPECT_THAT(vision::savePicture(m_folder / "earlier.png", draw(leaf(0))), isOk());
    EXPECT_THAT(vision::savePicture(m_folder / "later.png", draw(leaf(kShiftPx))), isOk());
    auto made = store::Garden::create(m_folder / "garden");
    EXPECT_THAT(made, isOk());
    m_garden = std::make_unique<store::Garden>(std::move(*made));
    store::Tree tree;
    tree.id = store::TreeId::create();
    tree.tag = "T-1";
    EXPECT_THAT(m_garden->put(tree), isOk());
    m_pair.branch = store::BranchId::create();
    EXPECT_THAT(m_garden->put(store::Branch{.id = m_pair.branch,
                                            .tree = tree.id,
                                            .kind = store::BranchKind::Branch,
                                            .name = "first left",
                                            .order = 0}),
                isOk());
    m_pair.before = import(tree.id, "earlier.png");
    m_pair.after = import(tree.id, "later.png");
    m_outline.id = store::OutlineId::create();
    m_outline.photo = m_pair.before;
    m_outline.branch = m_pair.branch;
    m_outline.shape.polygon = {{120, 100}, {680, 100}, {680, 500}, {120, 500}};
    EXPECT_THAT(m_garden->put(m_outline), isOk());
  }

  static DrawnLeaf leaf(double shiftPx) {
    DrawnLeaf drawn;
    drawn.leaf.x += shiftPx;
    return drawn;
  }
  store::PhotoId import(const store::TreeId& tree, const char* name) {
    const auto report = work::importPhotos(*m_garden, {.paths = {m_folder / name}, .tree = tree});
    EXPECT_THAT(report, isOk());
    return report->takenIn.at(0).photo.id;
  }
  // Two places that are the same, by the step that the leaf was moved.
  static std::vector<vision::PointPairPx> twoPlaces() {
    return {{.before = {200, 200}, .after = {200 + kShiftPx, 200}},
            {.before = {600, 420}, .after = {600 + kShiftPx, 420}}};
  }
  Result<work::StoredComparison> compare() {
    return work::comparePhotos(*m_garden, m_pair.branch, m_pair.before, m_pair.after);
  }
  std::optional<store::PairHelp> kept() {
    return *m_garden->pairHelp(m_pair.branch, m_pair.before, m_pair.after);
  }

  TemporaryFolder m_folder;
  std::unique_ptr<store::Garden> m_garden;
  work::BranchPair m_pair;
  store::OutlineRecord m_outline;
};

TEST_F(PairHelp, PointsLayOnePhotoOnTheOtherFromThenOn) {
  ASSERT_THAT(work::keepPoints(*m_garden, m_pair, twoPlaces()), isOk());
  ASSERT_TRUE(kept().has_value());
  EXPECT_THAT(kept()->pointsBefore, SizeIs(2));
  const auto stored = compare();
  ASSERT_THAT(stored, isOk());
  ASSERT_TRUE(stored->comparison.aligned) << stored->comparison.refusal;
  const PointPx moved = mapped(stored->comparison.alignment.afterFromBefore, {.x = 400, .y = 300});
  EXPECT_NEAR(moved.x, 400 + kShiftPx, 1e-6);
  EXPECT_NEAR(moved.y, 300, 1e-6);
  EXPECT_THAT(stored->comparison.cautions, Contains(Field(&Caution::code, "points-by-hand")));
  ASSERT_FALSE(stored->measurements.empty());
  const auto inputs = work::inputsOf(stored->measurements.front().method);
  ASSERT_THAT(inputs, isOk());
  ASSERT_THAT(inputs->points, SizeIs(2)) << "the figure can be made again from its parameters";
  EXPECT_DOUBLE_EQ(inputs->points[1].after.x, 600 + kShiftPx);
  const auto again = work::remeasureGarden(*m_garden, {});
  ASSERT_THAT(again, isOk());
  EXPECT_EQ(again->drifted, 0);
  EXPECT_GT(again->agreed, 0);
}

TEST_F(PairHelp, PointsThatCannotBeAreNotKept) {
  EXPECT_THAT(work::keepPoints(*m_garden, m_pair, {twoPlaces().front()}),
              failsWith(ErrorCode::InvalidArgument));
  auto together = twoPlaces();
  together[1].before = together[0].before;
  EXPECT_THAT(work::keepPoints(*m_garden, m_pair, together), failsWith(ErrorCode::InvalidArgument));
  EXPECT_FALSE(kept().has_value());
}

TEST_F(PairHelp, PointsAreTakenBackAndForgotten) {
  const auto first = work::keepPoints(*m_garden, m_pair, twoPlaces());
  ASSERT_THAT(first, isOk());
  auto other = twoPlaces();
  other[0].after.y += 3;
  const auto second = work::keepPoints(*m_garden, m_pair, other);
  ASSERT_THAT(second, isOk());
  EXPECT_DOUBLE_EQ(kept()->pointsAfter[0].y, 203);
  ASSERT_THAT(work::takeBack(*m_garden, *second), isOk());
  EXPECT_DOUBLE_EQ(kept()->pointsAfter[0].y, 200);
  const auto forgotten = work::forgetPairHelp(*m_garden, m_pair);
  ASSERT_THAT(forgotten, isOk());
  EXPECT_FALSE(kept().has_value());
  ASSERT_THAT(work::takeBack(*m_garden, *forgotten), isOk());
  EXPECT_TRUE(kept().has_value());
  ASSERT_THAT(work::takeBack(*m_garden, *first), isOk());
  EXPECT_FALSE(kept().has_value());
}

TEST_F(PairHelp, AMovedOutlineIsConfirmedOnTheLaterPhotoAndMeasuredThere) {
  ASSERT_THAT(work::keepPoints(*m_garden, m_pair, twoPlaces()), isOk());
  Outline moved = m_outline.shape;
  for (PointPx& corner : moved.polygon) {
    corner.x += 50;
  }
  const auto before = work::keepOutlineAfter(*m_garden, m_pair, moved);
  ASSERT_THAT(before, isOk());
  const auto outlines = m_garden->outlines(m_pair.after);
  ASSERT_THAT(outlines, isOkAnd(SizeIs(1)));
  EXPECT_TRUE(outlines->front().confirmed);
  EXPECT_EQ(outlines->front().carriedFrom, m_pair.before);
  EXPECT_EQ(outlines->front().shape, moved);
  const auto stored = compare();
  ASSERT_THAT(stored, isOk());
  EXPECT_EQ(stored->comparison.outlineAfter, moved);
  ASSERT_THAT(work::takeBack(*m_garden, *before), isOk());
  EXPECT_THAT(m_garden->outlines(m_pair.after), isOkAnd(IsEmpty()));
  ASSERT_TRUE(kept().has_value()) << "the points were there before";
  EXPECT_TRUE(kept()->outlineAfter.empty());
}

TEST_F(PairHelp, AnOutlineDrawnByHandStaysAndTheMovedOneCountsForThePair) {
  store::OutlineRecord own;
  own.id = store::OutlineId::create();
  own.photo = m_pair.after;
  own.branch = m_pair.branch;
  own.shape.polygon = {{200, 150}, {500, 150}, {500, 450}};
  ASSERT_THAT(m_garden->put(own), isOk());
  ASSERT_THAT(work::keepPoints(*m_garden, m_pair, twoPlaces()), isOk());
  ASSERT_THAT(work::keepOutlineAfter(*m_garden, m_pair, m_outline.shape), isOk());
  EXPECT_THAT(m_garden->outlines(m_pair.after), isOkAnd(::testing::ElementsAre(own)));
  EXPECT_EQ(compare()->comparison.outlineAfter, m_outline.shape);
}

TEST_F(PairHelp, AnOutlineBesideThePhotoIsNotKept) {
  Outline away = m_outline.shape;
  for (PointPx& corner : away.polygon) {
    corner.x += 5000;
  }
  EXPECT_THAT(work::keepOutlineAfter(*m_garden, m_pair, away), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(m_garden->outlines(m_pair.after), isOkAnd(IsEmpty()));
  EXPECT_FALSE(kept().has_value());
}

TEST_F(PairHelp, AComparisonThatIsStoppedStoresNothing) {
  ASSERT_THAT(work::keepPoints(*m_garden, m_pair, twoPlaces()), isOk());
  std::vector<std::string> told;
  const auto stopped = work::comparePhotos(
      *m_garden, m_pair.branch, m_pair.before, m_pair.after, [&](const std::string& doing) {
        told.push_back(doing);
        return told.size() < 4;
      });
  EXPECT_THAT(stopped, failsWith(ErrorCode::Cancelled));
  EXPECT_THAT(told, SizeIs(4));
  EXPECT_THAT(m_garden->measurements(m_pair.after), isOkAnd(IsEmpty()));
}

}  // namespace
}  // namespace edamori::test
