// SPDX-License-Identifier: GPL-3.0-or-later
// The main job on the Bench, by mouse and by keys alone; what counts is what the garden holds.
#include "tests/app/pages/bench_driver.h"

#include <QComboBox>
#include <QLineEdit>
#include <QScrollBar>
#include <QSpinBox>
#include <QTabWidget>
#include <QTextBrowser>
#include <QTextCursor>
#include <QTreeWidget>
#include <algorithm>

namespace edamori::test {
namespace {

using ::testing::IsEmpty;
using ::testing::SizeIs;

constexpr double kExactPx = 1e-6;

class Bench : public BenchDriver {
 protected:
  void SetUp() override {
    BenchDriver::SetUp();
    m_photo = import(blottedPicture(1200, 900), "one.jpg");
    openPage(m_photo.id);
  }
  // A square around the middle of the view, 300 px wide.
  std::vector<QPoint> square() {
    const QPoint middle = view().rect().center();
    return {middle + QPoint(-150, -150),
            middle + QPoint(150, -150),
            middle + QPoint(150, 150),
            middle + QPoint(-150, 150)};
  }
  void measureTheSquare() {
    drawOutline(square());
    keepOutlineOf(QStringLiteral("first left"));
    click("measureButton");
    ASSERT_TRUE(
        QTest::qWaitFor([this] { return child<QLabel>("measureReport").isVisible(); }, 30000));
  }
  void keepOutlineOf(const QString& branch) {
    auto& chooser = child<QComboBox>("outlineBranch");
    ASSERT_TRUE(chooser.isVisible());
    chooser.setCurrentIndex(chooser.findText(branch, Qt::MatchStartsWith));
    click("keepOutline");
  }
  void undo(int times) {
    for (int i = 0; i < times; ++i) {
      click("undoButton");
    }
  }
  QString figuresText() { return child<QTextBrowser>("figures").toPlainText(); }
  void outlineByKeys() {
    view().setFocus();
    press(Qt::Key_B);
    // The first arrow shows the crosshair in the middle; from there a square of two large steps.
    press(Qt::Key_Left);
    press(Qt::Key_Return);
    press(Qt::Key_Right, Qt::ShiftModifier, 2);
    press(Qt::Key_Return);
    press(Qt::Key_Down, Qt::ShiftModifier, 2);
    press(Qt::Key_Return);
    press(Qt::Key_Left, Qt::ShiftModifier, 2);
    press(Qt::Key_Return);
    press(Qt::Key_Return);  // on the last corner: closes
    press(Qt::Key_Return);  // the branch that is suggested
    ASSERT_THAT(outlines(m_photo), SizeIs(1));
    EXPECT_EQ(outlines(m_photo)[0].branch, m_left);
    // A large step is 64 px of the view.
    const double sidePx = 128 / view().scale();
    EXPECT_NEAR(areaPx2(outlines(m_photo)[0].shape.polygon), sidePx * sidePx, 1);
  }
  void threeDotsByKeys() {
    EXPECT_TRUE(view().hasFocus());
    press(Qt::Key_D);
    press(Qt::Key_4);
    press(Qt::Key_Up, Qt::ShiftModifier);
    for (int i = 0; i < 3; ++i) {
      press(Qt::Key_Right, {}, 3);
      press(Qt::Key_Return);
    }
    ASSERT_THAT(marks(m_photo), SizeIs(3));
    EXPECT_EQ(marks(m_photo)[0].finding, store::Finding::LeafSpot);
    EXPECT_EQ(marks(m_photo)[2].branch, m_left);
  }

