// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/records/records.h"

#include "tests/support/matchers.h"

#include <gtest/gtest.h>

namespace edamori::store {

using test::failsWith;
using test::isOkAnd;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

TEST(Words, ComeBackAsTheValueTheyWereMadeOf) {
  using enum Finding;
  for (const Finding finding : {ScaleInsect, Aphids, NeedleBlight, LeafSpot, SprayScorch, Other}) {
    EXPECT_THAT(parseFinding(toText(finding)), isOkAnd(finding));
  }
  for (const View view : {View::Unknown,
                          View::Front,
                          View::Back,
                          View::Left,
                          View::Right,
                          View::Below,
                          View::CloseUp}) {
    EXPECT_THAT(parseView(toText(view)), isOkAnd(view));
  }
  for (const Stage stage : {Stage::Live, Stage::Dead, Stage::Removed}) {
    EXPECT_THAT(parseStage(toText(stage)), isOkAnd(stage));
  }
  for (const DateSource source : {DateSource::Camera, DateSource::Edited, DateSource::FileTime}) {
    EXPECT_THAT(parseDateSource(toText(source)), isOkAnd(source));
  }
  for (const BranchKind kind : {BranchKind::Branch,
                                BranchKind::Apex,
                                BranchKind::TrunkLine,
                                BranchKind::Fork,
                                BranchKind::SurfaceRoots}) {
    EXPECT_THAT(parseBranchKind(toText(kind)), isOkAnd(kind));
  }
  for (const TreatmentKind kind : {TreatmentKind::HandRemoval,
                                   TreatmentKind::Brushing,
                                   TreatmentKind::Plucking,
                                   TreatmentKind::Thinning,
                                   TreatmentKind::Spray,
                                   TreatmentKind::Other}) {
    EXPECT_THAT(parseTreatmentKind(toText(kind)), isOkAnd(kind));
  }
  for (const MarkKind kind : {MarkKind::Dot, MarkKind::Patch}) {
    EXPECT_THAT(parseMarkKind(toText(kind)), isOkAnd(kind));
  }
  for (const Subject subject : {Subject::Leaf, Subject::Needles}) {
    EXPECT_THAT(parseSubject(toText(subject)), isOkAnd(subject));
  }
}

// Stored in gardens: these words may never change.
TEST(Words, AreTheStoredOnes) {
  EXPECT_EQ(toText(BranchKind::TrunkLine), "trunk line");
  EXPECT_EQ(toText(BranchKind::SurfaceRoots), "surface roots");
  EXPECT_EQ(toText(DateSource::FileTime), "file time");
  EXPECT_EQ(toText(View::CloseUp), "close-up");
  EXPECT_EQ(toText(Finding::ScaleInsect), "scale insect");
  EXPECT_EQ(toText(TreatmentKind::HandRemoval), "hand removal");
  EXPECT_EQ(toText(Subject::Needles), "needles");
}

TEST(Words, NameTheUnknownOneAndTheKnownOnes) {
  const auto stage = parseStage("asleep");
  ASSERT_THAT(stage, failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(stage.error().message, HasSubstr("asleep"));
  EXPECT_THAT(stage.error().message, HasSubstr("live, dead, removed"));
  EXPECT_THAT(parseView("Front"), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(parseSubject(""), failsWith(ErrorCode::InvalidArgument));
}

// The fields are those of 7 CFR 110.3(a) and Regulation (EC) 1107/2009 Art. 67(1).
TEST(MissingFields, NamesAllThatASprayRecordLacks) {
  Treatment spray;
  spray.kind = TreatmentKind::Spray;
  EXPECT_THAT(missingFields(spray),
              ElementsAre("date",
                          "product",
                          "registration number",
                          "total amount",
                          "dose",
                          "area treated",
                          "place",
                          "who did it",
                          "certificate number",
                          "re-entry time from the label"));
}

TEST(MissingFields, IsEmptyForAWholeSprayRecord) {
  Treatment spray;
  spray.kind = TreatmentKind::Spray;
  spray.doneAt = *parseLocalTime("2026-05-20T07:30:00");
  spray.product = "Invented Oil";
  spray.registrationNumber = "000-00";
  spray.amount = "20 ml";
  spray.dose = "1 %";
  spray.areaTreated = "2 m2";
  spray.place = "north bench";
  spray.who = "A. Keeper";
  spray.reentryHours = 12.0;
  EXPECT_THAT(missingFields(spray), ElementsAre("certificate number"));
  spray.certificateNumber = "C-1";
  EXPECT_THAT(missingFields(spray), IsEmpty());
}

TEST(MissingFields, AsksHandWorkForItsDateAndPersonAlone) {
  Treatment plucking;
  plucking.kind = TreatmentKind::Plucking;
  EXPECT_THAT(missingFields(plucking), ElementsAre("date", "who did it"));
  plucking.doneAt = *parseLocalTime("2026-05-20");
  plucking.who = "A. Keeper";
  EXPECT_THAT(missingFields(plucking), IsEmpty());
}

}  // namespace edamori::store
