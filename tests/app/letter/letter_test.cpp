// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/letter/letter.h"

#include "app/letter/pictures_internal.h"
#include "app/look/theme.h"
#include "app/work/figure_inputs.h"
#include "tests/app/work/leafy_garden.h"
#include "tests/support/matchers.h"
#include "tests/support/temporary_folder.h"

#include <QImage>

#include <gmock/gmock.h>

#include <filesystem>

namespace edamori::letter {
namespace {

using namespace std::chrono_literals;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::StartsWith;

struct GardenWithOneTree {
  test::TemporaryFolder folder;
  store::Garden garden;
  LetterRequest request;

  GardenWithOneTree() : garden(store::Garden::create(folder / "garden").value()) {
    store::Tree tree{.id = store::TreeId::create(), .tag = "ED-07", .species = "Acer invented", .cultivar = {},
                     .owner = {}, .place = {}, .note = {}, .subject = Subject::Leaf};
    EXPECT_THAT(garden.put(tree), test::isOk());
    request = {.tree = tree.id, .from = {}, .to = {}, .today = 2026y / 4 / 14};
  }
  [[nodiscard]] std::vector<std::string> outputs() const {
    std::vector<std::string> names;
    for (const auto& entry : std::filesystem::directory_iterator(folder.path())) {
      if (entry.path().filename() != "garden") {
        names.push_back(entry.path().filename().string());
      }
    }
    return names;
  }
};

TEST(WriteLetter, WritesPdfAndHtmlByTheEnding) {
  GardenWithOneTree one;
  ASSERT_THAT(writeLetter(one.garden, one.request, one.folder / "brief ä.PDF"), test::isOk());
  EXPECT_THAT(test::readWholeFile(one.folder / "brief ä.PDF"), StartsWith("%PDF-"));
  ASSERT_THAT(writeLetter(one.garden, one.request, one.folder / "letter.html"), test::isOk());
  EXPECT_THAT(test::readWholeFile(one.folder / "letter.html"), HasSubstr("Acer invented"));
}

TEST(WriteLetter, RefusesAnotherEnding) {
  GardenWithOneTree one;
  for (const char* name : {"letter.docx", "letter", "letter.pdf.txt", ".pdf"}) {
    EXPECT_THAT(writeLetter(one.garden, one.request, one.folder / name), test::failsWith(ErrorCode::InvalidArgument)) << name;
  }
  EXPECT_THAT(one.outputs(), IsEmpty());
}

TEST(WriteLetter, RefusesAPeriodThatEndsBeforeItBeginsAndLeavesTheOldLetter) {
  GardenWithOneTree one;
  test::writeFile(one.folder / "letter.html", "old");
  one.request.from = 2026y / 4 / 2;
  one.request.to = 2026y / 4 / 1;
  EXPECT_THAT(writeLetter(one.garden, one.request, one.folder / "letter.html"), test::failsWith(ErrorCode::InvalidArgument));
  EXPECT_EQ(test::readWholeFile(one.folder / "letter.html"), "old");
}

TEST(WriteLetter, RefusesAPeriodOfWhichNothingIsRecorded) {
  GardenWithOneTree one;
  one.request.from = 2026y / 4 / 1;
  const auto answer = writeLetter(one.garden, one.request, one.folder / "letter.html");
  ASSERT_THAT(answer, test::failsWith(ErrorCode::NotFound));
  EXPECT_EQ(answer.error().message,
            "nothing is recorded of ED-07 from 2026-04-01; choose other days");
  EXPECT_THAT(one.outputs(), IsEmpty());
}

TEST(WriteLetter, SaysWhenThePlaceCannotBeWritten) {
  GardenWithOneTree one;
  EXPECT_THAT(writeLetter(one.garden, one.request, one.folder / "missing" / "letter.pdf"), test::failsWith(ErrorCode::Io));
  EXPECT_THAT(one.outputs(), IsEmpty());
}

TEST(WriteLetter, LeavesNoTemporaryFileBehind) {
  GardenWithOneTree one;
  ASSERT_THAT(writeLetter(one.garden, one.request, one.folder / "letter.pdf"), test::isOk());
  EXPECT_EQ(one.outputs(), std::vector<std::string>{"letter.pdf"});
}

TEST(ComposeHtml, SaysWhenTheTreeIsGone) {
  GardenWithOneTree one;
  ASSERT_THAT(one.garden.remove(one.request.tree), test::isOk());
  EXPECT_THAT(composeHtml(one.garden, one.request), test::failsWith(ErrorCode::NotFound));
}

// The earlier photo is shown close around the branch; so is the later one, though nobody outlined it there.
TEST(PicturesOf, ShowALaterPhotoWhereComparingPutTheBranch) {
  const test::TemporaryFolder folder;
  test::LeafyGarden leafy(folder);
  const store::OutlineRecord outline = *leafy.garden.find(leafy.second).value();
  const store::Photo photo = *leafy.garden.find(outline.photo).value();
  ASSERT_THAT(leafy.garden.remove(outline.id), test::isOk());
  const auto shown = [&] { return picturesOf(leafy.garden)(photo, leafy.branch).image.size(); };
  EXPECT_EQ(shown(), QSize(photo.widthPx, photo.heightPx));
  store::Measurement loss;
  loss.id = store::MeasurementId::create();
  loss.photo = photo.id;
  loss.branch = leafy.branch;
  loss.baselinePhoto = leafy.garden.find(leafy.first).value()->photo;
  loss.figure = "loss-by-cover";
  loss.unit = "1";
  loss.method = {.name = "foliage-and-spots",
                 .version = 1,
                 .parameters = work::withInputs("{}", {.placedAfter = Outline{.polygon = {{200, 200}, {400, 200}, {400, 300}, {200, 300}},
                                                                              .holes = {}}})};
  loss.madeAt = store::now();
  ASSERT_THAT(leafy.garden.put(loss), test::isOk());
  EXPECT_LT(shown().width(), 260);
  EXPECT_GE(shown().width(), 200);
}

// A square outline on a picture that shows the photo's part from (1000, 500) at half size.
TEST(PaintFindings, DrawsTheOutlineWhereItLiesOnThePhoto) {
  QImage picture(500, 500, QImage::Format_RGB32);
  picture.fill(Qt::black);
  const Outline outline{.polygon = {{1200, 700}, {1800, 700}, {1800, 1300}, {1200, 1300}}, .holes = {}};
  paintFindings(picture, QRectF(1000, 500, 1000, 1000), outline, {});
  EXPECT_GT(picture.pixelColor(100, 250).lightness(), 150);  // x = 1200
  EXPECT_GT(picture.pixelColor(400, 250).lightness(), 150);  // x = 1800
  EXPECT_GT(picture.pixelColor(250, 100).lightness(), 150);  // y = 700
  EXPECT_EQ(picture.pixelColor(250, 250), QColor(Qt::black));
  EXPECT_EQ(picture.pixelColor(50, 250), QColor(Qt::black));
}

store::Mark patch(store::Finding finding) {
  store::Mark mark;
  mark.kind = store::MarkKind::Patch;
  mark.finding = finding;
  return mark;
}

// Each kind of line and symbol once, in the colour that it is painted in.
TEST(LegendOf, NamesEachLineAndSymbolOnce) {
  store::Mark deadInsect;
  deadInsect.stage = store::Stage::Dead;
  const Outline outline{.polygon = {{0, 0}, {9, 0}, {9, 9}}, .holes = {}};
  const auto blight = patch(store::Finding::NeedleBlight);
  const auto legend = legendOf(outline, {blight, blight, deadInsect});
  ASSERT_EQ(legend.size(), 3U);
  EXPECT_EQ(legend[0].text, QLatin1String("outline of the branch or part"));
  EXPECT_EQ(legend[0].symbol.pixelColor(legend[0].symbol.rect().center()), QColor(Qt::white));
  EXPECT_EQ(legend[1].text, QLatin1String("needle blight: patch that was marked"));
  const QPoint onLine(18, legend[1].symbol.height() / 2);  // left of the finding's own symbol
  EXPECT_EQ(legend[1].symbol.pixelColor(onLine), look::findingColour(store::Finding::NeedleBlight));
  EXPECT_EQ(legend[2].text, QLatin1String("scale insect, dead"));
  EXPECT_TRUE(legendOf(outline, {}).empty());
}

}  // namespace
}  // namespace edamori::letter