  store::Photo m_photo;
};

TEST_F(Bench, OutlineByMouseIsStoredForTheChosenBranch) {
  const auto corners = square();
  // Taken before drawing: the branch chooser makes the view lower afterwards.
  std::vector<PointPx> expected;
  for (const QPoint& corner : corners) {
    expected.push_back(whole(m_photo, corner));
  }
  drawOutline(corners);
  EXPECT_THAT(outlines(m_photo), IsEmpty()) << "stored before its branch was chosen";
  keepOutlineOf(QStringLiteral("first right"));
  const auto stored = outlines(m_photo);
  ASSERT_THAT(stored, SizeIs(1));
  EXPECT_EQ(stored[0].branch, m_right);
  EXPECT_TRUE(stored[0].confirmed);
  ASSERT_THAT(stored[0].shape.polygon, SizeIs(4));
  for (std::size_t i = 0; i < 4; ++i) {
    EXPECT_THAT(stored[0].shape.polygon[i], isNear(expected[i], kExactPx));
  }
}

TEST_F(Bench, OutlineOfANewBranchMakesTheBranchAndUndoTakesBothBack) {
  drawOutline(square());
  auto& chooser = child<QComboBox>("outlineBranch");
  chooser.setCurrentIndex(chooser.count() - 1);
  QTest::keyClicks(&child<QLineEdit>("newBranchName"), QStringLiteral("apex"));
  click("keepOutline");
  ASSERT_THAT(*stored().branches(m_tree.id), SizeIs(3));
  EXPECT_EQ(outlines(m_photo).at(0).branch, stored().branches(m_tree.id)->back().id);
  undo(1);
  EXPECT_THAT(*stored().branches(m_tree.id), SizeIs(2));
  EXPECT_THAT(outlines(m_photo), IsEmpty());
  click("redoButton");
  EXPECT_THAT(*stored().branches(m_tree.id), SizeIs(3));
  EXPECT_THAT(outlines(m_photo), SizeIs(1));
}

TEST_F(Bench, EveryStepByMouseIsStoredUndoneAndRedone) {
  drawOutline(square());
  keepOutlineOf(QStringLiteral("first left"));
  const QPoint middle = view().rect().center();
  click("dotButton");
  click("finding2");
  const std::vector<QPoint> dots{middle, middle + QPoint(60, 0), middle + QPoint(0, 60)};
  for (const QPoint& dot : dots) {
    clickAt(dot);
  }
  auto stored = marks(m_photo);
  ASSERT_THAT(stored, SizeIs(3));
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_EQ(stored[i].finding, store::Finding::Aphids);
    EXPECT_EQ(stored[i].kind, store::MarkKind::Dot);
    EXPECT_EQ(stored[i].branch, m_left) << "the outline under the dot";
    EXPECT_THAT(stored[i].centre, isNear(whole(m_photo, dots[i]), kExactPx));
  }

  click("patchButton");
  const QPoint corner = middle + QPoint(-120, -120);
  drag({corner, corner + QPoint(50, 0), corner + QPoint(50, 50), corner + QPoint(0, 50)});
  stored = marks(m_photo);
  ASSERT_THAT(stored, SizeIs(4));
  EXPECT_EQ(stored[3].kind, store::MarkKind::Patch);
  const double scale = view().scale();
  EXPECT_NEAR(areaPx2(stored[3].patch), 2500 / (scale * scale), 60 / (scale * scale));

  click("selectButton");
  clickAt(dots[1]);
  QTest::mouseClick(&child<QAbstractButton>("stage1"), Qt::LeftButton, {}, QPoint(8, 10));
  auto& count = child<QSpinBox>("count");
  count.setFocus();
  count.selectAll();
  QTest::keyClicks(&count, QStringLiteral("7"));
  press(Qt::Key_Return);
  EXPECT_EQ(marks(m_photo).at(1).stage, store::Stage::Dead);
  EXPECT_EQ(marks(m_photo).at(1).count, 7);

  drag({dots[1], dots[1] + QPoint(20, 10), dots[1] + QPoint(40, 30)});
  EXPECT_THAT(marks(m_photo).at(1).centre,
              isNear(whole(m_photo, dots[1] + QPoint(40, 30)), kExactPx));
  clickAt(dots[0]);
  click("removeButton");
  const auto after = marks(m_photo);
  ASSERT_THAT(after, SizeIs(3));

