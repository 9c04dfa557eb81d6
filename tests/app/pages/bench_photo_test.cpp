// SPDX-License-Identifier: GPL-3.0-or-later
// The photo on the Bench: zoom, pan, orientation, size, and what is shown when there is none.
#include "app/pages/bench/photo_picture.h"
#include "tests/app/pages/bench_driver.h"

#include <QBuffer>
#include <QImageReader>
#include <QProcess>
#include <QSignalSpy>
#include <QWheelEvent>

namespace edamori::test {
namespace {

using ::testing::SizeIs;

void turnWheel(QWidget& widget, QPointF at, int eighths) {
  QWheelEvent event(
      at, widget.mapToGlobal(at), {}, {0, eighths}, Qt::NoButton, {}, Qt::NoScrollPhase, false);
  QApplication::sendEvent(&widget, &event);
}

class BenchZoom : public BenchDriver {};

TEST_F(BenchZoom, ByWheelKeepsThePhotoPointUnderThePointer) {
  const auto photo = import(blottedPicture(1600, 1000), "one.jpg");
  openPage(photo.id);
  const double ratio = view().devicePixelRatioF();
  EXPECT_EQ(ratio, qEnvironmentVariable("QT_SCALE_FACTOR", QStringLiteral("1")).toDouble());
  const QPointF pointer(view().width() * 0.3, view().height() * 0.6);
  const PointPx held = whole(photo, pointer);
  ASSERT_THAT(view().photoFromView(pointer), isNear(held, 1e-9));
  for (int i = 0; i < 8; ++i) {
    turnWheel(view(), pointer, 120);
    EXPECT_THAT(view().photoFromView(pointer), isNear(held, 1e-6)) << "notch " << i;
    EXPECT_NEAR(view().viewFromPhoto(held).x(), pointer.x(), 1e-6);
  }
  // Eight notches of a quarter each from the fit, 1.25⁸.
  const double fit = std::min(view().width() * ratio / 1600, view().height() * ratio / 1000);
  EXPECT_NEAR(view().zoom(), fit * std::pow(1.25, 8), 1e-9);
  turnWheel(view(), pointer, 120 * 40);
  EXPECT_DOUBLE_EQ(view().zoom(), 16.0) << "1600 % at most";
  EXPECT_THAT(view().photoFromView(pointer), isNear(held, 1e-6));
  turnWheel(view(), pointer, -120 * 60);
  EXPECT_NEAR(view().zoom(), std::min(fit, 1.0), 1e-9) << "the whole photo, or 100 %, at least";
}

TEST_F(BenchZoom, MarksSetAtAnyZoomLieWhereTheyWereClicked) {
  const auto photo = import(blottedPicture(1600, 1000), "one.jpg");
  openPage(photo.id);
  click("dotButton");
  const double ratio = view().devicePixelRatioF();
  const QPoint at(view().width() / 2 + 31, view().height() / 2 - 17);
  click("pixelsButton");
  EXPECT_DOUBLE_EQ(view().zoom(), 1.0);
  clickAt(at);
  // At 100 % one px of the photo is one px of the screen, from the middle on.
  const PointPx expected{.x = 800 + (at.x() - view().width() / 2.0) * ratio,
                         .y = 500 + (at.y() - view().height() / 2.0) * ratio};
  ASSERT_THAT(marks(photo), SizeIs(1));
  EXPECT_THAT(marks(photo)[0].centre, isNear(expected, 1e-6));
}

// The same at twice the pixel ratio, which has to be set before the program starts.
TEST(BenchZoomAtTwiceTheRatio, HoldsToo) {
  QProcess process;
  auto environment = QProcessEnvironment::systemEnvironment();
  environment.insert(QStringLiteral("QT_SCALE_FACTOR"), QStringLiteral("2"));
  process.setProcessEnvironment(environment);
  process.start(QCoreApplication::applicationFilePath(),
                {QStringLiteral("--gtest_filter=BenchZoom.*")});
  ASSERT_TRUE(process.waitForFinished(55000));
  EXPECT_EQ(process.exitCode(), 0) << process.readAllStandardOutput().toStdString();
}

class BenchPhoto : public BenchDriver {};

TEST_F(BenchPhoto, PansBySpaceMiddleButtonAndTool) {
  const auto photo = import(blottedPicture(1600, 1000), "one.jpg");
  openPage(photo.id);
  click("pixelsButton");
  const QPointF start(300, 300);
  const auto held = view().photoFromView(start);
  drag({{300, 300}, {320, 310}, {340, 330}}, Qt::MiddleButton);
  EXPECT_THAT(view().photoFromView({340, 330}), isNear(held, 1e-6));
  click("dotButton");
  QTest::keyPress(&view(), Qt::Key_Space);
  drag({{340, 330}, {320, 320}, {300, 300}});
  QTest::keyRelease(&view(), Qt::Key_Space);
  EXPECT_THAT(view().photoFromView(start), isNear(held, 1e-6));
  EXPECT_THAT(marks(photo), SizeIs(0)) << "panning sets no dot";
  click("panButton");
  drag({{300, 300}, {310, 300}, {330, 305}});
  EXPECT_THAT(view().photoFromView({330, 305}), isNear(held, 1e-6));
}

RgbImage withRedSquare(int left, int top) {
  RgbImage image = blottedPicture(900, 600);
  for (int y = top; y < top + 40; ++y) {
    for (int x = left; x < left + 40; ++x) {
      image.at(x, y, 0) = 250;
      image.at(x, y, 1) = 10;
      image.at(x, y, 2) = 10;
    }
  }
  return image;
}

// Mean position of clearly red pixels, at their centres.
QPointF middleOfRed(const QImage& image) {
  double x = 0, y = 0, count = 0;
  for (int row = 0; row < image.height(); ++row) {
    for (int column = 0; column < image.width(); ++column) {
      const QColor colour = image.pixelColor(column, row);
      if (colour.red() > 200 && colour.green() < 70 && colour.blue() < 70) {
        x += column + 0.5;
        y += row + 0.5;
        ++count;
      }
    }
  }
  EXPECT_GT(count, 50);
  return {x / count, y / count};
}

class BenchOrientation : public BenchDriver, public ::testing::WithParamInterface<int> {};

// Reference: QImageReader with autoTransform, a reader of Exif orientations that is not ours.
TEST_P(BenchOrientation, MarksLieOnWhatWasClicked) {
  const auto image = withRedSquare(150, 90);
  const auto photo = import(image, "turned.jpg", GetParam());
  QByteArray bytes = QByteArray::fromStdString(jpegBytes(image, GetParam()));
  QBuffer buffer(&bytes);
  QImageReader reader(&buffer);
  reader.setAutoTransform(true);
  const QImage upright = reader.read();
  ASSERT_EQ(QSize(photo.widthPx, photo.heightPx), upright.size());
  const QPointF expected = middleOfRed(upright);

  openPage(photo.id);
  const QPointF shown = middleOfRed(view().grab().toImage());
  click("dotButton");
  clickAt(shown.toPoint());
  ASSERT_THAT(marks(photo), SizeIs(1));
  // Rounding to a pixel of the view and the smooth edge of the square: one view px each way.
  EXPECT_THAT(marks(photo)[0].centre,
              isNear((PointPx{.x = expected.x(), .y = expected.y()}), 1.5 / view().scale()));
}

INSTANTIATE_TEST_SUITE_P(OfExif, BenchOrientation, ::testing::Range(1, 9));

// About 48 megapixels, as current telephones write them.
TEST_F(BenchPhoto, OpensAtFortyEightMegapixels) {
  RgbImage image(8000, 6000);
  for (int y = 0; y < image.height(); ++y) {
    auto* const row = image.row(y);
    for (int x = 0; x < image.width() * 3; ++x) {
      row[x] = static_cast<std::uint8_t>(((x / 60) ^ (y / 20)) & 0xFF);
    }
  }
  const auto photo = import(image, "large.jpg");
  openPage(photo.id);
  EXPECT_TRUE(view().isWhole());
  const double fit = std::min(view().width() / 8000.0, view().height() / 6000.0);
  EXPECT_NEAR(view().zoom(), fit, 1e-9);
  click("dotButton");
  clickAt(view().rect().center());
  ASSERT_THAT(marks(photo), SizeIs(1));
  EXPECT_THAT(marks(photo)[0].centre, isNear(whole(photo, view().rect().center()), 1e-6));
}

TEST(BenchPictureLevels, EnoughPixelsForEachZoomAndNoMore) {
  pages::Picture picture;
  picture.photoSize = {8000, 6000};
  for (const int width : {8000, 4000, 2000, 1000}) {
    picture.levels.push_back(QImage(width, 1, QImage::Format_RGB32));
  }
  EXPECT_EQ(pages::levelFor(picture, 1.0).width(), 8000);
  EXPECT_EQ(pages::levelFor(picture, 0.51).width(), 8000);
  EXPECT_EQ(pages::levelFor(picture, 0.5).width(), 4000);
  EXPECT_EQ(pages::levelFor(picture, 0.2).width(), 2000);
  EXPECT_EQ(pages::levelFor(picture, 0.1).width(), 1000);
  EXPECT_EQ(pages::levelFor(picture, 16.0).width(), 8000);
}

TEST(BenchStroke, LoopsAreFilledAndTheOutermostBoundaryStays) {
  // A square that is drawn over its own start.
  const Polygon stroke{{0, 0}, {100, 0}, {100, 100}, {0, 100}, {0, -10}, {50, -10}, {50, 20}};
  const auto polygon = pages::polygonOfStroke(stroke, 0.1);
  EXPECT_FALSE(crossesItself(polygon));
  EXPECT_GE(areaPx2(polygon), 10000);
}

TEST_F(BenchPhoto, PreviousAndNextKeepToTheTree) {
  const auto first = import(blottedPicture(640, 480), "one.jpg");
  const auto second = import(blottedPicture(800, 600), "two.jpg");
  const auto photos = *stored().photos(m_tree.id);
  ASSERT_THAT(photos, SizeIs(2));
  openPage(photos[0].id);
  EXPECT_FALSE(child<QAbstractButton>("previousButton").isEnabled());
  click("nextButton");
  EXPECT_EQ(m_page->currentPhoto(), photos[1].id);
  EXPECT_FALSE(child<QAbstractButton>("nextButton").isEnabled());
  QSignalSpy spy(m_page.get(), &pages::BenchPage::treeRequested);
  click("treeButton");
  ASSERT_EQ(spy.size(), 1);
  EXPECT_EQ(spy[0][0].value<store::TreeId>(), m_tree.id);
}

TEST_F(BenchPhoto, UncertainDateIsMarked) {
  const auto photo = import(blottedPicture(640, 480), "undated.jpg");
  ASSERT_EQ(photo.dateSource, store::DateSource::FileTime);
  openPage(photo.id);
  EXPECT_TRUE(child<QLabel>("uncertain").isVisible());
  auto edited = photo;
  edited.dateSource = store::DateSource::Edited;
  ASSERT_THAT(m_session->garden().put(edited), isOk());
  m_session->announceChange();
  EXPECT_FALSE(child<QLabel>("uncertain").isVisible());
}

TEST_F(BenchPhoto, ADamagedOriginalIsSaidInOneLineInPlaceOfThePhoto) {
  const auto photo = import(blottedPicture(640, 480), "broken.jpg");
  const auto original = m_session->garden().originalFile(photo);
  std::filesystem::permissions(
      original, std::filesystem::perms::owner_write, std::filesystem::perm_options::add);
  writeFile(original, "no photo at all");
  m_page = std::make_unique<pages::BenchPage>();
  m_page->setSession(m_session.get());
  m_page->resize(1280, 800);
  m_page->show();
  ASSERT_THAT(m_page->openPhoto(photo.id), isOk());
  ASSERT_TRUE(
      QTest::qWaitFor([this] { return view().message().contains(QStringLiteral("jpg")); }, 20000))
      << view().message().toStdString();
  EXPECT_FALSE(view().message().contains(QLatin1Char('\n')));
}

TEST_F(BenchPhoto, WithoutAPhotoItSaysWhereToChooseOne) {
  m_page = std::make_unique<pages::BenchPage>();
  m_page->setSession(m_session.get());
  m_page->show();
  EXPECT_TRUE(view().message().contains(QStringLiteral("No photo")));
  EXPECT_TRUE(m_page->currentPhoto().isEmpty());
  EXPECT_THAT(m_page->openPhoto(store::PhotoId::create()), failsWith(ErrorCode::NotFound));
}

TEST_F(BenchPhoto, APhotoRemovedElsewhereLeavesTheBench) {
  const auto photo = import(blottedPicture(640, 480), "one.jpg");
  openPage(photo.id);
  ASSERT_THAT(m_session->garden().remove(photo.id), isOk());
  m_session->announceChange();
  EXPECT_TRUE(m_page->currentPhoto().isEmpty());
  EXPECT_TRUE(view().message().contains(QStringLiteral("No photo")));
}

}  // namespace
}  // namespace edamori::test
