// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/look/theme.h"
#include "app/pages/bench/bench_page.h"
#include "app/work/demo.h"
#include "app/work/import.h"
#include "store/safety/safety.h"
#include "tests/app/pages/window_driver.h"

#include <QAbstractItemView>
#include <QAbstractSpinBox>
#include <QAccessible>
#include <QAction>
#include <QListView>
#include <QMenuBar>
#include <QMimeData>
#include <QPlainTextEdit>
#include <QStackedWidget>
#include <QTableView>
#include <QToolButton>

namespace edamori::test {
namespace {

using ::testing::SizeIs;

class Window : public WindowDriver {
 protected:
  void makeGarden() {
    auto made = store::Garden::create(gardenFolder());
    ASSERT_THAT(made, isOk());
    ASSERT_THAT(made->setName("Test garden"), isOk());
  }
  store::TreeId addTree(const char* tag) {
    store::Tree tree;
    tree.id = store::TreeId::create();
    tree.tag = tag;
    tree.species = "Pinus thunbergii";
    EXPECT_THAT(stored().put(tree), isOk());
    return tree.id;
  }
  store::PhotoId addPhoto(const store::TreeId& tree, quint32 seed) {
    const auto file = m_folder / ("scene" + std::to_string(seed) + ".jpg");
    EXPECT_TRUE(leafScene(seed, 0).save(qPath(file), "JPG", 92));
    auto garden = stored();
    const auto report = work::importPhotos(garden, {.paths = {file}, .tree = tree});
    EXPECT_THAT(report, isOk());
    return report->takenIn.at(0).photo.id;
  }
  void openTree(int row) {
    auto* cards = child<QListView>("treeCards");
    cards->setFocus();
    cards->setCurrentIndex(cards->model()->index(row, 0));
    press(Qt::Key_Return);
    ASSERT_TRUE(waitFor([this] { return child<QWidget>("treePage")->isVisible(); }));
  }
  pages::BenchPage& bench() { return *window().findChild<pages::BenchPage*>(); }
  void openFirstTree() {
    auto* cards = child<QListView>("treeCards");
    cards->setFocus();
    press(Qt::Key_Return);
    ASSERT_TRUE(waitFor([this] { return child<QWidget>("treePage")->isVisible(); }));
  }
};

TEST_F(Window, ShowsTheWaysToAGardenWhenThereIsNone) {
  EXPECT_TRUE(child<QWidget>("welcomePanel")->isVisible());
  EXPECT_FALSE(child<QToolButton>("toGarden")->isEnabled());
}

TEST_F(Window, OpensTheGardenOfLastTime) {
  makeGarden();
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openWindow();
  EXPECT_TRUE(child<QWidget>("gardenPage")->isVisible());
  EXPECT_TRUE(window().windowTitle().contains(QLatin1String("Test garden")));
}

TEST_F(Window, KeepsWhatIsOpenWhenAFolderIsNoGarden) {
  makeGarden();
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  const auto opened = window().openGarden(m_folder / "nothing");
  EXPECT_THAT(opened, failsWith(ErrorCode::Storage));
  EXPECT_EQ(message().toStdString(), opened.error().message);
  EXPECT_TRUE(child<QWidget>("gardenPage")->isVisible());
}

// As `edamori --garden FOLDER` starts it: another garden in its place would be taken for it.
TEST_F(Window, ShowsTheWaysToAGardenWhenTheOneAskedForIsNone) {
  makeGarden();
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openWindow(pages::MainWindow::StartWith::Welcome);
  const auto opened = window().openGarden(m_folder / "nothing");
  EXPECT_THAT(opened, failsWith(ErrorCode::Storage));
  EXPECT_TRUE(child<QWidget>("welcomePanel")->isVisible());
  EXPECT_TRUE(child<QLabel>("messageText")->isVisible());
  EXPECT_EQ(message().toStdString(), opened.error().message);
}

// A mark set on the Bench must land on the tree that the trail names.
TEST_F(Window, TheBenchBelongsToTheTreeInTheTrail) {
  makeGarden();
  const store::TreeId first = addTree("T-01");
  const store::TreeId second = addTree("T-02");
  const store::PhotoId ofFirst = addPhoto(first, 1);
  const store::PhotoId ofSecond = addPhoto(second, 2);
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openTree(0);
  click("openPhoto");
  EXPECT_EQ(bench().currentPhoto(), ofFirst);
  press(Qt::Key_1, Qt::ControlModifier);
  openTree(1);
  press(Qt::Key_3, Qt::ControlModifier);
  EXPECT_TRUE(bench().isVisible());
  EXPECT_EQ(bench().currentPhoto(), ofSecond);
  EXPECT_EQ(bench().currentTree(), second);
  EXPECT_TRUE(child<QToolButton>("toTree")->text().startsWith(QLatin1String("T-02")));
  press(Qt::Key_2, Qt::ControlModifier);
  EXPECT_TRUE(child<QLabel>("treeTitle")->text().startsWith(QLatin1String("T-02")));
}

TEST_F(Window, APhotoThatIsNotFiledStandsUnderNoTree) {
  makeGarden();
  const store::TreeId tree = addTree("T-01");
  addPhoto(tree, 1);
  const store::PhotoId loose = addPhoto({}, 2);
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openTree(0);
  press(Qt::Key_1, Qt::ControlModifier);
  auto* shelf = child<QListView>("unfiledPhotos");
  shelf->setFocus();
  press(Qt::Key_Return);
  EXPECT_EQ(bench().currentPhoto(), loose);
  EXPECT_EQ(child<QToolButton>("toTree")->text(), QLatin1String("not filed"));
  EXPECT_FALSE(child<QToolButton>("toTree")->isEnabled());
}

TEST_F(Window, WhatWasSaidOfOnePageDoesNotStayOnTheNext) {
  makeGarden();
  addTree("T-01");
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openFirstTree();
  click("editBranch");
  EXPECT_TRUE(child<QWidget>("messageBar")->isVisible());
  press(Qt::Key_1, Qt::ControlModifier);
  EXPECT_FALSE(child<QWidget>("messageBar")->isVisible());
}

TEST_F(Window, NamesEveryFileThatItRefuses) {
  makeGarden();
  const auto card = photoFolder();
  writeFile(card / "broken.jpg", readWholeFile(card / "a.jpg").substr(0, 4000));
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  press(Qt::Key_I, Qt::ControlModifier);
  ASSERT_TRUE(waitForForm("importDialog"));
  paste("importPath", card);
  click("importStart");
  auto* summary = child<QLabel>("importSummary");
  ASSERT_TRUE(waitFor([summary] {
    return summary->text() == QLatin1String("2 taken in, 0 already there, 1 refused");
  })) << summary->text().toStdString();
  const auto* rows = child<QTableView>("importOutcomes")->model();
  EXPECT_EQ(rows->index(0, 0).data().toString(), QLatin1String("broken.jpg"));
  EXPECT_FALSE(rows->index(0, 2).data().toString().isEmpty());
  EXPECT_THAT(stored().allPhotos(), isOkAnd(SizeIs(2)));
}

TEST_F(Window, ClosesSafelyWhilePhotosAreTakenIn) {
  makeGarden();
  const auto card = photoFolder();
  for (quint32 i = 0; i < 12; ++i) {
    ASSERT_TRUE(leafScene(100 + i, 0).save(qPath(card / ("n" + std::to_string(i) + ".jpg"))));
  }
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  press(Qt::Key_I, Qt::ControlModifier);
  ASSERT_TRUE(waitForForm("importDialog"));
  paste("importPath", card);
  click("importStart");
  m_window.reset();
  const auto report = store::checkGarden(stored());
  ASSERT_THAT(report, isOk());
  EXPECT_THAT(report->problems, SizeIs(0));
}

TEST_F(Window, OffersDroppedFilesForImport) {
  makeGarden();
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  QMimeData data;
  data.setUrls({QUrl::fromLocalFile(qPath(photoFolder() / "a.jpg"))});
  // Qt delivers a drop only to the widget that took the drag.
  QDragEnterEvent enter(QPoint(400, 400), Qt::CopyAction, &data, Qt::LeftButton, Qt::NoModifier);
  QApplication::sendEvent(&window(), &enter);
  QDropEvent drop(QPointF(400, 400), Qt::CopyAction, &data, Qt::LeftButton, Qt::NoModifier);
  QApplication::sendEvent(&window(), &drop);
  ASSERT_TRUE(waitForForm("importDialog"));
  click("importStart");
  auto* summary = child<QLabel>("importSummary");
  ASSERT_TRUE(
      waitFor([summary] { return summary->text().startsWith(QLatin1String("1 taken in")); }));
}

TEST_F(Window, RemembersTheTheme) {
  const auto text = [] { return QApplication::palette().color(QPalette::WindowText); };
  const QColor light = text();
  child<QAction>("themeAction")->trigger();
  EXPECT_NE(text(), light);
  openWindow();
  EXPECT_EQ(look::currentTheme(), look::Theme::Dark);
  child<QAction>("themeAction")->trigger();
  EXPECT_EQ(text(), light);
}

TEST_F(Window, TakesBackTheRemovalOfATree) {
  makeGarden();
  addTree("T-01");
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openFirstTree();
  for (QAction* action : window().findChildren<QAction*>()) {
    if (action->text() == QLatin1String("&Remove tree")) {
      action->trigger();
    }
  }
  EXPECT_TRUE(child<QWidget>("gardenPage")->isVisible());
  EXPECT_THAT(stored().trees(), isOkAnd(SizeIs(0)));
  click("messageUndo");
  EXPECT_THAT(stored().trees(), isOkAnd(SizeIs(1)));
}

TEST_F(Window, ADateEditedByHandSaysSo) {
  makeGarden();
  const store::TreeId tree = addTree("T-01");
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openFirstTree();
  click("treeImport");
  ASSERT_TRUE(waitForForm("importDialog"));
  paste("importPath", photoFolder());
  click("importStart");
  auto* summary = child<QLabel>("importSummary");
  ASSERT_TRUE(
      waitFor([summary] { return summary->text().startsWith(QLatin1String("2 taken in")); }));
  click("importClose");
  ASSERT_TRUE(waitForNoForm());
  child<QListView>("treePhotos")
      ->setCurrentIndex(child<QListView>("treePhotos")->model()->index(0, 0));
  click("editPhoto");
  ASSERT_TRUE(waitForForm("photoDialog"));
  child<QDateEdit>("photoDate")->setDate(QDate(2024, 5, 6));
  click("primary");
  ASSERT_TRUE(waitForNoForm());
  const auto photos = stored().photos(tree);
  ASSERT_THAT(photos, isOkAnd(SizeIs(2)));
  EXPECT_EQ(store::dateText(photos->front().takenAt), "2024-05-06");
  EXPECT_EQ(photos->front().dateSource, store::DateSource::Edited);
  EXPECT_EQ(photos->back().dateSource, store::DateSource::FileTime);
}

TEST_F(Window, BranchesKeepTheOrderThatTheyAreGiven) {
  makeGarden();
  const store::TreeId tree = addTree("T-01");
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openFirstTree();
  for (const char* name : {"low", "middle", "top"}) {
    click("addBranch");
    ASSERT_TRUE(waitForForm("branchDialog"));
    fill("branchName", name);
    click("primary");
    ASSERT_TRUE(waitForNoForm());
  }
  click("branchUp");  // the one just added is chosen
  const auto names = [&] {
    std::string all;
    // Named, because a loop does not keep the Result that its vector lies in.
    const auto branches = stored().branches(tree);
    EXPECT_TRUE(branches.has_value());
    for (const store::Branch& branch : *branches) {
      all += branch.name + " ";
    }
    return all;
  };
  EXPECT_EQ(names(), "low top middle ");
  click("messageUndo");
  EXPECT_EQ(names(), "low middle top ");
}

TEST_F(Window, CancelledDemoLeavesNothingBehind) {
  ASSERT_THAT(work::samplesFolder(), isOk());
  click("openDemo");
  click("demoCancel");
  auto* demo = child<QPushButton>("openDemo");
  ASSERT_TRUE(waitFor([demo] { return demo->isEnabled(); }, 50000));
  EXPECT_FALSE(std::filesystem::exists(work::defaultDemoFolder() / "garden.sqlite"));
}

TEST_F(Window, WritesALetter) {
  makeGarden();
  addTree("T-01");
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openFirstTree();
  click("writeLetter");
  ASSERT_TRUE(waitForForm("letterDialog"));
  paste("letterFile", m_folder / "letter.pdf");
  click("primary");
  ASSERT_TRUE(waitForNoForm());
  // ISO 32000-1, 7.5.2: a PDF file starts with %PDF-.
  EXPECT_EQ(readWholeFile(m_folder / "letter.pdf").substr(0, 5), "%PDF-");
}

TEST_F(Window, FitsTheSmallestScreenItIsMadeFor) {
  for (const QWidget* page : window().findChild<QStackedWidget*>()->findChildren<QWidget*>(
           QString(), Qt::FindDirectChildrenOnly)) {
    EXPECT_LE(page->minimumSizeHint().height(), 690) << page->objectName().toStdString();
    EXPECT_LE(page->minimumSizeHint().width(), 1280) << page->objectName().toStdString();
  }
  EXPECT_EQ(window().size(), QSize(1280, 800));
}

// Every control that can be reached says what it is.
TEST_F(Window, EveryControlHasAnAccessibleName) {
  makeGarden();
  addTree("T-01");
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openFirstTree();
  const QWidget* bench = window().findChild<pages::BenchPage*>();
  int checked = 0;
  for (QWidget* widget : window().findChildren<QWidget*>()) {
    const bool isInside = widget->objectName().startsWith(QLatin1String("qt_")) ||
                          qobject_cast<QAbstractSpinBox*>(widget->parentWidget()) != nullptr ||
                          qobject_cast<QComboBox*>(widget->parentWidget()) != nullptr ||
                          widget->metaObject()->className() == QByteArray("QTableCornerButton") ||
                          widget->inherits("QComboBoxPrivateContainer") ||
                          widget->inherits("QComboBoxListView") || widget->inherits("QHeaderView");
    const bool isControl = qobject_cast<QAbstractButton*>(widget) != nullptr ||
                           qobject_cast<QLineEdit*>(widget) != nullptr ||
                           qobject_cast<QComboBox*>(widget) != nullptr ||
                           qobject_cast<QAbstractItemView*>(widget) != nullptr ||
                           qobject_cast<QPlainTextEdit*>(widget) != nullptr;
    if (!isControl || isInside || bench->isAncestorOf(widget) ||
        (widget->focusPolicy() & Qt::TabFocus) == 0) {
      continue;
    }
    ++checked;
    QAccessibleInterface* interface = QAccessible::queryAccessibleInterface(widget);
    ASSERT_NE(interface, nullptr);
    EXPECT_FALSE(interface->text(QAccessible::Name).isEmpty())
        << widget->metaObject()->className() << " " << widget->objectName().toStdString();
  }
  EXPECT_GT(checked, 25);
}

}  // namespace
}  // namespace edamori::test
