// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/overview.h"

#include "app/work/import.h"
#include "app/work/measuring.h"
#include "tests/support/matchers.h"
#include "tests/support/temporary_folder.h"
#include "vision/load/load.h"

#include <gtest/gtest.h>

namespace edamori::test {
namespace {

using store::BranchKind;
using store::Garden;

// A tree with one branch of the kind, outlined on one photo.
struct Planted {
  Garden garden;
  store::TreeId tree{store::TreeId::create()};
  store::BranchId branch{store::BranchId::create()};
  store::PhotoId photo;
  store::OutlineId outline{store::OutlineId::create()};
};

RgbImage greenWithBrown() {
  RgbImage image(400, 400, 255);
  for (int y = 100; y < 300; ++y) {
    for (int x = 100; x < 300; ++x) {
      const bool isSpot = (x - 200) * (x - 200) + (y - 200) * (y - 200) < 400;
      image.at(x, y, 0) = static_cast<std::uint8_t>((isSpot ? 120 : 60) + (x * 7 + y * 3) % 9);
      image.at(x, y, 1) = static_cast<std::uint8_t>((isSpot ? 75 : 120) + (x * 5 + y * 11) % 9);
      image.at(x, y, 2) = static_cast<std::uint8_t>(40 + (x + y) % 9);
    }
  }
  return image;
}

Planted planted(const TemporaryFolder& folder, BranchKind kind) {
  auto garden = Garden::create(folder / "garden");
  EXPECT_THAT(garden, isOk());
  Planted result{.garden = std::move(garden).value(), .photo = {}};
  EXPECT_THAT(vision::savePicture(folder / "a.png", greenWithBrown()), isOk());
  store::Tree tree;
  tree.id = result.tree;
  tree.tag = "T-1";
  EXPECT_THAT(result.garden.put(tree), isOk());
  EXPECT_THAT(result.garden.put(store::Branch{
                  .id = result.branch, .tree = tree.id, .kind = kind, .name = "Place", .order = 0}),
              isOk());
  const auto report = work::importPhotos(result.garden, {.paths = {folder / "a.png"}, .tree = tree.id});
  EXPECT_THAT(report, isOk());
  result.photo = report->takenIn.front().photo.id;
  store::OutlineRecord outline;
  outline.id = result.outline;
  outline.photo = result.photo;
  outline.branch = result.branch;
  outline.shape.polygon = {{50, 50}, {350, 50}, {350, 350}, {50, 350}};
  EXPECT_THAT(result.garden.put(outline), isOk());
  return result;
}

// As an earlier version stored it.
void storeSpotFigure(Planted& place) {
  store::Measurement old;
  old.id = store::MeasurementId::create();
  old.photo = place.photo;
  old.branch = place.branch;
  old.outline = place.outline;
  old.figure = "spot";
  old.estimate = {.value = 0.4, .low = 0.3, .high = 0.5};
  old.unit = "1";
  old.method = {.name = "foliage-and-spots", .version = 1, .parameters = "{}"};
  old.madeAt = store::now();
  EXPECT_THAT(place.garden.put(old), isOk());
}

// Bark is not foliage: the rule of store::carriesFoliage.
TEST(TreeSummary, TakesNoPhotoOfUncertainDateForTheLatest) {
  const TemporaryFolder folder;
  Planted here = planted(folder, BranchKind::Branch);  // dated by its file alone: today
  RgbImage other = greenWithBrown();
  other.at(0, 0, 0) = 1;
  ASSERT_THAT(vision::savePicture(folder / "b.png", other), isOk());
  const auto report = work::importPhotos(here.garden, {.paths = {folder / "b.png"}, .tree = here.tree});
  ASSERT_THAT(report, isOk());
  store::Photo dated = report->takenIn.front().photo;
  const auto before = store::parseLocalTime("2020-04-01T10:00:00");
  ASSERT_THAT(before, isOk());
  dated.takenAt = *before;
  dated.dateSource = store::DateSource::Camera;
  ASSERT_THAT(here.garden.put(dated), isOk());
  const auto summaries = work::treeSummaries(here.garden, std::chrono::year{2026} / 6 / 1);
  ASSERT_THAT(summaries, isOk());
  ASSERT_TRUE(summaries->front().latestPhoto.has_value());
  EXPECT_EQ(summaries->front().latestPhoto->id, dated.id);
}

TEST(MeasureOutline, RefusesBarkAndSaysWhatToDo) {
  const TemporaryFolder folder;
  Planted place = planted(folder, BranchKind::TrunkLine);
  const auto made = work::measureOutline(place.garden, place.outline);
  ASSERT_THAT(made, failsWith(ErrorCode::NotMeasurable));
  EXPECT_NE(made.error().message.find("count its marks"), std::string::npos) << made.error().message;
}

TEST(MeasureOutline, MeasuresAnApex) {
  const TemporaryFolder folder;
  Planted place = planted(folder, BranchKind::Apex);
  EXPECT_THAT(work::measureOutline(place.garden, place.outline), isOk());
}

TEST(TreeDetail, KeepsOldFiguresOfBarkReadableButOutOfChartsAndCards) {
  for (const BranchKind kind : {BranchKind::Branch, BranchKind::TrunkLine, BranchKind::Fork, BranchKind::SurfaceRoots}) {
    const TemporaryFolder folder;
    Planted place = planted(folder, kind);
    storeSpotFigure(place);
    const auto detail = work::treeDetail(place.garden, place.tree, store::now().date);
    ASSERT_THAT(detail, isOk());
    const bool isBranch = kind == BranchKind::Branch;
    ASSERT_EQ(detail->figures.size(), 1U);
    EXPECT_EQ(detail->figures.front().isOfFoliage, isBranch);
    EXPECT_EQ(detail->charts.size(), isBranch ? 1U : 0U) << store::toText(kind);
    EXPECT_EQ(detail->summary.latestFigures.size(), isBranch ? 1U : 0U) << store::toText(kind);
  }
}

// A branch that was measured once and never again still counts.
TEST(TreeSummary, ShowsEachBranchAsItWasLastMeasured) {
  const TemporaryFolder folder;
  Planted place = planted(folder, BranchKind::Branch);
  storeSpotFigure(place);
  const auto first = work::treeDetail(place.garden, place.tree, store::now().date);
  ASSERT_THAT(first, isOk());
  store::Photo later = first->photos.front();
  later.id = store::PhotoId::create();
  later.sha256 = std::string(64, 'b');
  later.takenAt = *store::parseLocalTime("2031-05-01T09:00:00");
  later.dateSource = store::DateSource::Edited;
  ASSERT_THAT(place.garden.put(later), isOk());
  store::Branch other;
  other.id = store::BranchId::create();
  other.tree = place.tree;
  other.name = "other";
  ASSERT_THAT(place.garden.put(other), isOk());
  store::Measurement made = first->figures.front().measurement;
  made.id = store::MeasurementId::create();
  made.photo = later.id;
  made.branch = other.id;
  ASSERT_THAT(place.garden.put(made), isOk());
  const auto both = work::treeDetail(place.garden, place.tree, store::now().date);
  ASSERT_THAT(both, isOk());
  ASSERT_EQ(both->summary.latestFigures.size(), 2U);
  EXPECT_EQ(both->summary.latestFigures[0].measurement.branch, other.id);
  EXPECT_NE(both->summary.latestFigures[1].measurement.branch, other.id);
}

}  // namespace
}  // namespace edamori::test
