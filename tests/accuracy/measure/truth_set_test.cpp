// SPDX-License-Identifier: GPL-3.0-or-later
// Expected values follow from the files written here.
#include "truth_set.h"

#include "tests/support/matchers.h"
#include "tests/support/temporary_folder.h"
#include "vision/load/load.h"

#include <cstdint>
#include <string>

#include <gtest/gtest.h>

namespace edamori::accuracy {
namespace {

using test::failsWith;
using test::isOk;

class TruthSet : public ::testing::Test {
 protected:
  // A photo of 4 × 1 pixels with a truth of these values.
  void save(const std::string& stem,
            const std::string& truthEnding,
            const LabelImage& truth) const {
    ASSERT_THAT(vision::savePicture(m_folder / (stem + ".jpg"), RgbImage(4, 1, 90)), isOk());
    ASSERT_THAT(vision::saveLabels(m_folder / (stem + truthEnding), truth), isOk());
  }
  [[nodiscard]] Result<TruthCase> readFirst(const TruthOptions& options = {}) const {
    const auto files = listTruths(m_folder.path(), options);
    return files ? readTruth(files->front(), options) : files.error();
  }

  test::TemporaryFolder m_folder;
};

LabelImage row(std::uint8_t a, std::uint8_t b, std::uint8_t c, std::uint8_t d) {
  LabelImage image(4, 1);
  image.at(0, 0) = a;
  image.at(1, 0) = b;
  image.at(2, 0) = c;
  image.at(3, 0) = d;
  return image;
}

TEST_F(TruthSet, TakesLabelsAsTheyAreAndEachOutline) {
  save("00001", ".png", row(0, 128, 255, 128));
  test::writeFile(m_folder / "00001.txt", "needles\n0,0 4,0 4,1 \n0,0 2,0 2,1 0,1\n");
  const auto truth = readFirst();
  ASSERT_THAT(truth, isOk());
  EXPECT_EQ(truth->kind, TruthKind::Tissue);
  EXPECT_EQ(truth->subject, Subject::Needles);
  EXPECT_EQ(truth->labels, row(0, 128, 255, 128));
  ASSERT_EQ(truth->outlines.size(), 2U);
  ASSERT_TRUE(truth->outlines[0].has_value());
  EXPECT_EQ(truth->outlines[0]->polygon, (Polygon{{0, 0}, {4, 0}, {4, 1}}));
}

TEST_F(TruthSet, TakesLesionsAsSpotsOnALeafThatFillsTheFrame) {
  save("a", "_lesion.png", row(0, 255, 0, 0));
  const auto truth = readFirst();
  ASSERT_THAT(truth, isOk());
  EXPECT_EQ(truth->kind, TruthKind::Lesions);
  EXPECT_EQ(truth->labels, row(128, 255, 128, 128));
  ASSERT_EQ(truth->outlines.size(), 1U);
  EXPECT_FALSE(truth->outlines[0].has_value());
}

TEST_F(TruthSet, TakesAMaskAsCoverOnlyWhenTold) {
  save("a", "_mask.png", row(0, 255, 255, 0));
  EXPECT_THAT(readFirst(), failsWith(ErrorCode::InvalidArgument));
  const auto truth = readFirst({.subject = Subject::Needles, .isCoverOnly = true});
  ASSERT_THAT(truth, isOk());
  EXPECT_EQ(truth->kind, TruthKind::Cover);
  EXPECT_EQ(truth->subject, Subject::Needles);
  EXPECT_EQ(truth->labels, row(0, 128, 128, 0));
}

TEST_F(TruthSet, RefusesWhatMakesNoSense) {
  EXPECT_THAT(readFirst(), failsWith(ErrorCode::NotFound));
  save("a", ".png", row(0, 128, 7, 0));
  EXPECT_THAT(readFirst(), failsWith(ErrorCode::Corrupt));
  save("a", ".png", row(0, 128, 255, 0));
  EXPECT_THAT(readFirst(), isOk());
  for (const char* outlines : {"fern\n0,0 4,0 4,1\n",
                               "leaf\n0,0 4,0\n",
                               "leaf\n0,0 4,0 4,1 3,\n",
                               "leaf\n0,0 4;0 4,1 3,3\n",
                               "leaf\n0,0 4,0 4,1 x\n"}) {
    test::writeFile(m_folder / "a.txt", outlines);
    EXPECT_THAT(readFirst(), failsWith(ErrorCode::Corrupt)) << outlines;
  }
}

TEST_F(TruthSet, KeepsTheFirstPhotosByName) {
  save("c", ".png", row(0, 0, 0, 0));
  save("a", ".png", row(0, 0, 0, 0));
  save("b", ".png", row(0, 0, 0, 0));
  const auto files = listTruths(m_folder.path(), {.subject = {}, .maxPhotos = 2});
  ASSERT_THAT(files, isOk());
  ASSERT_EQ(files->size(), 2U);
  EXPECT_EQ((*files)[0].photo.filename(), "a.jpg");
  EXPECT_EQ((*files)[1].photo.filename(), "b.jpg");
}

}  // namespace
}  // namespace edamori::accuracy
