// SPDX-License-Identifier: GPL-3.0-or-later
// The Bench's further tools by mouse, keys and fingers; what counts is what the garden holds.
#include "app/pages/bench/action_list.h"
#include "app/pages/bench/photo_frame.h"
#include "app/work/hint_image.h"
#include "app/work/overview.h"
#include "app/work/photos.h"
#include "tests/app/pages/bench_driver.h"

#include <QAccessible>
#include <QAction>
#include <QComboBox>
#include <QDoubleSpinBox>
#include <QKeySequenceEdit>
#include <QLineEdit>
#include <QMenu>
#include <QPainter>
#include <QPointingDevice>
#include <QRandomGenerator>
#include <QSlider>
#include <QSpinBox>
#include <QTabletEvent>
#include <QTextBrowser>
#include <QTreeWidget>
#include <numbers>

namespace edamori::test {
namespace {

using ::testing::IsEmpty;
using ::testing::SizeIs;

constexpr double kExactPx = 1e-6;

class BenchMore : public BenchDriver {
 protected:
  void SetUp() override {
    BenchDriver::SetUp();
    m_photo = import(blottedPicture(1200, 900), "one.jpg");
    openPage(m_photo.id);
    m_middle = view().rect().center();
  }
  void outlineTheMiddle(const QString& branch = QStringLiteral("first left"), int halfPx = 150) {
    const std::vector<QPoint> corners{m_middle + QPoint(-halfPx, -halfPx),
                                      m_middle + QPoint(halfPx, -halfPx),
                                      m_middle + QPoint(halfPx, halfPx),
                                      m_middle + QPoint(-halfPx, halfPx)};
    drawOutline(corners);
    auto& chooser = child<QComboBox>("outlineBranch");
    chooser.setCurrentIndex(chooser.findText(branch, Qt::MatchStartsWith));
    click("keepOutline");
    ASSERT_FALSE(outlines(m_photo).empty());
  }
  PointPx at(QPoint viewPoint) { return whole(m_photo, viewPoint); }

