// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/store/sample_records.h"

namespace edamori::store {

using namespace edamori::store::test;
using ::testing::HasSubstr;

namespace {

class Bin : public ::testing::Test {
 protected:
  void SetUp() override { ASSERT_THAT(records.putAll(garden), isOk()); }

  template <typename TypedId>
  bool isThere(const TypedId& id) {
    const auto found = garden.find(id);
    EXPECT_THAT(found, isOk());
    return found && found->has_value();
  }

  TemporaryFolder temporary;
  Garden garden = newGarden(temporary / "g");
  Records records;
};

}  // namespace

TEST_F(Bin, TakesATreeWithAllThatHangsOnIt) {
  ASSERT_THAT(garden.remove(records.tree.id), isOk());
  EXPECT_FALSE(isThere(records.branch.id));
  EXPECT_FALSE(isThere(records.before.id));
  EXPECT_FALSE(isThere(records.after.id));
  EXPECT_FALSE(isThere(records.outline.id));
  EXPECT_FALSE(isThere(records.dot.id));
  EXPECT_FALSE(isThere(records.measurement.id));
  EXPECT_FALSE(isThere(records.treatment.id));
  EXPECT_FALSE(isThere(records.recheck.id));
  EXPECT_FALSE(isThere(records.note.id));
  EXPECT_FALSE(isThere(records.pair.id));
  EXPECT_TRUE(isThere(records.owner.id));
  ASSERT_THAT(garden.restore(records.tree.id), isOk());
  EXPECT_THAT(garden.find(records.measurement.id), isOkAnd(std::optional{records.measurement}));
  EXPECT_THAT(garden.find(records.outline.id), isOkAnd(std::optional{records.outline}));
  EXPECT_THAT(garden.find(records.pair.id), isOkAnd(std::optional{records.pair}));
  EXPECT_TRUE(isThere(records.note.id));
  EXPECT_TRUE(isThere(records.recheck.id));
}

TEST_F(Bin, NamesTheTreesInIt) {
  EXPECT_THAT(garden.removedTrees(), isOkAnd(::testing::IsEmpty()));
  Tree other = records.tree;
  other.id = TreeId::create();
  other.tag = "LATER";
  ASSERT_THAT(garden.put(other), isOk());
  ASSERT_THAT(garden.remove(records.tree.id), isOk());
  ASSERT_THAT(garden.remove(other.id), isOk());
  const auto removed = garden.removedTrees();
  ASSERT_THAT(removed, isOkAnd(::testing::SizeIs(2)));
  EXPECT_THAT(*removed, ::testing::UnorderedElementsAre(records.tree, other));  // within one second either may be first
  ASSERT_THAT(garden.restore(records.tree.id), isOk());
  EXPECT_THAT(garden.removedTrees(), isOkAnd(::testing::ElementsAre(other)));
}

TEST_F(Bin, TakesAPhotoWithItsFindingsAndPairsAlone) {
  ASSERT_THAT(garden.remove(records.after.id), isOk());
  EXPECT_FALSE(isThere(records.outline.id));
  EXPECT_FALSE(isThere(records.dot.id));
  EXPECT_FALSE(isThere(records.patch.id));
  EXPECT_FALSE(isThere(records.measurement.id));
  EXPECT_FALSE(isThere(records.pair.id));
  EXPECT_TRUE(isThere(records.before.id));
  EXPECT_TRUE(isThere(records.branch.id));
}

TEST_F(Bin, TakesChangesSinceAPhotoButNotOutlinesCarriedFromIt) {
  ASSERT_THAT(garden.remove(records.before.id), isOk());
  EXPECT_FALSE(isThere(records.measurement.id));
  EXPECT_TRUE(isThere(records.outline.id));
  EXPECT_THAT(garden.put(records.outline), isOk()) << "where it came from may lie in the bin";
}

TEST_F(Bin, TakesABranchWithWhatIsSaidOfIt) {
  ASSERT_THAT(garden.remove(records.branch.id), isOk());
  EXPECT_FALSE(isThere(records.outline.id));
  EXPECT_FALSE(isThere(records.dot.id));
  EXPECT_FALSE(isThere(records.measurement.id));
  EXPECT_FALSE(isThere(records.treatment.id));
  EXPECT_TRUE(isThere(records.patch.id)) << "it lies on no branch";
  EXPECT_TRUE(isThere(records.after.id));
}

TEST_F(Bin, TakesAnOutlineWithItsMeasurements) {
  ASSERT_THAT(garden.remove(records.outline.id), isOk());
  EXPECT_FALSE(isThere(records.measurement.id));
  EXPECT_TRUE(isThere(records.dot.id));
}

TEST_F(Bin, GivesBackExactlyWhatWentInTogether) {
  ASSERT_THAT(garden.remove(records.dot.id), isOk());
  ASSERT_THAT(garden.remove(records.tree.id), isOk());
  ASSERT_THAT(garden.restore(records.tree.id), isOk());
  EXPECT_TRUE(isThere(records.patch.id));
  EXPECT_FALSE(isThere(records.dot.id)) << "it was removed before, on its own";
  ASSERT_THAT(garden.restore(records.dot.id), isOk());
  EXPECT_TRUE(isThere(records.dot.id));
}

TEST_F(Bin, GivesBackTheGroupByAnyMember) {
  ASSERT_THAT(garden.remove(records.after.id), isOk());
  ASSERT_THAT(garden.restore(records.dot.id), isOk());
  EXPECT_TRUE(isThere(records.after.id));
  EXPECT_TRUE(isThere(records.outline.id));
}

TEST_F(Bin, GivesNothingBackToAParentThatStaysInIt) {
  ASSERT_THAT(garden.remove(records.dot.id), isOk());
  ASSERT_THAT(garden.remove(records.after.id), isOk());
  const auto restored = garden.restore(records.dot.id);
  ASSERT_THAT(restored, failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(restored.error().message, HasSubstr("the photo of this mark is in the bin too"));
  EXPECT_FALSE(isThere(records.dot.id));
}

TEST_F(Bin, GivesNoTreeBackWhoseTagIsTakenByNow) {
  ASSERT_THAT(garden.remove(records.tree.id), isOk());
  ASSERT_THAT(garden.put(treeWithTag("J-1")), isOk());
  const auto restored = garden.restore(records.tree.id);
  ASSERT_THAT(restored, failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(restored.error().message, HasSubstr("\"J-1\""));
  EXPECT_FALSE(isThere(records.tree.id));
  EXPECT_FALSE(isThere(records.branch.id)) << "nothing of the group came back";
}

TEST_F(Bin, GivesNoBranchOrPhotoBackThatIsThereAgain) {
  ASSERT_THAT(garden.remove(records.branch.id), isOk());
  ASSERT_THAT(garden.put(branchOf(records.tree, records.branch.name)), isOk());
  EXPECT_THAT(garden.restore(records.branch.id), failsWith(ErrorCode::InvalidArgument));
  ASSERT_THAT(garden.remove(records.before.id), isOk());
  ASSERT_THAT(garden.put(photoOf({}, 'a', "2026-01-01")), isOk());
  EXPECT_THAT(garden.restore(records.before.id), failsWith(ErrorCode::InvalidArgument));
}

TEST_F(Bin, TakesNoOwnerWhoStillHasTrees) {
  const auto removed = garden.remove(records.owner.id);
  ASSERT_THAT(removed, failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(removed.error().message, HasSubstr("1 tree here (J-1)"));
  ASSERT_THAT(garden.remove(records.tree.id), isOk());
  ASSERT_THAT(garden.remove(records.owner.id), isOk());
  EXPECT_THAT(garden.restore(records.tree.id), failsWith(ErrorCode::InvalidArgument));
  ASSERT_THAT(garden.restore(records.owner.id), isOk());
  EXPECT_THAT(garden.restore(records.tree.id), isOk());
}

}  // namespace edamori::store
