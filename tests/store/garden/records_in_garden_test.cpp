// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/store/sample_records.h"

#include <limits>

namespace edamori::store {

using namespace edamori::store::test;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

namespace {

constexpr double kNotANumber = std::numeric_limits<double>::quiet_NaN();

class RecordsInGarden : public ::testing::Test {
 protected:
  void SetUp() override { ASSERT_THAT(records.putAll(garden), isOk()); }

  TemporaryFolder temporary;
  Garden garden = newGarden(temporary / "g");
  Records records;
};

template <typename Record>
std::vector<decltype(Record::id)> idsOf(const Result<std::vector<Record>>& found) {
  EXPECT_THAT(found, isOk());
  std::vector<decltype(Record::id)> ids;
  for (const Record& record : found ? *found : std::vector<Record>{}) {
    ids.push_back(record.id);
  }
  return ids;
}

// Put, found the same, changed, found changed, removed, not found, restored, found.
template <typename Record>
void expectFullLife(Garden& garden, const Record& record, const Record& changed) {
  EXPECT_THAT(garden.find(record.id), isOkAnd(std::optional{record}));
  ASSERT_THAT(garden.put(changed), isOk());
  EXPECT_THAT(garden.find(record.id), isOkAnd(std::optional{changed}));
  ASSERT_THAT(garden.remove(record.id), isOk());
  EXPECT_THAT(garden.find(record.id), isOkAnd(std::optional<Record>{}));
  EXPECT_THAT(garden.remove(record.id), isOk()) << "twice is no error";
  ASSERT_THAT(garden.restore(record.id), isOk());
  EXPECT_THAT(garden.find(record.id), isOkAnd(std::optional{changed}));
  EXPECT_THAT(garden.restore(record.id), failsWith(ErrorCode::InvalidArgument));
}

template <typename Record>
Record with(Record record, const std::function<void(Record&)>& change) {
  change(record);
  return record;
}

}  // namespace

TEST_F(RecordsInGarden, LiveAndComeBackWhole) {
  const auto noteChange = [](auto& record) { record.note = "changed"; };
  expectFullLife(garden, records.tree, with<Tree>(records.tree, noteChange));
  expectFullLife(
      garden, records.branch, with<Branch>(records.branch, [](Branch& b) { b.name = "changed"; }));
  expectFullLife(garden, records.after, with<Photo>(records.after, noteChange));
  expectFullLife(
      garden, records.outline, with<OutlineRecord>(records.outline, [](OutlineRecord& o) {
        o.carriedFrom.reset();
        o.residualPx.reset();
        o.confirmed = true;
        o.shape.holes.clear();
      }));
  expectFullLife(garden, records.dot, with<Mark>(records.dot, noteChange));
  expectFullLife(garden, records.patch, with<Mark>(records.patch, noteChange));
  expectFullLife(
      garden, records.measurement, with<Measurement>(records.measurement, [](Measurement& m) {
        m.baselinePhoto.reset();
        m.cautions.clear();
        m.branch = {};
        m.outline = {};
        m.hintMask = "hints/1.png";
      }));
  expectFullLife(garden, records.treatment, with<Treatment>(records.treatment, [](Treatment& t) {
                   t.reentryHours.reset();
                   t.doneAt = {};
                 }));
  expectFullLife(garden, records.recheck, with<Recheck>(records.recheck, [](Recheck& r) {
                   r.doneAt.reset();
                 }));
  expectFullLife(garden, records.note, with<Note>(records.note, [](Note& n) { n.text = ""; }));
  expectFullLife(
      garden, records.pair, with<PhotoPair>(records.pair, [](PhotoPair& p) { p.branch = {}; }));
  expectFullLife(garden, records.look, with<LearnedLook>(records.look, [](LearnedLook& l) {
                   l.outline = {};
                   l.photos.clear();
                 }));
  const Owner other{.id = OwnerId::create(), .name = "B", .contact = "", .note = ""};
  ASSERT_THAT(garden.put(other), isOk());
  expectFullLife(garden, other, with<Owner>(other, noteChange));
}

TEST_F(RecordsInGarden, RulersAndHintsLiveWithTheirPhoto) {
  const Ruler ruler{.id = RulerId::create(),
                    .photo = records.after.id,
                    .from = {10.5, 1.0 / 3.0},
                    .to = {200, 40},
                    .lengthMm = 25.4,
                    .clickPx = 0.75};
  const HintStroke stroke{.id = HintStrokeId::create(),
                          .photo = records.after.id,
                          .kind = HintKind::NotFoliage,
                          .radiusPx = 12.5,
                          .points = {{1, 2}}};
  ASSERT_THAT(garden.put(ruler), isOk());
  ASSERT_THAT(garden.put(stroke), isOk());
  expectFullLife(garden, ruler, with<Ruler>(ruler, [](Ruler& r) { r.lengthMm = 30; }));
  expectFullLife(
      garden, stroke, with<HintStroke>(stroke, [](HintStroke& h) { h.kind = HintKind::Spot; }));
  ASSERT_THAT(garden.remove(records.after.id), isOk());
  EXPECT_THAT(garden.rulers(records.after.id), isOkAnd(IsEmpty()));
  EXPECT_THAT(garden.hintStrokes(records.after.id), isOkAnd(IsEmpty()));
  ASSERT_THAT(garden.restore(records.after.id), isOk());
  EXPECT_THAT(garden.rulers(records.after.id), isOkAnd(::testing::SizeIs(1)));
  EXPECT_THAT(garden.hintStrokes(records.after.id), isOkAnd(::testing::SizeIs(1)));

  Ruler flat = ruler;
  flat.to = flat.from;
  EXPECT_THAT(garden.put(flat), failsWith(ErrorCode::InvalidArgument));
  flat = ruler;
  flat.lengthMm = kNotANumber;
  EXPECT_THAT(garden.put(flat), failsWith(ErrorCode::InvalidArgument));
  HintStroke thin = stroke;
  thin.radiusPx = 0;
  EXPECT_THAT(garden.put(thin), failsWith(ErrorCode::InvalidArgument));
  thin = stroke;
  thin.points.clear();
  EXPECT_THAT(garden.put(thin), failsWith(ErrorCode::InvalidArgument));
}

TEST_F(RecordsInGarden, HelpWithAPairIsKeptForTheBranchAndGoesWithItsPhotos) {
  const PairHelp help{.id = PairHelpId::create(),
                      .branch = records.branch.id,
                      .before = records.before.id,
                      .after = records.after.id,
                      .pointsBefore = {{1.0 / 3.0, 2}, {300, 400.5}},
                      .pointsAfter = {{10, 20}, {310, 1e-7}},
                      .outlineAfter = {{0, 0}, {10, 0}, {0, 10.25}},
                      .holesAfter = {{{1, 1}, {2, 1}, {1, 2}}}};
  const auto found = [&] {
    return garden.pairHelp(records.branch.id, records.before.id, records.after.id);
  };
  EXPECT_THAT(found(), isOkAnd(std::optional<PairHelp>{}));
  ASSERT_THAT(garden.put(help), isOk());
  EXPECT_THAT(found(), isOkAnd(std::optional{help}));
  EXPECT_THAT(garden.pairHelp(records.branch.id, records.after.id, records.before.id),
              isOkAnd(std::optional<PairHelp>{}))
      << "the other way round is another pair";
  expectFullLife(garden, help, with<PairHelp>(help, [](PairHelp& h) {
                   h.outlineAfter.clear();
                   h.holesAfter.clear();
                 }));
  ASSERT_THAT(garden.remove(records.after.id), isOk());
  EXPECT_THAT(found(), isOkAnd(std::optional<PairHelp>{}));
  ASSERT_THAT(garden.restore(records.after.id), isOk());
  EXPECT_TRUE(found()->has_value());

  const auto refused = [&](const std::function<void(PairHelp&)>& change) {
    EXPECT_THAT(garden.put(with<PairHelp>(help, change)), failsWith(ErrorCode::InvalidArgument));
  };
  refused([](PairHelp& h) { h.after = h.before; });
  refused([](PairHelp& h) { h.pointsAfter.pop_back(); });
  refused([](PairHelp& h) {
    h.pointsBefore.resize(1);
    h.pointsAfter.resize(1);
  });
  refused([](PairHelp& h) {
    h.pointsBefore.resize(5);
    h.pointsAfter.resize(5);
  });
  refused([](PairHelp& h) { h.pointsAfter[0].x = kNotANumber; });
  refused([](PairHelp& h) { h.outlineAfter.resize(2); });
}

TEST_F(RecordsInGarden, RejectedCandidatesLiveWithTheirPhoto) {
  const RejectedCandidate rejected{.id = RejectedCandidateId::create(),
                                   .photo = records.after.id,
                                   .finding = Finding::ScaleInsect,
                                   .centre = {100.25, 1.0 / 3.0},
                                   .radiusPx = 7.5};
  ASSERT_THAT(garden.put(rejected), isOk());
  expectFullLife(garden, rejected, with<RejectedCandidate>(rejected, [](RejectedCandidate& r) {
                   r.finding = Finding::Aphids;
                 }));
  EXPECT_THAT(garden.rejectedCandidates(records.before.id), isOkAnd(IsEmpty()));
  ASSERT_THAT(garden.remove(records.after.id), isOk());
  EXPECT_THAT(garden.rejectedCandidates(records.after.id), isOkAnd(IsEmpty()));
  ASSERT_THAT(garden.restore(records.after.id), isOk());
  EXPECT_THAT(garden.rejectedCandidates(records.after.id), isOkAnd(::testing::SizeIs(1)));

  RejectedCandidate nowhere = rejected;
  nowhere.radiusPx = 0;
  EXPECT_THAT(garden.put(nowhere), failsWith(ErrorCode::InvalidArgument));
  nowhere = rejected;
  nowhere.centre.x = kNotANumber;
  EXPECT_THAT(garden.put(nowhere), failsWith(ErrorCode::InvalidArgument));
  nowhere = rejected;
  nowhere.photo = {};
  EXPECT_THAT(garden.put(nowhere), failsWith(ErrorCode::InvalidArgument));
}

TEST_F(RecordsInGarden, StepsOfWorkAreKeptByNumberAndANewOneForgetsTheLaterOnes) {
  const auto step = [this](int number) {
    return WorkStep{.photo = records.after.id,
                    .number = number,
                    .what = "Set dot " + std::to_string(number),
                    .isDone = true,
                    .changes = R"({"é": 1})"};
  };
  for (const int number : {1, 2, 3}) {
    ASSERT_THAT(garden.putWorkStep(step(number)), isOk());
  }
  WorkStep undone = step(2);
  undone.isDone = false;
  ASSERT_THAT(garden.updateWorkStep(undone), isOk());
  EXPECT_THAT(garden.workSteps(records.after.id), isOkAnd(ElementsAre(step(1), undone, step(3))));
  ASSERT_THAT(garden.putWorkStep(step(2)), isOk());
  EXPECT_THAT(garden.workSteps(records.after.id), isOkAnd(ElementsAre(step(1), step(2))));
  EXPECT_THAT(garden.workSteps(records.before.id), isOkAnd(IsEmpty()));
  ASSERT_THAT(garden.forgetWorkSteps(records.after.id, 1), isOk());
  EXPECT_THAT(garden.workSteps(records.after.id), isOkAnd(IsEmpty()));
  EXPECT_THAT(garden.putWorkStep(step(0)), failsWith(ErrorCode::InvalidArgument));
}

TEST_F(RecordsInGarden, KeepTextOfAnyKind) {
  Note odd = records.note;
  odd.id = NoteId::create();
  odd.text = std::string("zero \0 inside", 13) + " 🌲 '); DROP TABLE tree; --";
  ASSERT_THAT(garden.put(odd), isOk());
  EXPECT_THAT(garden.find(odd.id), isOkAnd(std::optional{odd}));
}

TEST_F(RecordsInGarden, AreFoundByTagAndHash) {
  EXPECT_THAT(garden.findTreeByTag("J-1"), isOkAnd(std::optional{records.tree}));
  EXPECT_THAT(garden.findTreeByTag("j-1"), isOkAnd(std::optional<Tree>{}));
  EXPECT_THAT(garden.findPhotoByHash(hashOf('b')), isOkAnd(std::optional{records.after}));
  EXPECT_THAT(garden.findPhotoByHash(hashOf('c')), isOkAnd(std::optional<Photo>{}));
  ASSERT_THAT(garden.remove(records.tree.id), isOk());
  EXPECT_THAT(garden.findTreeByTag("J-1"), isOkAnd(std::optional<Tree>{}));
  EXPECT_THAT(garden.findPhotoByHash(hashOf('b')), isOkAnd(std::optional<Photo>{}));
}

TEST_F(RecordsInGarden, RefuseAnEmptyOrForeignId) {
  Tree tree = treeWithTag("X");
  tree.id = {};
  EXPECT_THAT(garden.put(tree), failsWith(ErrorCode::InvalidArgument));
  tree.id.text = "7";
  EXPECT_THAT(garden.put(tree), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(garden.remove(TreeId::create()), failsWith(ErrorCode::InvalidArgument));
}

TEST_F(RecordsInGarden, RefuseATagThatIsEmptyOrTaken) {
  EXPECT_THAT(garden.put(treeWithTag(" ")), failsWith(ErrorCode::InvalidArgument));
  const auto repeated = garden.put(treeWithTag("J-1"));
  ASSERT_THAT(repeated, failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(repeated.error().message, HasSubstr("\"J-1\""));
  EXPECT_THAT(garden.put(records.tree), isOk()) << "its own tag is no conflict";
  ASSERT_THAT(garden.remove(records.tree.id), isOk());
  EXPECT_THAT(garden.put(treeWithTag("J-1")), isOk()) << "a tag in the bin is free";
}

TEST_F(RecordsInGarden, RefuseABranchNameThatIsTakenOnItsTree) {
  EXPECT_THAT(garden.put(branchOf(records.tree, "left 1")), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(garden.put(branchOf(records.tree, "")), failsWith(ErrorCode::InvalidArgument));
  const Tree other = treeWithTag("J-2");
  ASSERT_THAT(garden.put(other), isOk());
  EXPECT_THAT(garden.put(branchOf(other, "left 1")), isOk());
}

TEST_F(RecordsInGarden, RefuseTheSamePhotoTwice) {
  EXPECT_THAT(garden.put(photoOf(records.tree.id, 'a', "2026-01-01")),
              failsWith(ErrorCode::InvalidArgument));
}

TEST_F(RecordsInGarden, RefuseWhatBreaksARule) {
  const auto invalid = failsWith(ErrorCode::InvalidArgument);
  EXPECT_THAT(garden.put(with<Owner>(records.owner, [](Owner& o) { o.name = ""; })), invalid);
  EXPECT_THAT(garden.put(with<Photo>(records.after, [](Photo& p) { p.sha256 = "AB"; })), invalid);
  EXPECT_THAT(garden.put(with<Photo>(records.after, [](Photo& p) { p.exifOrientation = 9; })),
              invalid);
  EXPECT_THAT(garden.put(with<Photo>(records.after, [](Photo& p) { p.widthPx = -1; })), invalid);
  EXPECT_THAT(garden.put(with<OutlineRecord>(records.outline,
                                             [](OutlineRecord& o) { o.shape.polygon.pop_back(); })),
              invalid);
  EXPECT_THAT(garden.put(with<OutlineRecord>(
                  records.outline, [](OutlineRecord& o) { o.shape.holes[0][0].x = kNotANumber; })),
              invalid);
  EXPECT_THAT(
      garden.put(with<OutlineRecord>(records.outline, [](OutlineRecord& o) { o.branch = {}; })),
      invalid);
  EXPECT_THAT(garden.put(with<Mark>(records.dot, [](Mark& m) { m.count = -1; })), invalid);
  EXPECT_THAT(garden.put(with<Mark>(records.dot, [](Mark& m) { m.radiusPx = -0.1; })), invalid);
  EXPECT_THAT(garden.put(with<Mark>(records.dot, [](Mark& m) { m.centre.y = kNotANumber; })),
              invalid);
  EXPECT_THAT(garden.put(with<Mark>(records.patch, [](Mark& m) { m.patch.clear(); })), invalid);
  EXPECT_THAT(garden.put(with<Measurement>(records.measurement,
                                           [](Measurement& m) { m.estimate.low = 0.4; })),
              invalid);
  EXPECT_THAT(garden.put(with<Measurement>(records.measurement,
                                           [](Measurement& m) { m.estimate.high = kNotANumber; })),
              invalid);
  EXPECT_THAT(
      garden.put(with<Measurement>(records.measurement, [](Measurement& m) { m.figure = ""; })),
      invalid);
  EXPECT_THAT(garden.put(with<Measurement>(records.measurement,
                                           [](Measurement& m) { m.labelMask = "../x.png"; })),
              invalid);
  EXPECT_THAT(garden.put(with<Measurement>(records.measurement,
                                           [](Measurement& m) { m.labelMask = "/etc/x"; })),
              invalid);
  EXPECT_THAT(garden.put(with<Measurement>(records.measurement,
                                           [](Measurement& m) { m.hintMask = "../x.png"; })),
              invalid);
  EXPECT_THAT(garden.put(with<LearnedLook>(records.look, [](LearnedLook& l) { l.network = ""; })),
              invalid);
  EXPECT_THAT(garden.put(with<LearnedLook>(records.look, [](LearnedLook& l) { l.tree = {}; })),
              invalid);
  EXPECT_THAT(garden.put(with<LearnedLook>(records.look,
                                           [](LearnedLook& l) { l.photoSha256.pop_back(); })),
              invalid);
  EXPECT_THAT(garden.put(with<LearnedLook>(records.look,
                                           [](LearnedLook& l) { l.foliageWeights[1] = kNotANumber; })),
              invalid);
  EXPECT_THAT(
      garden.put(with<Treatment>(records.treatment, [](Treatment& t) { t.reentryHours = -1.0; })),
      invalid);
  EXPECT_THAT(garden.put(with<Treatment>(records.treatment, [](Treatment& t) { t.tree = {}; })),
              invalid);
  EXPECT_THAT(garden.put(with<Recheck>(
                  records.recheck, [](Recheck& r) { r.due = std::chrono::year{2026} / 2 / 30; })),
              invalid);
  EXPECT_THAT(garden.put(with<PhotoPair>(records.pair, [](PhotoPair& p) { p.after = p.before; })),
              invalid);
  EXPECT_THAT(garden.put(with<Note>(records.note, [](Note& n) { n.tree = {}; })), invalid);
  EXPECT_THAT(garden.find(records.measurement.id), isOkAnd(std::optional{records.measurement}));
}

TEST_F(RecordsInGarden, KeepWhatHintsTaughtForEachTreeInTheOrderItWasLearned) {
  const Tree other = treeWithTag("J-2");
  ASSERT_THAT(garden.put(other), isOk());
  LearnedLook later = records.look;
  later.id = LearnedLookId::create();
  LearnedLook elsewhere = later;
  elsewhere.id = LearnedLookId::create();
  elsewhere.tree = other.id;
  ASSERT_THAT(garden.put(elsewhere), isOk());
  ASSERT_THAT(garden.put(later), isOk());
  EXPECT_THAT(idsOf(garden.learnedLooks(records.tree.id)), ElementsAre(records.look.id, later.id));
  EXPECT_THAT(idsOf(garden.learnedLooks(other.id)), ElementsAre(elsewhere.id));
  ASSERT_THAT(garden.remove(records.look.id), isOk());
  EXPECT_THAT(idsOf(garden.learnedLooks(records.tree.id)), ElementsAre(later.id));
  ASSERT_THAT(garden.remove(records.outline.id), isOk());
  EXPECT_THAT(idsOf(garden.learnedLooks(records.tree.id)), ElementsAre(later.id))
      << "what was learned does not go with the outline it was learned on";
  ASSERT_THAT(garden.remove(other.id), isOk());
  EXPECT_THAT(idsOf(garden.learnedLooks(other.id)), IsEmpty());
  ASSERT_THAT(garden.restore(other.id), isOk());
  EXPECT_THAT(idsOf(garden.learnedLooks(other.id)), ElementsAre(elsewhere.id));
}

TEST_F(RecordsInGarden, RefuseWhatHangsOnNothing) {
  const auto missing =
      garden.put(with<Mark>(records.dot, [](Mark& m) { m.photo = PhotoId::create(); }));
  ASSERT_THAT(missing, failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(missing.error().message, HasSubstr("the photo of this mark is not in this garden"));
  ASSERT_THAT(garden.remove(records.after.id), isOk());
  Mark late = records.dot;
  late.id = MarkId::create();
  const auto binned = garden.put(late);
  ASSERT_THAT(binned, failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(binned.error().message, HasSubstr("in the bin"));
}

TEST_F(RecordsInGarden, PutTakesARecordOutOfTheBin) {
  ASSERT_THAT(garden.remove(records.note.id), isOk());
  ASSERT_THAT(garden.put(records.note), isOk());
  EXPECT_THAT(garden.find(records.note.id), isOkAnd(std::optional{records.note}));
  EXPECT_THAT(garden.restore(records.note.id), failsWith(ErrorCode::InvalidArgument));
}

TEST_F(RecordsInGarden, AreListedInTheStatedOrder) {
  const Tree second = treeWithTag("A-2");
  ASSERT_THAT(garden.put(second), isOk());
  EXPECT_THAT(idsOf(garden.trees()), ElementsAre(second.id, records.tree.id));
  const Owner first{.id = OwnerId::create(), .name = "adam", .contact = "", .note = ""};
  ASSERT_THAT(garden.put(first), isOk());
  EXPECT_THAT(idsOf(garden.owners()), ElementsAre(first.id, records.owner.id));
  const Branch later = branchOf(records.tree, "b");
  const Branch early = branchOf(records.tree, "a");
  ASSERT_THAT(garden.put(later), isOk());
  ASSERT_THAT(garden.put(early), isOk());
  EXPECT_THAT(idsOf(garden.branches(records.tree.id)),
              ElementsAre(records.branch.id, early.id, later.id));
  EXPECT_THAT(idsOf(garden.branches(second.id)), IsEmpty());
}

TEST_F(RecordsInGarden, ListPhotosByTime) {
  const Photo unfiled = photoOf({}, 'c', "2025-12-31T23:59:59");
  const Photo unknown = photoOf({}, 'd', "");
  ASSERT_THAT(garden.put(unfiled), isOk());
  ASSERT_THAT(garden.put(unknown), isOk());
  EXPECT_THAT(idsOf(garden.photos(records.tree.id)),
              ElementsAre(records.before.id, records.after.id));
  EXPECT_THAT(idsOf(garden.unfiledPhotos()), ElementsAre(unknown.id, unfiled.id));
  EXPECT_THAT(idsOf(garden.allPhotos()),
              ElementsAre(unknown.id, records.before.id, unfiled.id, records.after.id));
}

TEST_F(RecordsInGarden, ListFindingsOfPhotosAndTrees) {
  OutlineRecord older = records.outline;
  older.id = OutlineId::create();
  older.photo = records.before.id;
  older.carriedFrom.reset();
  ASSERT_THAT(garden.put(older), isOk());
  EXPECT_THAT(idsOf(garden.outlines(records.branch.id)), ElementsAre(older.id, records.outline.id));
  EXPECT_THAT(idsOf(garden.outlines(records.after.id)), ElementsAre(records.outline.id));
  EXPECT_THAT(idsOf(garden.marks(records.after.id)), ElementsAre(records.dot.id, records.patch.id));
  Mark early = records.dot;
  early.id = MarkId::create();
  early.photo = records.before.id;
  ASSERT_THAT(garden.put(early), isOk());
  EXPECT_THAT(idsOf(garden.marksOfTree(records.tree.id)),
              ElementsAre(early.id, records.dot.id, records.patch.id));
  Measurement first = records.measurement;
  first.id = MeasurementId::create();
  first.madeAt = timeOf("2026-05-01");
  ASSERT_THAT(garden.put(first), isOk());
  EXPECT_THAT(idsOf(garden.measurements(records.after.id)),
              ElementsAre(first.id, records.measurement.id));
  Measurement ofOlderPhoto = records.measurement;
  ofOlderPhoto.id = MeasurementId::create();
  ofOlderPhoto.photo = records.before.id;
  ofOlderPhoto.baselinePhoto.reset();
  ASSERT_THAT(garden.put(ofOlderPhoto), isOk());
  EXPECT_THAT(idsOf(garden.measurementsOfTree(records.tree.id)),
              ElementsAre(ofOlderPhoto.id, first.id, records.measurement.id));
}

TEST_F(RecordsInGarden, ListWorkByDate) {
  Treatment earlier = records.treatment;
  earlier.id = TreatmentId::create();
  earlier.doneAt = timeOf("2025-01-01");
  ASSERT_THAT(garden.put(earlier), isOk());
  EXPECT_THAT(idsOf(garden.treatments(records.tree.id)),
              ElementsAre(earlier.id, records.treatment.id));
  Recheck open = records.recheck;
  open.id = RecheckId::create();
  open.due = std::chrono::year{2026} / 5 / 1;
  open.doneAt.reset();
  ASSERT_THAT(garden.put(open), isOk());
  EXPECT_THAT(idsOf(garden.rechecks(records.tree.id)), ElementsAre(open.id, records.recheck.id));
  EXPECT_THAT(idsOf(garden.openRechecks()), ElementsAre(open.id));
  Note earlierNote = records.note;
  earlierNote.id = NoteId::create();
  earlierNote.writtenAt = timeOf("2026-01-01");
  ASSERT_THAT(garden.put(earlierNote), isOk());
  EXPECT_THAT(idsOf(garden.notes(records.tree.id)), ElementsAre(earlierNote.id, records.note.id));
  PhotoPair reversed = records.pair;
  reversed.id = PairId::create();
  std::swap(reversed.before, reversed.after);
  ASSERT_THAT(garden.put(reversed), isOk());
  EXPECT_THAT(idsOf(garden.pairs(records.tree.id)), ElementsAre(reversed.id, records.pair.id));
}

}  // namespace edamori::store