  // Outline, three dots, patch, stage, count, move, remove: nine steps.
  undo(9);
  EXPECT_THAT(marks(m_photo), IsEmpty());
  EXPECT_THAT(outlines(m_photo), IsEmpty());
  EXPECT_FALSE(child<QAbstractButton>("undoButton").isEnabled());
  for (int i = 0; i < 9; ++i) {
    click("redoButton");
  }
  EXPECT_EQ(marks(m_photo), after);
  EXPECT_THAT(outlines(m_photo), SizeIs(1));
  EXPECT_FALSE(child<QAbstractButton>("redoButton").isEnabled());
}

TEST_F(Bench, MeasuringStoresFiguresWithAMaskOfThePhotosSize) {
  drawOutline(square());
  keepOutlineOf(QStringLiteral("first left"));
  click("measureButton");
  ASSERT_TRUE(
      QTest::qWaitFor([this] { return child<QLabel>("measureReport").isVisible(); }, 30000));
  const auto stored = measurements(m_photo);
  ASSERT_FALSE(stored.empty()) << child<QLabel>("measureReport").text().toStdString();
  EXPECT_EQ(stored[0].outline, outlines(m_photo).at(0).id);
  const auto labels = vision::loadLabels(m_folder / "garden" / stored[0].labelMask);
  ASSERT_THAT(labels, isOk());
  EXPECT_EQ(labels->width(), m_photo.widthPx);
  EXPECT_EQ(labels->height(), m_photo.heightPx);
  EXPECT_TRUE(child<QTextBrowser>("figures").toPlainText().contains(QStringLiteral("first left")));
}

TEST_F(Bench, AChangedOutlineSetsItsFiguresAsideUntilUndo) {
  ASSERT_NO_FATAL_FAILURE(measureTheSquare());
  const auto before = measurements(m_photo);
  ASSERT_FALSE(before.empty());
  click("selectButton");
  drag({square()[0], square()[0] + QPoint(-20, -5), square()[0] + QPoint(-30, -10)});
  EXPECT_THAT(outlines(m_photo).at(0).shape.polygon[0],
              isNear(whole(m_photo, square()[0] + QPoint(-30, -10)), kExactPx));
  EXPECT_THAT(measurements(m_photo), IsEmpty());
  EXPECT_TRUE(figuresText().contains(QStringLiteral("measure again")))
      << figuresText().toStdString();
  EXPECT_FALSE(child<QLabel>("measureReport").isVisible()) << "told of the outline as it was";
  undo(1);
  EXPECT_EQ(measurements(m_photo), before);
  EXPECT_FALSE(figuresText().contains(QStringLiteral("measure again")));
}

// 1280 × 800, less what the window itself shows above and below, with a message.
TEST_F(Bench, FiguresAreInSightAfterMeasuringOnTheSmallestScreen) {
  m_page->resize(1280, 640);
  drawOutline(square());
  keepOutlineOf(QStringLiteral("first right"));
  click("measureButton");
  ASSERT_TRUE(
      QTest::qWaitFor([this] { return child<QLabel>("measureReport").isVisible(); }, 30000));
  auto& figures = child<QTextBrowser>("figures");
  ASSERT_TRUE(figuresText().startsWith(QStringLiteral("first right")));
  const QRect seen(figures.viewport()->mapTo(m_page.get(), QPoint()), figures.viewport()->size());
  EXPECT_TRUE(m_page->rect().contains(seen));
  EXPECT_EQ(figures.verticalScrollBar()->value(), 0);
  QTextCursor last(figures.document());
  last.movePosition(QTextCursor::End);
  EXPECT_LE(figures.cursorRect(last).bottom(), figures.viewport()->height());
}

TEST_F(Bench, TheTintIsThatOfTheChosenOutlineAlone) {
  drawOutline(square());
  keepOutlineOf(QStringLiteral("first left"));
  std::vector<QPoint> beside = square();
  std::ranges::for_each(beside, [](QPoint& corner) { corner += QPoint(100, 40); });
  drawOutline(beside);
  keepOutlineOf(QStringLiteral("first right"));
  click("measureAllButton");
  ASSERT_TRUE(
      QTest::qWaitFor([this] { return child<QLabel>("measureReport").isVisible(); }, 30000));
  ASSERT_FALSE(measurements(m_photo).empty());
  for (const auto& outline : outlines(m_photo)) {
    auto& branches = child<QTreeWidget>("branches");
    branches.setCurrentItem(branches.topLevelItem(outline.branch == m_left ? 0 : 1));
    const auto box = boundsPx(outline.shape.polygon);
    const QRectF around(QPointF(box.left - 2, box.top - 2), QPointF(box.right + 2, box.bottom + 2));
    ASSERT_TRUE(QTest::qWaitFor([&] {
      return view().tints().size() == 1 && around.contains(view().tints()[0].areaPx);
    })) << view().tints().size();
    EXPECT_GT(view().tints()[0].areaPx.width(), box.width() / 2);
  }
}

TEST_F(Bench, UndoTakesTheReportOfTheMeasuringAway) {
  drawOutline(square());
  keepOutlineOf(QStringLiteral("first left"));
  click("measureButton");
  auto& report = child<QLabel>("measureReport");
  ASSERT_TRUE(QTest::qWaitFor([&report] { return report.isVisible(); }, 30000));
  undo(1);
  EXPECT_FALSE(report.isVisible()) << report.text().toStdString();
}

TEST_F(Bench, F6GoesRoundTheParts) {
  view().setFocus();
  QStringList reached;
  for (int i = 0; i < 4; ++i) {
    press(Qt::Key_F6);
    reached << QApplication::focusWidget()->objectName();
  }
  EXPECT_EQ(reached[0], QStringLiteral("branches"));
  EXPECT_TRUE(child<QTabWidget>("tabs").isAncestorOf(
      child<QTabWidget>("tabs").findChild<QWidget*>(reached[1])));
  EXPECT_EQ(reached[2], QStringLiteral("panButton"));
  EXPECT_EQ(reached[3], QStringLiteral("photo"));
  press(Qt::Key_F6, Qt::ShiftModifier);
  EXPECT_EQ(QApplication::focusWidget()->objectName(), QStringLiteral("panButton"));
}

TEST_F(Bench, TheNameOfANewBranchHasRoomForItsHint) {
  m_page->resize(1000, 640);
  drawOutline(square());
  auto& chooser = child<QComboBox>("outlineBranch");
  chooser.setCurrentIndex(chooser.count() - 1);
  const auto& name = child<QLineEdit>("newBranchName");
  ASSERT_TRUE(name.isVisible());
  EXPECT_GE(name.width() - 16, name.fontMetrics().horizontalAdvance(name.placeholderText()));
}

TEST_F(Bench, TooSmallAnOutlineIsRefusedInWords) {
  const QPoint middle = view().rect().center();
  drawOutline({middle, middle + QPoint(12, 0), middle + QPoint(12, 12)});
  keepOutlineOf(QStringLiteral("first left"));
  click("measureButton");
  auto& report = child<QLabel>("measureReport");
  ASSERT_TRUE(QTest::qWaitFor([&report] { return report.isVisible(); }, 30000));
  EXPECT_TRUE(report.text().startsWith(QStringLiteral("Not measured")));
  EXPECT_TRUE(report.text().contains(QStringLiteral("first left")));
  EXPECT_THAT(measurements(m_photo), IsEmpty());
}

TEST_F(Bench, AnOutlineThatCrossesItselfIsRefusedAndKeptForRepair) {
  const auto at = square();
  drawOutline({at[0], at[2], at[1], at[3]});
  EXPECT_TRUE(hint().contains(QStringLiteral("crosses itself"))) << hint().toStdString();
  EXPECT_FALSE(child<QComboBox>("outlineBranch").isVisible());
  EXPECT_THAT(outlines(m_photo), IsEmpty());
  // Take back the last two corners and close properly.
  view().setFocus();
  press(Qt::Key_Backspace, {}, 2);
  clickAt(at[3]);
  press(Qt::Key_Return);
  keepOutlineOf(QStringLiteral("first left"));
  EXPECT_THAT(outlines(m_photo), SizeIs(1));
}

TEST_F(Bench, ByKeysAloneTheSameJobIsDone) {
  outlineByKeys();
  ASSERT_FALSE(HasFatalFailure());
  threeDotsByKeys();
  ASSERT_FALSE(HasFatalFailure());
  press(Qt::Key_S);
  press(Qt::Key_Return);  // chooses the dot under the crosshair
  press(Qt::Key_9);
  EXPECT_EQ(marks(m_photo)[2].stage, store::Stage::Removed);
  const auto before = marks(m_photo)[2].centre;
  press(Qt::Key_Right, Qt::ControlModifier, 2);
  EXPECT_NEAR(marks(m_photo)[2].centre.x, before.x + 16 / view().scale(), kExactPx);
  press(Qt::Key_Z, Qt::ControlModifier);
  EXPECT_EQ(marks(m_photo)[2].centre, before) << "moves in a row are one step";
  press(Qt::Key_Delete);
  EXPECT_THAT(marks(m_photo), SizeIs(2));
  press(Qt::Key_Z, Qt::ControlModifier);
  EXPECT_THAT(marks(m_photo), SizeIs(3));

  press(Qt::Key_T);
  press(Qt::Key_Return);
  press(Qt::Key_Down, {}, 4);
  press(Qt::Key_Return);
  press(Qt::Key_Right, {}, 4);
  press(Qt::Key_Return);
  press(Qt::Key_Return);
  ASSERT_THAT(marks(m_photo), SizeIs(4));
  EXPECT_EQ(marks(m_photo)[3].kind, store::MarkKind::Patch);

  press(Qt::Key_M);
  ASSERT_TRUE(
      QTest::qWaitFor([this] { return child<QLabel>("measureReport").isVisible(); }, 30000));
  EXPECT_FALSE(measurements(m_photo).empty())
      << child<QLabel>("measureReport").text().toStdString();
}

TEST_F(Bench, TabReachesEveryPartAndBack) {
  child<QTabWidget>("tabs").setCurrentIndex(1);  // the marks
  view().setFocus();
  QStringList reached;
  for (int i = 0; i < 60; ++i) {
    press(Qt::Key_Tab);
    reached << QApplication::focusWidget()->objectName();
  }
  for (const char* name :
       {"photo", "branches", "finding1", "stage0", "count", "dotButton", "undoButton"}) {
    const bool isEnabled = child<QWidget>(name).isEnabled();
    EXPECT_TRUE(!isEnabled || reached.contains(QLatin1String(name))) << name;
  }
}

TEST_F(Bench, EveryControlHasAnAccessibleNameOrText) {
  for (const auto* const button : m_page->findChildren<QAbstractButton*>()) {
    // Parts inside of other controls carry names of Qt's own.
    if (button->objectName().startsWith(QStringLiteral("qt_")) || !button->isVisible()) {
      continue;
    }
    EXPECT_FALSE(button->accessibleName().isEmpty() && button->text().isEmpty())
        << button->objectName().toStdString() << " in "
        << button->parentWidget()->objectName().toStdString();
  }
  for (const char* name : {"photo", "branches", "marks", "figures", "count", "note"}) {
    EXPECT_FALSE(child<QWidget>(name).accessibleName().isEmpty()) << name;
  }
}

TEST_F(Bench, ReopenedItShowsWhatIsStored) {
  drawOutline(square());
  keepOutlineOf(QStringLiteral("first left"));
  click("dotButton");
  clickAt(view().rect().center());
  openPage(m_photo.id);
  auto& list = child<QTreeWidget>("marks");
  ASSERT_EQ(list.topLevelItemCount(), 1);
  EXPECT_EQ(list.topLevelItem(0)->text(0), QStringLiteral("Scale insect"));
  EXPECT_EQ(list.topLevelItem(0)->text(3), QStringLiteral("first left"));
  auto& branches = child<QTreeWidget>("branches");
  EXPECT_EQ(branches.topLevelItem(0)->text(1), QStringLiteral("drawn"));
  EXPECT_EQ(branches.topLevelItem(1)->text(1), QStringLiteral("none"));
}

TEST_F(Bench, CarriedOutlineWaitsForConfirmation) {
  store::OutlineRecord carried;
  carried.id = store::OutlineId::create();
  carried.photo = m_photo.id;
  carried.branch = m_left;
  carried.shape.polygon = {{100, 100}, {500, 100}, {500, 500}, {100, 500}};
  carried.carriedFrom = m_photo.id;
  carried.residualPx = 2.4;
  carried.confirmed = false;
  ASSERT_THAT(m_session->garden().put(carried), isOk());
  m_session->announceChange();
  auto& branches = child<QTreeWidget>("branches");
  EXPECT_EQ(branches.topLevelItem(0)->text(1), QStringLiteral("carried, ±2.4 px"));
  EXPECT_FALSE(child<QAbstractButton>("measureAllButton").isEnabled());
  click("confirm");
  EXPECT_TRUE(outlines(m_photo).at(0).confirmed);
  EXPECT_EQ(branches.topLevelItem(0)->text(1), QStringLiteral("carried, confirmed"));
  undo(1);
  EXPECT_FALSE(outlines(m_photo).at(0).confirmed);
}

TEST_F(Bench, LooseMarksJoinTheOutlineDrawnAroundThem) {
  click("dotButton");
  clickAt(view().rect().center());
  EXPECT_TRUE(marks(m_photo).at(0).branch.isEmpty());
  drawOutline(square());
  keepOutlineOf(QStringLiteral("first right"));
  EXPECT_EQ(marks(m_photo).at(0).branch, m_right);
  undo(1);
  EXPECT_TRUE(marks(m_photo).at(0).branch.isEmpty());
}

TEST_F(Bench, BoxChoosesMarksAndTheNextFindingChangesThemAll) {
  const QPoint middle = view().rect().center();
  click("dotButton");
  clickAt(middle);
  clickAt(middle + QPoint(40, 0));
  clickAt(middle + QPoint(200, 0));
  click("selectButton");
  drag({middle + QPoint(-60, -60), middle + QPoint(0, 0), middle + QPoint(80, 60)});
  click("finding6");
  const auto stored = marks(m_photo);
  EXPECT_EQ(stored.at(0).finding, store::Finding::Other);
  EXPECT_EQ(stored.at(1).finding, store::Finding::Other);
  EXPECT_EQ(stored.at(2).finding, store::Finding::ScaleInsect);
}

TEST_F(Bench, NoteOfAMarkIsStored) {
  click("dotButton");
  clickAt(view().rect().center());
  click("selectButton");
  clickAt(view().rect().center());
  auto& note = child<QLineEdit>("note");
  note.setFocus();
  QTest::keyClicks(&note, QStringLiteral("near the fork"));
  press(Qt::Key_Return);
  EXPECT_EQ(marks(m_photo).at(0).note, "near the fork");
}

// The other program holds the garden for writing (SQLite: one writer at a time).
TEST_F(Bench, AStepThatCannotBeStoredSaysSoAndLeavesNothing) {
  click("dotButton");
  auto other = stored();
  const auto result = other.inTransaction([&]() -> Result<void> {
    store::Note note;
    note.id = store::NoteId::create();
    note.tree = m_tree.id;
    note.writtenAt = store::now();
    note.text = "holding the lock";
    EDAMORI_RETURN_IF_ERROR(other.put(note));
    clickAt(view().rect().center());
    return {};
  });
  EXPECT_THAT(result, isOk());
  EXPECT_THAT(marks(m_photo), IsEmpty());
  EXPECT_FALSE(hint().isEmpty());
  EXPECT_EQ(child<QLabel>("hint").property("textRole").toString(), QStringLiteral("bad"));
  EXPECT_FALSE(child<QAbstractButton>("undoButton").isEnabled());
  // And the next try works.
  clickAt(view().rect().center());
  EXPECT_THAT(marks(m_photo), SizeIs(1));
}

TEST_F(Bench, StepsAreTakenBackAndMadeAgainAfterARestart) {
  drawOutline(square());
  keepOutlineOf(QStringLiteral("first left"));
  click("dotButton");
  const QPoint middle = view().rect().center();
  clickAt(middle);
  clickAt(middle + QPoint(30, 7));
  const auto both = marks(m_photo);
  ASSERT_THAT(both, SizeIs(2));
  undo(1);
  openPage(m_photo.id);  // a new page over a new desk: nothing is left of the old one in memory
  EXPECT_TRUE(child<QAbstractButton>("redoButton").isEnabled());
  click("redoButton");
  EXPECT_EQ(marks(m_photo), both) << "bit for bit";
  EXPECT_FALSE(child<QAbstractButton>("redoButton").isEnabled());
  undo(3);
  EXPECT_THAT(marks(m_photo), IsEmpty());
  EXPECT_THAT(outlines(m_photo), IsEmpty());
  EXPECT_FALSE(child<QAbstractButton>("undoButton").isEnabled());
  openPage(m_photo.id);
  for (int i = 0; i < 3; ++i) {
    click("redoButton");
  }
  EXPECT_EQ(marks(m_photo), both);
  EXPECT_THAT(outlines(m_photo), SizeIs(1));
  // A new step forgets the ones that were taken back.
  undo(2);
  click("dotButton");
  clickAt(middle + QPoint(-20, -20));
  EXPECT_FALSE(child<QAbstractButton>("redoButton").isEnabled());
  openPage(m_photo.id);
  EXPECT_FALSE(child<QAbstractButton>("redoButton").isEnabled());
  undo(2);
  EXPECT_THAT(marks(m_photo), IsEmpty());
  EXPECT_THAT(outlines(m_photo), IsEmpty());
}

TEST_F(Bench, FiguresSetAsideComeBackByUndoAfterARestart) {
  ASSERT_NO_FATAL_FAILURE(measureTheSquare());
  const auto before = measurements(m_photo);
  ASSERT_FALSE(before.empty());
  click("selectButton");
  drag({square()[0], square()[0] + QPoint(-20, -5), square()[0] + QPoint(-30, -10)});
  EXPECT_THAT(measurements(m_photo), IsEmpty());
  openPage(m_photo.id);
  undo(1);
  EXPECT_EQ(measurements(m_photo), before);
}

TEST_F(Bench, WhatWasChangedElsewhereIsNotOverwrittenByUndo) {
  click("dotButton");
  clickAt(view().rect().center());
  clickAt(view().rect().center() + QPoint(40, 0));
  auto changed = marks(m_photo).at(1);
  changed.note = "by another program";
  auto other = stored();
  ASSERT_THAT(other.put(changed), isOk());
  undo(1);
  EXPECT_EQ(marks(m_photo).at(1).note, "by another program");
  EXPECT_TRUE(hint().contains(QStringLiteral("changed elsewhere"))) << hint().toStdString();
  undo(1);  // the step before is not blocked by it
  EXPECT_THAT(marks(m_photo), SizeIs(1));
}

TEST_F(Bench, AnUndoThatMeetsABusyGardenCanBeTriedAgain) {
  click("dotButton");
  clickAt(view().rect().center());
  auto other = stored();
  const auto result = other.inTransaction([&]() -> Result<void> {
    EDAMORI_RETURN_IF_ERROR(other.setName("holding the lock"));
    undo(1);
    return {};
  });
  EXPECT_THAT(result, isOk());
  EXPECT_THAT(marks(m_photo), SizeIs(1));
  EXPECT_EQ(child<QLabel>("hint").property("textRole").toString(), QStringLiteral("bad"));
  undo(1);
  EXPECT_THAT(marks(m_photo), IsEmpty());
  click("redoButton");
  EXPECT_THAT(marks(m_photo), SizeIs(1));
}

}  // namespace
}  // namespace edamori::test
