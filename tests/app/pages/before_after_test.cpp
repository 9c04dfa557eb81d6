// SPDX-License-Identifier: GPL-3.0-or-later
// The Before & After page by mouse and by keys alone; what counts is what the store holds.
#include "app/pages/before_after/before_after_page.h"
#include "app/pages/before_after/save_pair_dialog.h"
#include "app/work/import.h"
#include "tests/app/pages/window_driver.h"

#include <QAccessible>
#include <QAction>
#include <QCheckBox>
#include <QListView>
#include <QListWidget>
#include <QSpinBox>
#include <QToolButton>
#include <QWheelEvent>
#include <cmath>

namespace edamori::test {
namespace {

using pages::PairMode;
using pages::PairTask;
using pages::PairView;
using ::testing::IsEmpty;
using ::testing::SizeIs;

class BeforeAfter : public WindowDriver {
 protected:
  // Two photos of one scene, 14 px apart, and one of another; the branch is outlined on the first.
  void SetUp() override {
    WindowDriver::SetUp();
    auto made = store::Garden::create(gardenFolder());
    ASSERT_THAT(made, isOk());
    store::Garden& garden = *made;
    m_tree.id = store::TreeId::create();
    m_tree.tag = "T-01";
    m_tree.species = "Pinus thunbergii";
    ASSERT_THAT(garden.put(m_tree), isOk());
    m_branch.id = store::BranchId::create();
    m_branch.tree = m_tree.id;
    m_branch.name = "first left";
    ASSERT_THAT(garden.put(m_branch), isOk());
    const auto card = photoFolder();
    EXPECT_TRUE(leafScene(99, 0).save(qPath(card / "c.jpg"), "JPG", 92));
    m_first = import(garden, card / "a.jpg", "2025-04-20T09:00:00");
    m_second = import(garden, card / "b.jpg", "2026-04-25T09:00:00");
    m_other = import(garden, card / "c.jpg", "2026-04-28T09:00:00");
    m_outline.id = store::OutlineId::create();
    m_outline.photo = m_first;
    m_outline.branch = m_branch.id;
    m_outline.shape.polygon = {{180, 140}, {760, 140}, {760, 580}, {180, 580}};
    ASSERT_THAT(garden.put(m_outline), isOk());
  }
  store::PhotoId import(store::Garden& garden, const std::filesystem::path& file, const char* date) {
    const auto report = work::importPhotos(garden, {.paths = {file}, .tree = m_tree.id});
    EXPECT_THAT(report, isOk());
    store::Photo photo = report->takenIn.at(0).photo;
    photo.takenAt = *store::parseLocalTime(date);
    photo.dateSource = store::DateSource::Edited;
    EXPECT_THAT(garden.put(photo), isOk());
    return photo.id;
  }

  void openPage() {
    ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
    auto* cards = child<QListView>("treeCards");
    cards->setFocus();
    cards->setCurrentIndex(cards->model()->index(0, 0));
    press(Qt::Key_Return);
    ASSERT_TRUE(waitFor([this] { return child<QWidget>("treePage")->isVisible(); }));
    press(Qt::Key_4, Qt::ControlModifier);
    ASSERT_TRUE(waitFor([this] { return child<QWidget>("beforeAfterPage")->isVisible(); }));
    ASSERT_TRUE(waitForPictures());
  }
  bool waitForPictures() {
    return waitFor([this] { return view()->hasPictures() && view()->message().isEmpty(); });
  }
  void pick(const char* box, const store::PhotoId& id) {
    auto* choice = child<QComboBox>(box);
    choice->setCurrentIndex(choice->findData(QString::fromStdString(id.text)));
    ASSERT_TRUE(waitForPictures());
  }
  void pickPair(const store::PhotoId& before, const store::PhotoId& after) {
    pick("compareBefore", before);
    pick("compareAfter", after);
  }
  bool waitForVerdict() {
    auto* figures = child<QLabel>("compareFigures");
    return waitFor([figures] { return !figures->text().isEmpty(); }, 50000);
  }
  void compare() {
    click("compareStart");
    ASSERT_TRUE(waitForVerdict()) << verdict().toStdString();
  }
  PairView* view() { return child<PairView>("pairView"); }
  QString verdict() { return child<QLabel>("compareVerdict")->text(); }
  std::optional<store::PairHelp> help(const store::PhotoId& after) {
    const auto found = stored().pairHelp(m_branch.id, m_first, after);
    EXPECT_THAT(found, isOk());
    return *found;
  }
  void clickAt(QPointF at) {
    QTest::mouseClick(view(), Qt::LeftButton, {}, at.toPoint());
  }
  void drag(QPointF from, QPointF to) {
    QTest::mousePress(view(), Qt::LeftButton, {}, from.toPoint());
    QTest::mouseMove(view(), ((from + to) / 2).toPoint());
    QTest::mouseMove(view(), to.toPoint());
    QTest::mouseRelease(view(), Qt::LeftButton, {}, to.toPoint());
  }