  store::Photo m_photo;
  QPoint m_middle;
};

TEST_F(BenchMore, WhatIsDrawnWithLeaveOutBecomesAHoleOfTheOutline) {
  outlineTheMiddle();
  click("holeButton");
  const std::vector<QPoint> hole{m_middle + QPoint(-40, -40),
                                 m_middle + QPoint(40, -40),
                                 m_middle + QPoint(40, 40),
                                 m_middle + QPoint(-40, 40)};
  for (const QPoint& corner : hole) {
    clickAt(corner);
  }
  QTest::mouseDClick(&view(), Qt::LeftButton, {}, hole.back());
  auto stored = outlines(m_photo);
  ASSERT_THAT(stored.at(0).shape.holes, SizeIs(1));
  EXPECT_THAT(stored[0].shape.holes[0].at(2), isNear(at(hole[2]), kExactPx));
  // A dot in the hole is on no branch, one beside it is.
  click("dotButton");
  clickAt(m_middle);
  clickAt(m_middle + QPoint(80, 0));
  EXPECT_TRUE(marks(m_photo).at(0).branch.isEmpty());
  EXPECT_EQ(marks(m_photo).at(1).branch, m_left);
  // Its corners move, and it goes when fewer than three are left.
  click("selectButton");
  clickAt(m_middle + QPoint(0, 120));  // chooses the outline, no mark
  drag({hole[0], hole[0] + QPoint(-10, -5), hole[0] + QPoint(-20, -10)});
  EXPECT_THAT(outlines(m_photo).at(0).shape.holes[0].at(0),
              isNear(at(hole[0] + QPoint(-20, -10)), kExactPx));
  for (const int corner : {1, 2}) {
    clickAt(hole[static_cast<std::size_t>(corner)]);
    click("removeButton");
  }
  EXPECT_THAT(outlines(m_photo).at(0).shape.holes, IsEmpty());
  EXPECT_THAT(outlines(m_photo).at(0).shape.polygon, SizeIs(4));
  click("undoButton");
  EXPECT_THAT(outlines(m_photo).at(0).shape.holes, SizeIs(1));
}

TEST_F(BenchMore, AHoleBesideTheOutlineIsRefused) {
  outlineTheMiddle();
  click("holeButton");
  const QPoint beside = m_middle + QPoint(-260, -100);
  drag({beside, beside + QPoint(40, 0), beside + QPoint(40, 40), beside + QPoint(0, 40)});
  EXPECT_THAT(outlines(m_photo).at(0).shape.holes, IsEmpty());
  EXPECT_TRUE(hint().contains(QStringLiteral("outside the outline"))) << hint().toStdString();
}

TEST_F(BenchMore, AnotherBranchIsLeftOutByTheMenu) {
  outlineTheMiddle(QStringLiteral("first left"), 150);
  outlineTheMiddle(QStringLiteral("first right"), 60);
  EXPECT_THAT(outlines(m_photo), SizeIs(2)) << "outlines may overlap";
  auto& branches = child<QTreeWidget>("branches");
  branches.setCurrentItem(branches.topLevelItem(0));
  QContextMenuEvent asked(
      QContextMenuEvent::Mouse, m_middle, view().mapToGlobal(m_middle), Qt::NoModifier);
  QApplication::sendEvent(&view(), &asked);
  auto& menu = child<QMenu>("photoMenu");
  for (auto* const action : menu.actions()) {
    if (action->text() == QStringLiteral("Leave first right out of first left")) {
      action->trigger();
    }
  }
  menu.close();
  const auto stored = outlines(m_photo);
  ASSERT_THAT(stored.at(0).shape.holes, SizeIs(1));
  EXPECT_EQ(stored[0].shape.holes[0], stored[1].shape.polygon);
}

TEST_F(BenchMore, CornersOfAPatchAreMovedAddedAndRemoved) {
  click("patchButton");
  const std::vector<QPoint> corners{m_middle + QPoint(-50, -50),
                                    m_middle + QPoint(50, -50),
                                    m_middle + QPoint(50, 50),
                                    m_middle + QPoint(-50, 50)};
  for (const QPoint& corner : corners) {
    clickAt(corner);
  }
  QTest::mouseDClick(&view(), Qt::LeftButton, {}, corners.back());
  ASSERT_THAT(marks(m_photo).at(0).patch, SizeIs(4));
  click("selectButton");
  clickAt(m_middle + QPoint(20, 0));
  drag({corners[1], corners[1] + QPoint(10, 0), corners[1] + QPoint(30, -20)});
  auto stored = marks(m_photo).at(0);
  EXPECT_THAT(stored.patch.at(1), isNear(at(corners[1] + QPoint(30, -20)), kExactPx));
  EXPECT_THAT(stored.centre, isNear(centroidPx(stored.patch), kExactPx));
  QTest::mouseDClick(&view(), Qt::LeftButton, {}, m_middle + QPoint(0, 50));
  EXPECT_THAT(marks(m_photo).at(0).patch, SizeIs(5));
  click("removeButton");  // the corner just added
  EXPECT_THAT(marks(m_photo).at(0).patch, SizeIs(4));
  view().setFocus();
  clickAt(corners[3]);
  press(Qt::Key_Left, Qt::ControlModifier);
  EXPECT_LT(marks(m_photo).at(0).patch.at(3).x, at(corners[3]).x - 1);
}

TEST_F(BenchMore, TheRulerGivesSizesWithTheUncertaintyOfItsClicks) {
  outlineTheMiddle(QStringLiteral("first left"), 100);
  click("dotButton");
  clickAt(m_middle);
  click("rulerButton");
  const QPoint from = m_middle + QPoint(-100, 140), to = m_middle + QPoint(100, 140);
  drag({from, m_middle + QPoint(0, 140), to});
  auto& length = child<QDoubleSpinBox>("rulerLength");
  ASSERT_TRUE(length.isVisible());
  EXPECT_THAT(*stored().rulers(m_photo.id), IsEmpty()) << "stored before its length was given";
  length.selectAll();
  QTest::keyClicks(&length, QStringLiteral("50"));
  press(Qt::Key_Return);
  const auto rulers = *stored().rulers(m_photo.id);
  ASSERT_THAT(rulers, SizeIs(1));
  EXPECT_THAT(rulers[0].from, isNear(at(from), kExactPx));
  EXPECT_THAT(rulers[0].to, isNear(at(to), kExactPx));
  EXPECT_DOUBLE_EQ(rulers[0].lengthMm, 50);
  EXPECT_FALSE(length.isVisible());
  // The outline is as wide as the ruler: 50 mm × 50 mm = 25 cm². Each click is good to 1 px of 200
  // of the view, so that ± is 25 · 2 · 1.96 · √2 / 200; one dot on 0.25 dm² is 4 per dm².
  const QString size = child<QLabel>("size").text();
  const double plusMinus = 25 * 2 * 1.96 * std::numbers::sqrt2 / 200;
  EXPECT_TRUE(size.contains(QStringLiteral("25.0 ± %1 cm²").arg(plusMinus, 0, 'f', 1)))
      << size.toStdString();
  EXPECT_TRUE(size.contains(QStringLiteral("4.0 ±"))) << size.toStdString();
  click("undoButton");
  EXPECT_THAT(*stored().rulers(m_photo.id), IsEmpty());
  EXPECT_TRUE(child<QLabel>("size").text().isEmpty());
  click("redoButton");
  EXPECT_EQ(*stored().rulers(m_photo.id), rulers);
}

TEST_F(BenchMore, TwoClicksSetARulerAndEscapeDropsIt) {
  view().setFocus();
  press(Qt::Key_R);
  clickAt(m_middle);
  clickAt(m_middle + QPoint(120, 0));
  ASSERT_TRUE(child<QDoubleSpinBox>("rulerLength").isVisible());
  press(Qt::Key_Escape);
  EXPECT_FALSE(child<QDoubleSpinBox>("rulerLength").isVisible());
  EXPECT_THAT(*stored().rulers(m_photo.id), IsEmpty());
  EXPECT_TRUE(view().hasFocus());
}

TEST_F(BenchMore, HintsAreStoredWithKindAndWidth) {
  click("hintButton");
  QTest::mouseClick(
      &child<QAbstractButton>("hintKind2"), Qt::LeftButton, {}, QPoint(8, 10));
  child<QSpinBox>("hintWidth").setValue(40);
  drag({m_middle, m_middle + QPoint(30, 0), m_middle + QPoint(60, 10)});
  auto hints = *stored().hintStrokes(m_photo.id);
  ASSERT_THAT(hints, SizeIs(1));
  EXPECT_EQ(hints[0].kind, store::HintKind::Spot);
  EXPECT_NEAR(hints[0].radiusPx, 20 / view().scale(), kExactPx);
  EXPECT_THAT(hints[0].points.front(), isNear(at(m_middle), kExactPx));
  EXPECT_THAT(hints[0].points.back(), isNear(at(m_middle + QPoint(60, 10)), kExactPx));
  click("removeHints");
  EXPECT_THAT(*stored().hintStrokes(m_photo.id), IsEmpty());
  click("undoButton");
  EXPECT_EQ(*stored().hintStrokes(m_photo.id), hints);
}

// What a person sees while painting is what is kept afterwards.
TEST_F(BenchMore, FiguresFollowTheHintBrushAndAreKeptWhenItIsPutDown) {
  outlineTheMiddle();
  click("hintButton");
  auto& figures = child<QTextBrowser>("figures");
  const auto shows = [&figures](const QString& text) {
    return figures.toPlainText().contains(text);
  };
  ASSERT_TRUE(QTest::qWaitFor([&] { return shows(QStringLiteral("By the hints painted so far")); }, 30000));
  EXPECT_THAT(measurements(m_photo), IsEmpty());
  const QString before = figures.toPlainText();
  QTest::mouseClick(&child<QAbstractButton>("hintKind2"), Qt::LeftButton, {}, QPoint(8, 10));
  child<QSpinBox>("hintWidth").setValue(60);
  // They change before the brush is lifted.
  QTest::mousePress(&view(), Qt::LeftButton, {}, m_middle);
  QTest::mouseMove(&view(), m_middle + QPoint(60, 0));
  EXPECT_TRUE(QTest::qWaitFor([&] { return figures.toPlainText() != before; }, 30000));
  QTest::mouseRelease(&view(), Qt::LeftButton, {}, m_middle + QPoint(60, 0));
  const auto original = work::loadOriginal(m_session->garden(), m_photo);
  ASSERT_THAT(original, isOk());
  const auto painted = vision::measure(
      *original,
      {.outline = outlines(m_photo).at(0).shape,
       .subject = m_tree.subject,
       .hints = work::hintImage(*stored().hintStrokes(m_photo.id), m_photo.widthPx, m_photo.heightPx),
       .learned = {}});
  ASSERT_THAT(painted, isOk());
  const auto textOf = [](const Estimate& estimate) {
    return QString::fromStdString(work::estimateText(estimate));
  };
  EXPECT_TRUE(QTest::qWaitFor(
      [&] {
        return shows(QStringLiteral("By the hints painted so far")) && shows(textOf(painted->foliage)) &&
               shows(textOf(*painted->spot));
      },
      30000))
      << figures.toPlainText().toStdString() << textOf(painted->foliage).toStdString();
  EXPECT_THAT(measurements(m_photo), IsEmpty());
  click("panButton");
  ASSERT_TRUE(QTest::qWaitFor([this] { return measurements(m_photo).size() == 2; }, 30000));
  const auto kept = measurements(m_photo);
  EXPECT_EQ(kept.at(0).estimate, painted->foliage);
  EXPECT_EQ(kept.at(1).estimate, *painted->spot);
  EXPECT_FALSE(kept.at(0).hintMask.empty());
  EXPECT_TRUE(QTest::qWaitFor([&] { return !shows(QStringLiteral("By the hints painted so far")); }, 30000));
  // A figure does not outlive its hints unnoticed.
  const QString gone = QStringLiteral("Hints that it was measured with are gone");
  EXPECT_FALSE(shows(gone));
  press(Qt::Key_Z, Qt::ControlModifier);
  ASSERT_THAT(*stored().hintStrokes(m_photo.id), IsEmpty());
  EXPECT_TRUE(QTest::qWaitFor([&] { return shows(gone); })) << figures.toPlainText().toStdString();
  click("redoButton");
  ASSERT_THAT(*stored().hintStrokes(m_photo.id), SizeIs(1));
  EXPECT_TRUE(QTest::qWaitFor([&] { return !shows(gone); })) << figures.toPlainText().toStdString();
}

TEST_F(BenchMore, HintsPaintedAfterMeasuringAreTold) {
  outlineTheMiddle();
  click("measureButton");
  ASSERT_TRUE(QTest::qWaitFor([this] { return measurements(m_photo).size() == 2; }, 30000));
  auto& figures = child<QTextBrowser>("figures");
  const auto isTold = [&figures] {
    return figures.toPlainText().contains(QStringLiteral("Hints were painted since"));
  };
  ASSERT_TRUE(QTest::qWaitFor([&] { return !figures.toPlainText().isEmpty(); }));
  EXPECT_FALSE(isTold());
  store::HintStroke stroke;
  stroke.id = store::HintStrokeId::create();
  stroke.photo = m_photo.id;
  stroke.radiusPx = 10;
  stroke.points = {at(m_middle)};
  auto garden = stored();
  ASSERT_THAT(garden.put(stroke), isOk());
  m_session->announceChange();
  EXPECT_TRUE(QTest::qWaitFor(isTold));
}

TEST_F(BenchMore, PaintingWithinAnOutlineChoosesItsBranch) {
  outlineTheMiddle();
  auto& branches = child<QTreeWidget>("branches");
  branches.setCurrentItem(branches.topLevelItem(1));  // one without an outline
  click("hintButton");
  drag({m_middle, m_middle + QPoint(40, 0)});
  EXPECT_TRUE(QTest::qWaitFor(
      [this] {
        return child<QTextBrowser>("figures").toPlainText().contains(
            QStringLiteral("By the hints painted so far"));
      },
      30000));
}

// Qt repeats a pen's events as mouse events; the pressure is that of the pen's event before.
TEST_F(BenchMore, ALightPenPaintsANarrowStroke) {
  click("hintButton");
  const auto pen = [this](QEvent::Type type, QPoint where, double pressure) {
    QTabletEvent event(type,
                       QPointingDevice::primaryPointingDevice(),
                       where,
                       view().mapToGlobal(QPointF(where)),
                       pressure,
                       0,
                       0,
                       0,
                       0,
                       0,
                       Qt::NoModifier,
                       Qt::LeftButton,
                       Qt::LeftButton);
    QApplication::sendEvent(&view(), &event);
  };
  const auto stroke = [&](QPoint from, double pressure) {
    pen(QEvent::TabletPress, from, pressure);
    QTest::mousePress(&view(), Qt::LeftButton, {}, from);
    pen(QEvent::TabletMove, from + QPoint(50, 0), pressure);
    QTest::mouseMove(&view(), from + QPoint(50, 0));
    QTest::mouseRelease(&view(), Qt::LeftButton, {}, from + QPoint(50, 0));
  };
  stroke(m_middle, 0.5);
  QTest::mouseClick(&child<QAbstractButton>("hintPressure"), Qt::LeftButton, {}, QPoint(8, 10));
  stroke(m_middle + QPoint(0, 60), 0.5);
  const auto hints = *stored().hintStrokes(m_photo.id);
  ASSERT_THAT(hints, SizeIs(2));
  // 0.3 + 0.7 · 0.5 of the full width.
  EXPECT_NEAR(hints[0].radiusPx / hints[1].radiusPx, 0.65, 1e-9);
}

class BenchTouch : public BenchMore {
 protected:
  void SetUp() override {
    BenchMore::SetUp();
    static QPointingDevice* const screen = QTest::createTouchDevice();
    m_screen = screen;
  }
  QPointingDevice* m_screen = nullptr;
};

TEST_F(BenchTouch, ATapSetsADot) {
  click("dotButton");
  QTest::touchEvent(&view(), m_screen).press(0, m_middle, &view());
  QTest::touchEvent(&view(), m_screen).release(0, m_middle, &view());
  ASSERT_THAT(marks(m_photo), SizeIs(1));
  EXPECT_THAT(marks(m_photo)[0].centre, isNear(at(m_middle), kExactPx));
}

TEST_F(BenchTouch, OneFingerDrawsAPatch) {
  click("patchButton");
  QTest::touchEvent(&view(), m_screen).press(0, m_middle, &view());
  for (const QPoint by : {QPoint(40, 0), QPoint(60, 30), QPoint(40, 60), QPoint(0, 60)}) {
    QTest::touchEvent(&view(), m_screen).move(0, m_middle + by, &view());
  }
  QTest::touchEvent(&view(), m_screen).release(0, m_middle + QPoint(0, 60), &view());
  ASSERT_THAT(marks(m_photo), SizeIs(1));
  EXPECT_EQ(marks(m_photo)[0].kind, store::MarkKind::Patch);
}

TEST_F(BenchTouch, TwoFingersPanAndZoomAndMarkNothing) {
  click("dotButton");
  const double zoom = view().zoom();
  const QPoint left = m_middle - QPoint(50, 0), right = m_middle + QPoint(50, 0);
  const auto held = view().photoFromView(m_middle);
  auto touch = QTest::touchEvent(&view(), m_screen, false);
  touch.press(0, left, &view()).commit();
  touch.stationary(0).press(1, right, &view()).commit();
  // Apart to twice the distance, then both 30 px down.
  touch.move(0, left - QPoint(50, 0), &view()).move(1, right + QPoint(50, 0), &view()).commit();
  EXPECT_NEAR(view().zoom() / zoom, 2, 1e-6);
  EXPECT_THAT(view().photoFromView(m_middle), isNear(held, kExactPx));
  touch.move(0, left + QPoint(-50, 30), &view())
      .move(1, right + QPoint(50, 30), &view())
      .commit();
  EXPECT_THAT(view().photoFromView(m_middle + QPoint(0, 30)), isNear(held, kExactPx));
  touch.release(0, left + QPoint(-50, 30), &view())
      .release(1, right + QPoint(50, 30), &view())
      .commit();
  EXPECT_THAT(marks(m_photo), IsEmpty());
}

TEST_F(BenchTouch, AFingerThatRestsAsksForTheMenu) {
  click("dotButton");
  clickAt(m_middle);
  QTest::touchEvent(&view(), m_screen).press(0, m_middle, &view());
  ASSERT_TRUE(QTest::qWaitFor(
      [this] { return m_page->findChild<QMenu*>(QStringLiteral("photoMenu")) != nullptr; }, 5000));
  QTest::touchEvent(&view(), m_screen).release(0, m_middle, &view());
  EXPECT_THAT(marks(m_photo), SizeIs(1)) << "resting marks nothing";
  child<QAction>("chooseStage8").trigger();
  EXPECT_EQ(marks(m_photo)[0].stage, store::Stage::Dead) << "the mark under the finger is chosen";
  if (auto* const menu = m_page->findChild<QMenu*>(QStringLiteral("photoMenu"))) {
    menu->close();
  }
}

TEST_F(BenchMore, LightIsForTheEyeAlone) {
  const auto before = view().grab().toImage();
  click("lightButton");
  child<QSlider>("lift").setValue(80);
  child<QAbstractButton>("lightButton").click();  // hides the bar again
  const auto lifted = view().grab().toImage();
  const QPoint dark = m_middle;
  EXPECT_GT(qGray(lifted.pixel(dark)), qGray(before.pixel(dark)));
  EXPECT_THAT(marks(m_photo), IsEmpty());
  EXPECT_FALSE(child<QAbstractButton>("undoButton").isEnabled()) << "no step of work";
  child<QSlider>("lift").setValue(0);
  EXPECT_EQ(view().grab().toImage().pixel(dark), before.pixel(dark));
}

TEST(BenchTone, RisesAndKeepsBlackAndWhite) {
  for (const int lift : {0, 30, 100}) {
    const auto curve = pages::toneCurve({.liftPercent = lift, .contrastPercent = 0});
    EXPECT_EQ(curve.front(), 0);
    EXPECT_EQ(curve.back(), 255);
    EXPECT_TRUE(std::ranges::is_sorted(curve));
    for (std::size_t i = 0; lift == 0 && i < curve.size(); ++i) {
      EXPECT_EQ(curve[i], i);
    }
  }
}

QImage noisePicture() {
  QImage noise(700, 500, QImage::Format_RGB32);
  QRandomGenerator random(3);
  for (int y = 0; y < noise.height(); ++y) {
    for (int x = 0; x < noise.width(); ++x) {
      noise.setPixel(x, y, random.generate() | 0xFF000000U);
    }
  }
  return noise;
}

TEST(BenchFrame, WhatIsSeenInPassingIsSmoothedWhenItStays) {
  const QImage noise = noisePicture();
  const pages::Picture picture{.photoSize = noise.size(), .levels = {noise}, .isWhole = true};
  pages::FramePlace place{.sizePx = {300, 200}, .originPx = {-40, -30}, .zoom = 0.7, .isPassing = true};
  pages::PhotoFrame frame, fresh;
  const QImage passing = frame.drawn(picture, place, {}, 0xFF000000U).copy();
  place.isPassing = false;
  const QImage stays = frame.drawn(picture, place, {}, 0xFF000000U);
  EXPECT_NE(passing, stays);
  EXPECT_EQ(stays, fresh.drawn(picture, place, {}, 0xFF000000U));
}

TEST_F(BenchMore, ALargeViewIsSmoothAgainAfterZooming) {
  openPage(import(blottedPicture(3000, 2000), "large.jpg").id);
  m_page->resize(2560, 1440);
  view().setFocus();
  press(Qt::Key_Plus);
  const QImage passing = view().grab().toImage();
  EXPECT_TRUE(QTest::qWaitFor([&] { return view().grab().toImage() != passing; }, 3000));
}

// A frame that was moved shows the same pixels as one drawn afresh.
TEST(BenchFrame, PanningDrawsTheSamePixelsAsDrawingAnew) {
  const QImage noise = noisePicture();
  const pages::Picture picture{.photoSize = noise.size(), .levels = {noise}, .isWhole = true};
  for (const double zoom : {0.7, 1.0, 3.0}) {
    pages::PhotoFrame moved;
    pages::FramePlace place{.sizePx = {300, 200}, .originPx = {-40, -30}, .zoom = zoom};
    (void)moved.drawn(picture, place, {}, 0xFF000000U);
    for (const QPointF by : {QPointF(13, 0), QPointF(-40, 9), QPointF(0, -25), QPointF(400, 0)}) {
      place.originPx += by;
      const QImage after = moved.drawn(picture, place, {}, 0xFF000000U);
      pages::PhotoFrame fresh;
      const QImage anew = fresh.drawn(picture, place, {}, 0xFF000000U);
      int worst = 0;
      for (int y = 0; y < anew.height(); ++y) {
        for (int x = 0; x < anew.width(); ++x) {
          worst = std::max(worst, std::abs(qRed(after.pixel(x, y)) - qRed(anew.pixel(x, y))));
        }
      }
      // Qt steps through the picture in 1/65536 px; noise turns that into a few levels at most.
      EXPECT_LE(worst, 3) << "zoom " << zoom << ", by " << by.x() << ", " << by.y();
    }
  }
}

TEST_F(BenchMore, AClickOnTheOverviewMovesTheView) {
  EXPECT_TRUE(view().overviewRect().isEmpty()) << "the whole photo is seen";
  click("pixelsButton");
  click("zoomInButton");
  const QRectF overview = view().overviewRect();
  ASSERT_FALSE(overview.isEmpty());
  click("dotButton");
  clickAt((overview.topLeft() + QPointF(overview.width() * 0.75, overview.height() * 0.25)).toPoint());
  EXPECT_THAT(view().photoFromView(QPointF(view().width() / 2.0, view().height() / 2.0)),
              isNear((PointPx{.x = 900, .y = 225}), 6));
  EXPECT_THAT(marks(m_photo), IsEmpty());
}

TEST_F(BenchMore, TheLoupeFollowsThePointerAndEnlarges) {
  view().setFocus();
  press(Qt::Key_L);
  EXPECT_TRUE(view().isLoupeShown());
  QTest::mouseMove(&view(), m_middle);
  const auto shown = view().grab().toImage();
  press(Qt::Key_L);
  const auto plain = view().grab().toImage();
  int differing = 0;
  for (int x = -60; x <= 60; x += 3) {
    differing += shown.pixel(m_middle + QPoint(x, 30)) != plain.pixel(m_middle + QPoint(x, 30));
  }
  EXPECT_GT(differing, 20);
  EXPECT_EQ(shown.pixel(m_middle + QPoint(-200, 0)), plain.pixel(m_middle + QPoint(-200, 0)));
}

TEST_F(BenchMore, TheNextPhotoWithoutMarksIsFound) {
  const auto second = import(blottedPicture(640, 480), "two.jpg");
  const auto third = import(blottedPicture(660, 480), "three.jpg");
  store::Mark mark;
  mark.id = store::MarkId::create();
  mark.photo = second.id;
  mark.centre = {10, 10};
  ASSERT_THAT(m_session->garden().put(mark), isOk());
  openPage(m_photo.id);
  view().setFocus();
  // The photos have no camera date: their order is that of the records.
  const auto order = *stored().photos(m_tree.id);
  press(Qt::Key_U);
  EXPECT_NE(m_page->currentPhoto(), m_photo.id);
  EXPECT_NE(m_page->currentPhoto(), second.id);
  EXPECT_EQ(m_page->currentPhoto(), third.id);
}

// The same scattered blobs, moved by a known distance on the second photo.
RgbImage blobs(int shiftX, int shiftY) {
  QImage image(900, 700, QImage::Format_RGB888);
  image.fill(QColor(190, 180, 170));
  QPainter painter(&image);
  painter.setRenderHint(QPainter::Antialiasing);
  painter.setPen(Qt::NoPen);
  QRandomGenerator random(11);
  for (int i = 0; i < 600; ++i) {
    const QPointF at(random.bounded(1100) - 100 + shiftX, random.bounded(900) - 100 + shiftY);
    painter.setBrush(
        QColor(30 + random.bounded(90), 80 + random.bounded(120), 20 + random.bounded(60)));
    painter.drawEllipse(at, 5 + random.bounded(18), 5 + random.bounded(18));
  }
  painter.end();
  RgbImage made(image.width(), image.height());
  for (int y = 0; y < made.height(); ++y) {
    std::copy_n(image.constScanLine(y), made.width() * 3, made.row(y));
  }
  return made;
}

TEST_F(BenchMore, MarksAreCopiedToWhereTheyLieOnTheNextPhoto) {
  const auto earlier = import(blobs(0, 0), "earlier.jpg");
  const auto later = import(blobs(37, -22), "later.jpg");
  openPage(earlier.id);
  m_middle = view().rect().center();
  click("dotButton");
  click("finding2");
  clickAt(m_middle);
  clickAt(m_middle + QPoint(-60, 45));
  const auto made = marks(earlier);
  ASSERT_THAT(made, SizeIs(2));
  view().setFocus();
  press(Qt::Key_G);
  ASSERT_TRUE(QTest::qWaitFor([&] { return m_page->currentPhoto() == later.id; }, 30000));
  auto copied = marks(later);
  ASSERT_THAT(copied, SizeIs(2));
  for (std::size_t i = 0; i < 2; ++i) {
    const PointPx expected{.x = made[i].centre.x + 37, .y = made[i].centre.y - 22};
    EXPECT_THAT(copied[i].centre, isNear(expected, 2));
    EXPECT_EQ(copied[i].finding, store::Finding::Aphids);
    EXPECT_NE(copied[i].id, made[i].id);
  }
  EXPECT_EQ(marks(earlier), made);
  click("undoButton");
  EXPECT_THAT(marks(later), IsEmpty());
}

TEST_F(BenchMore, OutlinesAreCarriedOverFromTheNearestPhotoAndConfirmed) {
  const auto earlier = import(blobs(0, 0), "earlier.jpg");
  const auto later = import(blobs(37, -22), "later.jpg");
  store::OutlineRecord drawn;
  drawn.id = store::OutlineId::create();
  drawn.photo = earlier.id;
  drawn.branch = m_left;
  drawn.shape.polygon = {{200, 150}, {500, 150}, {500, 420}, {200, 420}};
  ASSERT_THAT(m_session->garden().put(drawn), isOk());
  openPage(later.id);
  auto& branches = child<QTreeWidget>("branches");
  branches.setCurrentItem(branches.topLevelItem(0));
  EXPECT_TRUE(child<QAbstractButton>("carryOver").isVisible());
  view().setFocus();
  press(Qt::Key_G, Qt::ShiftModifier);
  ASSERT_TRUE(QTest::qWaitFor([&] { return !outlines(later).empty(); }, 30000));
  const auto carried = outlines(later);
  ASSERT_THAT(carried, SizeIs(1));
  EXPECT_EQ(carried[0].branch, m_left);
  EXPECT_EQ(carried[0].carriedFrom, earlier.id);
  EXPECT_FALSE(carried[0].confirmed);
  for (std::size_t i = 0; i < 4; ++i) {
    const PointPx from = drawn.shape.polygon[i];
    EXPECT_THAT(carried[0].shape.polygon[i], isNear(PointPx{.x = from.x + 37, .y = from.y - 22}, 4));
  }
  press(Qt::Key_C);
  EXPECT_TRUE(outlines(later)[0].confirmed);
  click("undoButton");
  click("undoButton");
  EXPECT_THAT(outlines(later), IsEmpty());
  click("carryOver");
  EXPECT_TRUE(QTest::qWaitFor([&] { return outlines(later).size() == 1; }, 30000));
}

TEST_F(BenchMore, UndoGoesBackToThePhotoThatWasWorkedOnBefore) {
  const auto first = import(blobs(0, 0), "first.jpg");
  const auto second = import(blobs(37, -22), "second.jpg");
  openPage(first.id);
  click("dotButton");
  clickAt(view().rect().center());
  ASSERT_EQ(marks(first).size(), 1U);
  ASSERT_THAT(m_page->openPhoto(second.id), isOk());
  ASSERT_TRUE(QTest::qWaitFor([this] { return view().isWhole(); }, 30000));
  clickAt(view().rect().center());
  ASSERT_EQ(marks(second).size(), 1U);
  click("undoButton");
  EXPECT_EQ(m_page->currentPhoto(), second.id);
  EXPECT_TRUE(marks(second).empty());
  EXPECT_TRUE(child<QAbstractButton>("undoButton").toolTip().contains(QLatin1String("on another photo")));
  click("undoButton");
  EXPECT_EQ(m_page->currentPhoto(), first.id);
  EXPECT_TRUE(marks(first).empty());
  EXPECT_FALSE(child<QAbstractButton>("undoButton").isEnabled());
  click("redoButton");
  EXPECT_EQ(marks(first).size(), 1U);
  click("redoButton");
  EXPECT_EQ(m_page->currentPhoto(), second.id);
  EXPECT_EQ(marks(second).size(), 1U);
  EXPECT_FALSE(child<QAbstractButton>("redoButton").isEnabled());
}

TEST_F(BenchMore, ConfirmsAllThatWereFoundAgainAndMeasuringAllSaysWhatItLeftOut) {
  const auto photo = import(blottedPicture(800, 600), "photo.jpg");
  const auto other = import(blobs(0, 0), "other.jpg");
  const auto add = [&](const store::BranchId& branch, double left, std::optional<double> residualPx) {
    store::OutlineRecord outline;
    outline.id = store::OutlineId::create();
    outline.photo = photo.id;
    outline.branch = branch;
    outline.shape.polygon = {{left, 100}, {left + 200, 100}, {left + 200, 300}, {left, 300}};
    outline.carriedFrom = other.id;
    outline.residualPx = residualPx;
    outline.confirmed = false;
    EXPECT_THAT(m_session->garden().put(outline), isOk());
  };
  add(m_left, 100, 2.0);
  add(m_right, 400, std::nullopt);
  openPage(photo.id);
  view().setFocus();
  press(Qt::Key_C, Qt::ShiftModifier);
  for (const auto& outline : outlines(photo)) {
    EXPECT_EQ(outline.confirmed, outline.branch == m_left) << "the likeliest place wants a look";
  }
  press(Qt::Key_M, Qt::ShiftModifier);
  ASSERT_TRUE(QTest::qWaitFor([this] { return child<QLabel>("measureReport").isVisible(); }, 30000));
  EXPECT_EQ(child<QLabel>("measureReport").text(),
            QStringLiteral("1 outline measured.\n1 carried outline waits to be confirmed and was left out."));
  click("undoButton");
  EXPECT_FALSE(outlines(photo)[0].confirmed || outlines(photo)[1].confirmed);
}

TEST_F(BenchMore, WithoutOutlinesElsewhereThereIsNothingToCarryOver) {
  import(blobs(0, 0), "earlier.jpg");
  const auto later = import(blobs(37, -22), "later.jpg");
  openPage(later.id);
  view().setFocus();
  press(Qt::Key_G, Qt::ShiftModifier);
  EXPECT_TRUE(QTest::qWaitFor([&] {
    return child<QLabel>("hint").text().startsWith(QLatin1String("No other photo of this tree"));
  }, 30000));
  EXPECT_THAT(outlines(later), IsEmpty());
}

class BenchKeys : public BenchMore {
 protected:
  pages::ActionList& openList() {
    view().setFocus();
    press(Qt::Key_A);
    auto& list = child<pages::ActionList>("actionList");
    // Until it has the keyboard, as a window manager would give it.
    EXPECT_TRUE(QTest::qWaitFor([&list] {
      list.activateWindow();
      return QApplication::focusWidget() != nullptr &&
             QApplication::focusWidget()->window() == &list;
    }));
    return list;
  }
  void closeList() {
    child<pages::ActionList>("actionList").close();
    QTest::qWait(0);
    m_page->activateWindow();
    ASSERT_TRUE(QTest::qWaitForWindowActive(m_page.get()));
  }
  void giveKey(const char* words, const QKeySequence& keys) {
    child<QLineEdit>("actionSearch").setText(QLatin1String(words));
    child<QKeySequenceEdit>("newKey").setKeySequence(keys);
    QTest::mouseClick(&child<QAbstractButton>("changeKey"), Qt::LeftButton);
  }
};

TEST_F(BenchKeys, EveryActionHasANameAndCanBeFoundAndDone) {
  openList();
  auto& list = child<QTreeWidget>("actions");
  EXPECT_EQ(list.topLevelItemCount(), m_page->actions().size());
  for (int i = 0; i < list.topLevelItemCount(); ++i) {
    EXPECT_FALSE(list.topLevelItem(i)->text(0).isEmpty());
    EXPECT_FALSE(list.topLevelItem(i)->text(2).isEmpty());
  }
  auto& search = child<QLineEdit>("actionSearch");
  search.setFocus();
  QTest::keyClicks(&search, QStringLiteral("glass pointer"));
  EXPECT_EQ(list.currentItem()->text(0), QStringLiteral("Loupe"));
  press(Qt::Key_Return);
  ASSERT_TRUE(QTest::qWaitFor([this] { return view().isLoupeShown(); }))
      << child<QLabel>("keySaid").text().toStdString();
}

TEST_F(BenchKeys, AKeyOfOnesOwnWorksAndOutlivesThePage) {
  openList();
  giveKey("set dot click crosshair", QKeySequence(Qt::Key_J));
  EXPECT_TRUE(child<QLabel>("keySaid").text().contains(QStringLiteral("J")));
  closeList();
  openPage(m_photo.id);
  view().setFocus();
  press(Qt::Key_J);
  clickAt(m_middle);
  EXPECT_THAT(marks(m_photo), SizeIs(1));
  EXPECT_TRUE(child<QAbstractButton>("dotButton").toolTip().endsWith(QStringLiteral("(J)")));
  openList();
  QTest::mouseClick(&child<QAbstractButton>("resetAllKeys"), Qt::LeftButton);
  closeList();
  click("panButton");
  press(Qt::Key_D);
  clickAt(m_middle + QPoint(50, 0));
  EXPECT_THAT(marks(m_photo), SizeIs(2));
}

TEST_F(BenchKeys, AKeyThatIsTakenIsRefusedWithTheNameOfItsAction) {
  openList();
  giveKey("set dot click crosshair", QKeySequence(Qt::Key_T));
  EXPECT_TRUE(child<QLabel>("keySaid").text().startsWith(QStringLiteral("Patch has this key")));
  closeList();
  press(Qt::Key_T);
  EXPECT_TRUE(child<QAbstractButton>("patchButton").isChecked());
}

TEST_F(BenchMore, EveryControlHasANameForAssistiveTechnology) {
  for (const char* bar : {"lightBar", "rulerBar", "hintBar", "branchChooser"}) {
    child<QWidget>(bar).show();
  }
  int seen = 0;
  for (const auto* const widget : m_page->findChildren<QWidget*>()) {
    const bool isInner = widget->objectName().startsWith(QStringLiteral("qt_")) ||
                         widget->parentWidget()->inherits("QAbstractSpinBox") ||
                         widget->parentWidget()->inherits("QComboBox");
    if (widget->focusPolicy() == Qt::NoFocus || isInner || widget->inherits("QScrollBar")) {
      continue;
    }
    auto* const accessible = QAccessible::queryAccessibleInterface(const_cast<QWidget*>(widget));
    ASSERT_NE(accessible, nullptr);
    EXPECT_FALSE(accessible->text(QAccessible::Name).isEmpty())
        << widget->metaObject()->className() << " " << widget->objectName().toStdString();
    EXPECT_NE(accessible->role(), QAccessible::NoRole);
    ++seen;
  }
  EXPECT_GT(seen, 40);
}

}  // namespace
}  // namespace edamori::test
