// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/import.h"

#include "app/work/measuring.h"
#include "app/work/photos.h"
#include "store/intake/originals.h"
#include "tests/support/matchers.h"
#include "tests/support/temporary_folder.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace edamori::test {
namespace {

using store::Garden;

Garden newGarden(const TemporaryFolder& folder) {
  auto garden = Garden::create(folder / "garden");
  EXPECT_THAT(garden, isOk());
  return std::move(garden).value();
}

RgbImage noisePhoto(int width, int height, unsigned seed) {
  RgbImage image(width, height);
  unsigned state = seed;
  for (std::size_t i = 0; i < image.byteCount(); ++i) {
    state = state * 1664525U + 1013904223U;
    image.data()[i] = static_cast<std::uint8_t>(100 + (state >> 27));
  }
  return image;
}

TEST(Import, KeepsOriginalsByteForByteUnderTheirHash) {
  const TemporaryFolder folder;
  Garden garden = newGarden(folder);
  ASSERT_THAT(vision::savePicture(folder / "a.jpg", noisePhoto(640, 480, 1)), isOk());
  const auto report = work::importPhotos(garden, {.paths = {folder / "a.jpg"}, .tree = {}});
  ASSERT_THAT(report, isOk());
  ASSERT_EQ(report->takenIn.size(), 1U);
  const store::Photo& photo = report->takenIn.front().photo;
  EXPECT_EQ(readWholeFile(garden.originalFile(photo)), readWholeFile(folder / "a.jpg"));
  const auto hash = store::sha256OfFile(garden.originalFile(photo));
  ASSERT_THAT(hash, isOk());
  EXPECT_EQ(*hash, photo.sha256);
  EXPECT_EQ(photo.widthPx, 640);
  EXPECT_EQ(photo.dateSource, store::DateSource::FileTime);
}

TEST(Import, StoresTheSameBytesOnceAndSaysSo) {
  const TemporaryFolder folder;
  Garden garden = newGarden(folder);
  ASSERT_THAT(vision::savePicture(folder / "a.jpg", noisePhoto(320, 240, 1)), isOk());
  std::filesystem::copy_file(folder / "a.jpg", folder / "again.jpg");
  const auto report =
      work::importPhotos(garden, {.paths = {folder / "a.jpg", folder / "again.jpg"}, .tree = {}});
  ASSERT_THAT(report, isOk());
  EXPECT_EQ(report->takenIn.size(), 1U);
  EXPECT_EQ(report->alreadyThere.size(), 1U);
  const auto photos = garden.allPhotos();
  ASSERT_THAT(photos, isOk());
  EXPECT_EQ(photos->size(), 1U);
}

TEST(Import, MakesALostOrDamagedOriginalWholeAgain) {
  const TemporaryFolder folder;
  Garden garden = newGarden(folder);
  ASSERT_THAT(vision::savePicture(folder / "a.jpg", noisePhoto(320, 240, 1)), isOk());
  const auto first = work::importPhotos(garden, {.paths = {folder / "a.jpg"}, .tree = {}});
  ASSERT_THAT(first, isOk());
  const auto stored = garden.originalFile(first->takenIn.front().photo);
  for (const bool isLost : {true, false}) {
    std::filesystem::permissions(stored, std::filesystem::perms::owner_write, std::filesystem::perm_options::add);
    std::filesystem::remove(stored);
    if (!isLost) {
      writeFile(stored, "damaged");
    }
    const auto report = work::importPhotos(garden, {.paths = {folder / "a.jpg"}, .tree = {}});
    ASSERT_THAT(report, isOk());
    ASSERT_EQ(report->alreadyThere.size(), 1U);
    EXPECT_TRUE(report->alreadyThere.front().isMended);
    EXPECT_EQ(readWholeFile(stored), readWholeFile(folder / "a.jpg"));
  }
  const auto again = work::importPhotos(garden, {.paths = {folder / "a.jpg"}, .tree = {}});
  ASSERT_THAT(again, isOk());
  EXPECT_FALSE(again->alreadyThere.front().isMended);
}

TEST(Import, GoesOnAfterABadFile) {
  const TemporaryFolder folder;
  Garden garden = newGarden(folder);
  std::filesystem::create_directories(folder / "card");
  writeFile(folder / "card" / "a-empty.jpg", "");
  ASSERT_THAT(vision::savePicture(folder / "card" / "b.jpg", noisePhoto(320, 240, 2)), isOk());
  const auto report = work::importPhotos(garden, {.paths = {folder / "card"}, .tree = {}});
  ASSERT_THAT(report, isOk());
  EXPECT_EQ(report->takenIn.size(), 1U);
  ASSERT_EQ(report->refused.size(), 1U);
  EXPECT_NE(report->refused.front().reason.find("a-empty.jpg"), std::string::npos);
}

TEST(Import, StopsWhereThePersonStopsItAndKeepsWhatWasTakenIn) {
  const TemporaryFolder folder;
  Garden garden = newGarden(folder);
  std::filesystem::create_directories(folder / "card");
  for (unsigned i = 0; i < 4; ++i) {
    ASSERT_THAT(vision::savePicture(folder / "card" / (std::to_string(i) + ".jpg"),
                                    noisePhoto(320, 240, i)),
                isOk());
  }
  const auto report =
      work::importPhotos(garden, {.paths = {folder / "card"}, .tree = {}},
                         [](const work::ImportProgress& progress) { return progress.done < 2; });
  ASSERT_THAT(report, isOk());
  EXPECT_TRUE(report->cancelled);
  const auto photos = garden.allPhotos();
  ASSERT_THAT(photos, isOk());
  EXPECT_EQ(photos->size(), 2U);
}

TEST(Import, FilesAKnownPhotoUnderATreeLater) {
  const TemporaryFolder folder;
  Garden garden = newGarden(folder);
  ASSERT_THAT(vision::savePicture(folder / "a.jpg", noisePhoto(320, 240, 5)), isOk());
  ASSERT_THAT(work::importPhotos(garden, {.paths = {folder / "a.jpg"}, .tree = {}}), isOk());
  store::Tree tree;
  tree.id = store::TreeId::create();
  tree.tag = "T-1";
  ASSERT_THAT(garden.put(tree), isOk());
  ASSERT_THAT(work::importPhotos(garden, {.paths = {folder / "a.jpg"}, .tree = tree.id}), isOk());
  const auto photos = garden.photos(tree.id);
  ASSERT_THAT(photos, isOk());
  EXPECT_EQ(photos->size(), 1U);
}

TEST(Previews, AreMadeAgainAfterTheFolderWasDeleted) {
  const TemporaryFolder folder;
  Garden garden = newGarden(folder);
  ASSERT_THAT(vision::savePicture(folder / "a.jpg", noisePhoto(2000, 1500, 3)), isOk());
  const auto report = work::importPhotos(garden, {.paths = {folder / "a.jpg"}, .tree = {}});
  ASSERT_THAT(report, isOk());
  std::filesystem::remove_all(garden.previewsFolder());
  const auto preview =
      work::loadPreview(garden, report->takenIn.front().photo, work::kSmallPreviewPx);
  ASSERT_THAT(preview, isOk());
  EXPECT_EQ(preview->width(), work::kSmallPreviewPx);
  EXPECT_EQ(preview->height(), work::kSmallPreviewPx * 3 / 4);
}

// Photographs that nobody here made, from Debian's wallpaper packages.
TEST(Import, TakesInNaturePhotographsOfOtherPeople) {
  const std::filesystem::path wallpapers = "/usr/share/wallpapers";
  const std::filesystem::path backgrounds = "/usr/share/backgrounds/mate/nature";
  ASSERT_TRUE(std::filesystem::exists(wallpapers) && std::filesystem::exists(backgrounds))
      << "install mate-backgrounds and plasma-workspace-wallpapers (tests/run does)";
  const TemporaryFolder folder;
  Garden garden = newGarden(folder);
  const auto report = work::importPhotos(garden, {.paths = {backgrounds}, .tree = {}});
  ASSERT_THAT(report, isOk());
  EXPECT_GE(report->takenIn.size(), 5U);
  EXPECT_TRUE(report->refused.empty()) << toText(*report);
}

// The same photographs measured whole: every one gives figures with intervals, or says why not.
TEST(MeasureOutline, GivesFiguresOrAReasonOnPhotographsOfOtherPeople) {
  const std::filesystem::path backgrounds = "/usr/share/backgrounds/mate/nature";
  ASSERT_TRUE(std::filesystem::exists(backgrounds))
      << "install mate-backgrounds (tests/run does)";
  int measured = 0;
  for (const auto& entry : std::filesystem::directory_iterator(backgrounds)) {
    const auto photo = work::openPhotoFile(entry.path());
    ASSERT_THAT(photo, isOk()) << entry.path();
    const auto result = vision::measure(photo->image, {});
    if (!result) {
      EXPECT_THAT(result, failsWith(ErrorCode::NotMeasurable)) << entry.path();
      continue;
    }
    ++measured;
    EXPECT_LE(0.0, result->foliage.low) << entry.path();
    EXPECT_LE(result->foliage.low, result->foliage.value) << entry.path();
    EXPECT_LE(result->foliage.value, result->foliage.high) << entry.path();
    EXPECT_LE(result->foliage.high, 1.0) << entry.path();
    EXPECT_EQ(result->labels.width(), photo->image.width()) << entry.path();
  }
  EXPECT_GE(measured, 3);
}

}  // namespace
}  // namespace edamori::test