  store::Tree m_tree;
  store::Branch m_branch;
  store::PhotoId m_first, m_second, m_other;
  store::OutlineRecord m_outline;
};

TEST_F(BeforeAfter, ComparesThePairAndSaysItInWords) {
  openPage();
  pickPair(m_first, m_second);
  EXPECT_FALSE(view()->isLaidOn());
  EXPECT_FALSE(child<QToolButton>("modeLine")->isEnabled()) << "nothing lies on the other yet";
  compare();
  EXPECT_TRUE(verdict().startsWith(QLatin1String("No clear change"))) << verdict().toStdString();
  EXPECT_TRUE(child<QLabel>("compareFigures")->text().contains(QLatin1String("Loss by cover: ")));
  EXPECT_TRUE(view()->isLaidOn());
  const auto measured = stored().measurementsOfTree(m_tree.id);
  ASSERT_THAT(measured, isOk());
  const auto loss = std::ranges::find(*measured, "loss-by-cover", &store::Measurement::figure);
  ASSERT_NE(loss, measured->end());
  EXPECT_EQ(loss->verdict, "no clear change");
  EXPECT_EQ(loss->baselinePhoto, m_first);
  EXPECT_EQ(loss->photo, m_second);
}

// On bark insects are all that there is to tell, and they stand on top.
TEST_F(BeforeAfter, OfATrunkLeadsWithTheInsects) {
  auto garden = stored();
  m_branch.kind = store::BranchKind::TrunkLine;
  ASSERT_THAT(garden.put(m_branch), isOk());
  for (const auto& [photo, count] : {std::pair{m_first, 14}, std::pair{m_second, 2}}) {
    store::Mark mark;
    mark.id = store::MarkId::create();
    mark.photo = photo;
    mark.branch = m_branch.id;
    mark.finding = store::Finding::ScaleInsect;
    mark.count = count;
    mark.centre = {300, 300};
    ASSERT_THAT(garden.put(mark), isOk());
  }
  openPage();
  pickPair(m_first, m_second);
  compare();
  EXPECT_EQ(verdict(), QStringLiteral("Scale insects, live: 14 before, 2 after"));
  // Garwood 1936, exact Poisson limits: 14 → 7.7 to 23.5.
  EXPECT_TRUE(child<QLabel>("compareFigures")->text().contains(QStringLiteral("14 (7.7–23.5) before")));
  EXPECT_FALSE(child<QLabel>("compareFigures")->text().contains(QLatin1String("cover")));
}

TEST_F(BeforeAfter, ProposesPairsAroundATreatmentAndOfTheSameSeason) {
  store::Treatment treatment;
  treatment.id = store::TreatmentId::create();
  treatment.tree = m_tree.id;
  treatment.kind = store::TreatmentKind::Plucking;
  treatment.doneAt = *store::parseLocalTime("2026-04-26");
  ASSERT_THAT(stored().put(treatment), isOk());
  store::OutlineRecord later = m_outline;
  later.id = store::OutlineId::create();
  later.photo = m_second;
  ASSERT_THAT(stored().put(later), isOk());
  openPage();
  auto* list = child<QListWidget>("pairProposals");
  ASSERT_EQ(list->count(), 2);
  EXPECT_EQ(list->item(0)->text().toStdString(),
            "25 Apr 2026 and 28 Apr 2026, 3 days apart\nBefore and after plucking of 26 Apr 2026");
  EXPECT_EQ(list->item(1)->text().toStdString(),
            "20 Apr 2025 and 25 Apr 2026, 370 days apart\nSame season, 5 days off");
  // The first is chosen at once; the arrow keys choose the next.
  EXPECT_EQ(child<QComboBox>("compareBefore")->currentText(), QStringLiteral("25 Apr 2026"));
  EXPECT_EQ(child<QComboBox>("compareAfter")->currentText(), QStringLiteral("28 Apr 2026"));
  list->setFocus();
  press(Qt::Key_Down);
  EXPECT_EQ(child<QComboBox>("compareBefore")->currentText(), QStringLiteral("20 Apr 2025"));
  EXPECT_EQ(child<QComboBox>("compareAfter")->currentText(), QStringLiteral("25 Apr 2026"));
  child<QSpinBox>("seasonWindow")->setValue(4);
  EXPECT_EQ(list->count(), 1);
}

TEST_F(BeforeAfter, ModesShowThePairByMouseAndKeys) {
  openPage();
  pickPair(m_first, m_second);
  compare();
  click("modeLine");
  EXPECT_EQ(view()->mode(), PairMode::Line);
  const double middle = view()->height() / 2.0;
  drag({view()->width() * 0.5, middle}, {view()->width() * 0.25, middle});
  EXPECT_NEAR(view()->line(), 0.25, 0.01);
  view()->setFocus();
  press(Qt::Key_Right);
  EXPECT_NEAR(view()->line(), 0.27, 0.01);
  press(Qt::Key_Right, Qt::ShiftModifier);
  EXPECT_NEAR(view()->line(), 0.37, 0.01);
  press(Qt::Key_T);
  EXPECT_EQ(view()->mode(), PairMode::InTurn);
  EXPECT_TRUE(child<QToolButton>("modeTurn")->isChecked());
  EXPECT_FALSE(child<QCheckBox>("turnItself")->isChecked()) << "nothing moves unless asked to";
  const bool wasAfter = view()->isAfterShown();
  press(Qt::Key_Space);
  EXPECT_NE(view()->isAfterShown(), wasAfter);
  const bool now = view()->isAfterShown();
  child<QCheckBox>("turnItself")->setChecked(true);
  EXPECT_TRUE(waitFor([&] { return view()->isAfterShown() != now; }, 5000));
  press(Qt::Key_C);
  EXPECT_EQ(view()->mode(), PairMode::Change);
  EXPECT_FALSE(child<QCheckBox>("turnItself")->isChecked());
  EXPECT_TRUE(child<QWidget>("changeLegend")->isVisible());
  press(Qt::Key_S);
  EXPECT_EQ(view()->mode(), PairMode::SideBySide);
}

TEST_F(BeforeAfter, ZoomAndPanAreLocked) {
  openPage();
  pickPair(m_first, m_second);
  compare();
  const double half = view()->width() / 2.0;
  const auto apart = [&](PointPx photo) {
    return view()->viewFromPhoto(PairView::Side::After, photo) -
           view()->viewFromPhoto(PairView::Side::Before, photo);
  };
  const double zoomWas = view()->zoomFactor();
  QWheelEvent wheel(QPointF(120, 150), view()->mapToGlobal(QPointF(120, 150)), {}, {0, 720},
                    Qt::NoButton, {}, Qt::NoScrollPhase, false);
  const PointPx under = view()->photoFromView(PairView::Side::Before, {120, 150});
  QApplication::sendEvent(view(), &wheel);
  EXPECT_GT(view()->zoomFactor(), zoomWas);
  const QPointF still = view()->viewFromPhoto(PairView::Side::Before, under);
  EXPECT_NEAR(still.x(), 120, 1.5);
  EXPECT_NEAR(still.y(), 150, 1.5);
  EXPECT_NEAR(apart({400, 300}).x(), half, 3.0);
  EXPECT_NEAR(apart({400, 300}).y(), 0, 1e-6);
  const QPointF was = view()->viewFromPhoto(PairView::Side::After, {400, 300});
  drag({100, 100}, {130, 120});
  const QPointF is = view()->viewFromPhoto(PairView::Side::After, {400, 300});
  EXPECT_NEAR(is.x() - was.x(), 30, 1.5) << "dragging the earlier photo takes the later one along";
  EXPECT_NEAR(is.y() - was.y(), 20, 1.5);
}

TEST_F(BeforeAfter, PlacesSetByMouseLayARefusedPairOnEachOther) {
  openPage();
  pickPair(m_first, m_other);
  compare();
  EXPECT_TRUE(verdict().startsWith(QLatin1String("These two photos cannot be laid"))) << verdict().toStdString();
  EXPECT_FALSE(view()->isLaidOn());
  click("setPlaces");
  EXPECT_EQ(view()->task(), PairTask::Places);
  EXPECT_FALSE(child<QPushButton>("taskUse")->isEnabled());
  const PointPx places[][2] = {{{300, 250}, {320, 260}}, {{600, 450}, {620, 460}}};
  for (const auto& place : places) {
    clickAt(view()->viewFromPhoto(PairView::Side::After, place[1]));
    EXPECT_FALSE(view()->asksForAfter()) << "the earlier photo is asked for first";
    clickAt(view()->viewFromPhoto(PairView::Side::Before, place[0]));
    EXPECT_TRUE(view()->asksForAfter());
    clickAt(view()->viewFromPhoto(PairView::Side::After, place[1]));
  }
  EXPECT_FALSE(help(m_other).has_value()) << "kept only when the person says so";
  click("taskUse");
  ASSERT_TRUE(help(m_other).has_value());
  const store::PairHelp kept = *help(m_other);
  ASSERT_THAT(kept.pointsAfter, SizeIs(2));
  EXPECT_NEAR(kept.pointsBefore[0].x, 300, 1.0);
  EXPECT_NEAR(kept.pointsBefore[0].y, 250, 1.0);
  EXPECT_NEAR(kept.pointsAfter[1].x, 620, 1.0);
  EXPECT_NEAR(kept.pointsAfter[1].y, 460, 1.0);
  // The pair is compared again at once.
  ASSERT_TRUE(waitFor([this] { return view()->isLaidOn(); }, 50000)) << verdict().toStdString();
  EXPECT_TRUE(child<QLabel>("compareCautions")
                  ->text()
                  .contains(QLatin1String("by 2 places that are the same on both")));
  click("messageUndo");
  EXPECT_FALSE(help(m_other).has_value());
  ASSERT_TRUE(waitFor([this] {
    return !view()->isLaidOn() && verdict().startsWith(QLatin1String("These two"));
  }, 50000)) << verdict().toStdString();
}

TEST_F(BeforeAfter, PlacesAreSetTakenBackAndForgottenByKeysAlone) {
  openPage();
  pickPair(m_first, m_other);
  child<QWidget>("compareBranch")->setFocus();
  tabTo("setPlaces");
  press(Qt::Key_Space);
  ASSERT_EQ(QApplication::focusWidget(), view());
  press(Qt::Key_Return);  // shows the crosshair, in the middle of the earlier photo
  press(Qt::Key_Left, Qt::ShiftModifier);
  const PointPx expected = view()->photoFromView(
      PairView::Side::Before,
      view()->viewFromPhoto(PairView::Side::Before, {470, 360}) - QPointF(64, 0));
  press(Qt::Key_Return);
  EXPECT_TRUE(view()->asksForAfter());
  press(Qt::Key_Return);
  ASSERT_THAT(view()->places(), SizeIs(1));
  EXPECT_NEAR(view()->places()[0].before.x, expected.x, 0.01);
  EXPECT_NEAR(view()->places()[0].before.y, expected.y, 0.01);
  press(Qt::Key_Backspace);
  EXPECT_THAT(view()->places(), IsEmpty());
  EXPECT_TRUE(view()->asksForAfter());
  press(Qt::Key_Return);
  for (int i = 0; i < 2; ++i) {  // the second place, well away from the first, on both photos
    press(Qt::Key_Right, Qt::ShiftModifier);
    press(Qt::Key_Down, Qt::ShiftModifier);
    press(Qt::Key_Return);
  }
  ASSERT_THAT(view()->places(), SizeIs(2));
  press(Qt::Key_Return, Qt::ControlModifier);
  ASSERT_TRUE(help(m_other).has_value());
  EXPECT_THAT(help(m_other)->pointsBefore, SizeIs(2));
  ASSERT_TRUE(waitFor([this] { return child<QPushButton>("forgetHelp")->isEnabled(); }, 50000));
  child<QWidget>("compareBranch")->setFocus();
  tabTo("forgetHelp");
  press(Qt::Key_Space);
  EXPECT_FALSE(help(m_other).has_value());
}

TEST_F(BeforeAfter, LeavingTheTaskKeepsNothing) {
  openPage();
  pickPair(m_first, m_other);
  click("setPlaces");
  clickAt(view()->viewFromPhoto(PairView::Side::Before, {300, 250}));
  clickAt(view()->viewFromPhoto(PairView::Side::After, {300, 250}));
  press(Qt::Key_Escape);
  EXPECT_EQ(view()->task(), PairTask::Look);
  EXPECT_FALSE(help(m_other).has_value());
  EXPECT_TRUE(child<QPushButton>("setPlaces")->isEnabled());
}

TEST_F(BeforeAfter, TheCarriedOutlineIsMovedByMouseAndKeysAndConfirmed) {
  openPage();
  pickPair(m_first, m_second);
  compare();
  click("moveOutline");
  ASSERT_EQ(view()->task(), PairTask::Outline);
  const PointPx was = view()->movedOutline().polygon.at(0);
  EXPECT_NEAR(was.x, 194, 3) << "carried over by the 14 px that the scene was moved";
  const PointPx inside{.x = 470, .y = 360};
  const QPointF from = view()->viewFromPhoto(PairView::Side::After, inside);
  const PointPx target = view()->photoFromView(PairView::Side::After, from + QPointF(-40, 20));
  drag(from, from + QPointF(-40, 20));
  const double scale = 40.0 / (inside.x - target.x);
  EXPECT_NEAR(view()->movedOutline().polygon.at(0).x, was.x - 40 / scale, 1.0);
  press(Qt::Key_Right);
  EXPECT_NEAR(view()->movedOutline().polygon.at(0).x, was.x - 38 / scale, 1.0);
  press(Qt::Key_Up, Qt::ShiftModifier);
  EXPECT_NEAR(view()->movedOutline().polygon.at(0).y, was.y + 4 / scale, 1.0);
  const Outline moved = view()->movedOutline();
  press(Qt::Key_Return);
  const auto outlines = stored().outlines(m_second);
  ASSERT_THAT(outlines, isOkAnd(SizeIs(1)));
  EXPECT_EQ(outlines->front().shape, moved);
  EXPECT_TRUE(outlines->front().confirmed);
  EXPECT_EQ(outlines->front().carriedFrom, m_first);
  ASSERT_TRUE(help(m_second).has_value());
  EXPECT_EQ(help(m_second)->outlineAfter, moved.polygon);
  ASSERT_TRUE(waitFor([this] { return view()->isLaidOn(); }, 50000));
  press(Qt::Key_Z, Qt::ControlModifier);
  EXPECT_THAT(stored().outlines(m_second), isOkAnd(IsEmpty()));
  EXPECT_FALSE(help(m_second).has_value());
}

TEST_F(BeforeAfter, KeepsThePairForTheLetterOnce) {
  openPage();
  pickPair(m_first, m_second);
  EXPECT_FALSE(child<QPushButton>("compareKeep")->isEnabled());
  compare();
  click("compareKeep");
  const auto pairs = stored().pairs(m_tree.id);
  ASSERT_THAT(pairs, isOkAnd(SizeIs(1)));
  EXPECT_EQ(pairs->front().before, m_first);
  EXPECT_EQ(pairs->front().after, m_second);
  EXPECT_EQ(pairs->front().branch, m_branch.id);
  EXPECT_FALSE(child<QPushButton>("compareKeep")->isEnabled()) << "it is kept already";
  click("messageUndo");
  EXPECT_THAT(stored().pairs(m_tree.id), isOkAnd(IsEmpty()));
  EXPECT_TRUE(child<QPushButton>("compareKeep")->isEnabled());
}

TEST_F(BeforeAfter, SavesAPictureOfThePair) {
  openPage();
  pickPair(m_first, m_second);
  compare();
  click("savePicture");
  ASSERT_TRUE(waitForForm("savePairDialog"));
  const auto file = m_folder / "paar ü.png";
  paste("savePairFile", m_folder / "pair.gif");
  click("primary");
  EXPECT_TRUE(child<QLabel>("formProblem")->isVisible()) << "no such kind of picture is written";
  paste("savePairFile", file);
  click("primary");
  ASSERT_TRUE(waitForNoForm());
  const QImage saved(qPath(file));
  // Cut to the branch (580 × 440 px) with 12 % of its longer side around it, twice.
  ASSERT_FALSE(saved.isNull());
  EXPECT_NEAR(saved.width(), 2 * (580 + 2 * 69.6) + 3 * 24, 6);
  EXPECT_GT(saved.height(), 440 + 2 * 69.6);
  // The later photo lies on the earlier one: what differs are the JPEGs, not 14 px.
  const int shift = (saved.width() - 24) / 2;
  double difference = 0;
  int count = 0;
  for (int y = 200; y < 500; y += 7) {
    for (int x = 100; x < 600; x += 7) {
      difference += std::abs(qGray(saved.pixel(x, y)) - qGray(saved.pixel(x + shift, y)));
      ++count;
    }
  }
  EXPECT_LT(difference / count, 12.0);
  click("savePicture");
  ASSERT_TRUE(waitForForm("savePairDialog"));
  paste("savePairFile", file);
  click("primary");
  EXPECT_TRUE(child<QLabel>("formProblem")->isVisible()) << "asked before the old one is replaced";
  press(Qt::Key_Escape);
  ASSERT_TRUE(waitForNoForm());
}

TEST_F(BeforeAfter, AComparisonThatIsStoppedStoresNothing) {
  openPage();
  pickPair(m_first, m_second);
  click("compareStart");
  click("compareStop");
  EXPECT_EQ(verdict(), QStringLiteral("Stopped. Nothing was stored."));
  EXPECT_TRUE(child<QPushButton>("compareStart")->isEnabled()) << "the person need not wait";
  m_window.reset();  // waits for what still runs
  EXPECT_THAT(stored().measurementsOfTree(m_tree.id), isOkAnd(IsEmpty()));
}

TEST_F(BeforeAfter, SaysWhatIsMissingWithoutAnOutline) {
  ASSERT_THAT(stored().remove(m_outline.id), isOk());
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  auto* cards = child<QListView>("treeCards");
  cards->setFocus();
  cards->setCurrentIndex(cards->model()->index(0, 0));
  press(Qt::Key_Return);
  ASSERT_TRUE(waitFor([this] { return child<QWidget>("treePage")->isVisible(); }));
  click("compare");
  ASSERT_TRUE(waitFor([this] { return child<QWidget>("beforeAfterPage")->isVisible(); }));
  EXPECT_EQ(verdict(), QStringLiteral("No outline yet"));
  EXPECT_TRUE(view()->message().startsWith(QLatin1String("No photo carries an outline")));
  EXPECT_FALSE(child<QPushButton>("compareStart")->isEnabled());
}

TEST_F(BeforeAfter, TellsAssistiveTechnologyWhatIsSeen) {
  openPage();
  pickPair(m_first, m_second);
  compare();
  click("modeLine");
  QAccessibleInterface* interface = QAccessible::queryAccessibleInterface(view());
  ASSERT_NE(interface, nullptr);
  EXPECT_EQ(interface->text(QAccessible::Name), QStringLiteral("The two photos"));
  EXPECT_TRUE(interface->text(QAccessible::Description).startsWith(QLatin1String("Line at 50 %")))
      << interface->text(QAccessible::Description).toStdString();
}

}  // namespace
}  // namespace edamori::test
