// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/look/theme.h"
#include "app/pages/bench/bench_page.h"
#include "app/pages/message_bar.h"
#include "app/work/demo.h"
#include "app/work/import.h"
#include "store/safety/safety.h"
#include "tests/app/pages/window_driver.h"

#include <QAbstractItemView>
#include <QAbstractSpinBox>
#include <QAccessible>
#include <QAction>
#include <QFontInfo>
#include <QListView>
#include <QListWidget>
#include <QMenu>
#include <QMenuBar>
#include <QMimeData>
#include <QPlainTextEdit>
#include <QPushButton>
#include <QScrollArea>
#include <QScrollBar>
#include <QStackedWidget>
#include <QTabBar>
#include <QTabWidget>
#include <QTableView>
#include <QTextBrowser>
#include <QToolButton>
#include <array>
#include <cstdlib>
#include <map>

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
  void trigger(const char* text) {
    for (QAction* action : window().findChildren<QAction*>()) {
      if (action->text() == QString::fromUtf8(text)) {
        action->trigger();
        return;
      }
    }
    FAIL() << "there is no action " << text;
  }

  // Texts in sight that can have a mnemonic: of menus, buttons, tabs, and labels of a field.
  static QStringList textsOf(const QWidget& root) {
    QStringList texts;
    for (const auto* bar : root.findChildren<QMenuBar*>()) {
      for (const QAction* menu : bar->actions()) {
        texts << menu->text();
      }
    }
    for (const auto* button : root.findChildren<QAbstractButton*>()) {
      texts << (button->isVisible() ? button->text() : QString());
    }
    for (const auto* label : root.findChildren<QLabel*>()) {
      texts << (label->isVisible() && label->buddy() != nullptr ? label->text() : QString());
    }
    for (const auto* tabs : root.findChildren<QTabBar*>()) {
      for (int i = 0; tabs->isVisible() && i < tabs->count(); ++i) {
        texts << tabs->tabText(i);
      }
    }
    return texts;
  }
  static void expectNoClash(const QStringList& texts, const QString& where) {
    std::map<QString, QString> taken;
    for (const QString& text : texts) {
      const QString keys = QKeySequence::mnemonic(text).toString();
      if (!keys.isEmpty()) {
        const auto [at, isNew] = taken.try_emplace(keys, text);
        EXPECT_TRUE(isNew) << where.toStdString() << ": " << keys.toStdString() << " means “"
                           << at->second.toStdString() << "” and “" << text.toStdString() << "”";
      }
    }
    EXPECT_FALSE(taken.empty()) << where.toStdString();
  }
  void expectFormWithoutClash(const char* opener) {
    click(opener);
    ASSERT_TRUE(waitFor([] { return QApplication::activeModalWidget() != nullptr; })) << opener;
    QWidget* form = QApplication::activeModalWidget();
    expectNoClash(textsOf(*form), form->objectName());
    form->close();
    ASSERT_TRUE(waitForNoForm());
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

TEST_F(Window, FilingAPhotoCarriesTheOutlinesOfItsTreeOver) {
  makeGarden();
  const store::TreeId tree = addTree("T-01");
  const store::PhotoId first = addPhoto(tree, 1);
  store::Branch left;
  left.id = store::BranchId::create();
  left.tree = tree;
  left.name = "left";
  ASSERT_THAT(stored().put(left), isOk());
  store::OutlineRecord drawn;
  drawn.id = store::OutlineId::create();
  drawn.photo = first;
  drawn.branch = left.id;
  drawn.shape.polygon = {{60, 60}, {260, 60}, {260, 220}, {60, 220}};
  drawn.confirmed = true;
  ASSERT_THAT(stored().put(drawn), isOk());
  const auto file = m_folder / "again.jpg";
  ASSERT_TRUE(leafScene(1, 6).save(qPath(file), "JPG", 92));
  auto garden = stored();
  const auto report = work::importPhotos(garden, {.paths = {file}, .tree = {}});
  ASSERT_THAT(report, isOk());
  const store::PhotoId loose = report->takenIn.at(0).photo.id;
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  child<QListView>("unfiledPhotos")->selectAll();
  click("filePhotos");
  ASSERT_TRUE(waitFor([&] { return !stored().outlines(loose)->empty(); }));
  const auto carried = *stored().outlines(loose);
  ASSERT_THAT(carried, SizeIs(1));
  EXPECT_EQ(carried[0].branch, left.id);
  EXPECT_EQ(carried[0].carriedFrom, first);
  EXPECT_FALSE(carried[0].confirmed);
  ASSERT_TRUE(waitFor([&] {
    return child<QLabel>("messageText")->text().contains(QLatin1String("carried over"));
  }));
  press(Qt::Key_Z, Qt::ControlModifier);
  EXPECT_TRUE((*stored().find(loose))->tree.isEmpty());
  EXPECT_TRUE(stored().outlines(loose)->empty());
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

TEST_F(Window, EnterPressesTheButtonThatHasTheFocus) {
  makeGarden();
  addTree("T-01");
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openFirstTree();
  child<QTabWidget>("treeSections")->setCurrentIndex(4);
  child<QPushButton>("addNote")->setFocus();
  press(Qt::Key_Return);
  EXPECT_TRUE(waitFor([] { return QApplication::activeModalWidget() != nullptr; }));
  QApplication::activeModalWidget()->close();
  ASSERT_TRUE(waitForNoForm());
  child<QToolButton>("toGarden")->setFocus();
  press(Qt::Key_Enter);
  EXPECT_TRUE(child<QWidget>("gardenPage")->isVisible());
}

TEST_F(Window, EnterInThePathOfAnImportAddsIt) {
  makeGarden();
  const auto card = photoFolder();
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  press(Qt::Key_I, Qt::ControlModifier);
  ASSERT_TRUE(waitForForm("importDialog"));
  paste("importPath", card / "missing.jpg");
  press(Qt::Key_Return);
  EXPECT_TRUE(child<QLabel>("importProblem")->text().startsWith(QLatin1String("There is no file")));
  paste("importPath", card);
  EXPECT_TRUE(child<QLabel>("importProblem")->text().isEmpty()) << "said of a path that is gone";
  press(Qt::Key_Return);
  EXPECT_EQ(child<QListWidget>("importList")->count(), 1);
  click("importClose");
}

TEST_F(Window, TreeActionsTakeUpTheChosenCard) {
  makeGarden();
  addTree("T-01");
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  child<QListView>("treeCards")->setFocus();
  press(Qt::Key_L, Qt::ControlModifier);
  EXPECT_TRUE(waitForForm("letterDialog"));
  QApplication::activeModalWidget()->close();
  ASSERT_TRUE(waitForNoForm());
  EXPECT_TRUE(child<QWidget>("treePage")->isVisible());
}

// Never those of the tree that was shown before.
TEST_F(Window, BranchActionsTakeUpTheChosenCardToo) {
  makeGarden();
  addTree("T-01");
  addTree("T-02");
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openTree(0);
  press(Qt::Key_1, Qt::ControlModifier);
  auto* cards = child<QListView>("treeCards");
  cards->setCurrentIndex(cards->model()->index(1, 0));
  trigger("Move branch &up");
  EXPECT_TRUE(child<QWidget>("treePage")->isVisible());
  EXPECT_TRUE(child<QLabel>("treeTitle")->text().startsWith(QLatin1String("T-02")));
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

// What a person is about to click must not move away under the pointer.
TEST_F(Window, MovesNothingWhenItSaysSomethingShort) {
  makeGarden();
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  auto* const page = child<QWidget>("gardenPage");
  auto* const bar = window().findChild<pages::MessageBar*>();
  const auto place = [&] {
    QApplication::processEvents();
    return page->mapTo(&window(), QPoint()).y();
  };
  const int before = place();
  bar->offerUndo(QStringLiteral("Tree T-01 removed"));
  QTest::qWait(100);  // long enough for every layout to have settled
  EXPECT_EQ(place(), before);
  EXPECT_GE(child<QLabel>("messageText")->width(),
            child<QLabel>("messageText")->fontMetrics().horizontalAdvance(bar->text()));
  bar->sayError(QString(40, QLatin1Char('x')).append(QLatin1Char(' ')).repeated(8));
  EXPECT_TRUE(waitFor([&] { return place() > before; }, 2000)) << "a long one needs the whole width, under the trail";
  bar->hide();
  EXPECT_TRUE(waitFor([&] { return place() == before; }, 2000));
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
  auto* const again = child<QAction>("redoAction");
  EXPECT_TRUE(again->isEnabled());
  again->trigger();
  EXPECT_THAT(stored().trees(), isOkAnd(SizeIs(0)));
  EXPECT_FALSE(again->isEnabled());
  click("messageUndo");
  EXPECT_THAT(stored().trees(), isOkAnd(SizeIs(1)));
  // The same by keyboard, wherever the focus went when the last card was gone.
  child<QListView>("treeCards")->setFocus();
  QTest::keySequence(child<QListView>("treeCards"), QKeySequence(QKeySequence::Redo));
  EXPECT_THAT(stored().trees(), isOkAnd(SizeIs(0)));
  QTest::keySequence(&window(), QKeySequence(QKeySequence::Undo));
  EXPECT_THAT(stored().trees(), isOkAnd(SizeIs(1)));
}

// The undo of a removal ends with the window; the tree does not.
TEST_F(Window, BringsBackATreeThatWasRemovedBeforeItWasClosed) {
  makeGarden();
  const store::TreeId tree = addTree("T-01");
  addPhoto(tree, 1);
  auto garden = stored();
  ASSERT_THAT(garden.remove(tree), isOk());
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  trigger("Bring back a re&moved tree…");
  ASSERT_TRUE(waitForForm("nameDialog"));
  EXPECT_EQ(child<QComboBox>("removedTree")->count(), 1);
  click("primary");
  ASSERT_TRUE(waitForNoForm());
  EXPECT_THAT(stored().trees(), isOkAnd(SizeIs(1)));
  EXPECT_THAT(stored().photos(tree), isOkAnd(SizeIs(1)));
  trigger("Bring back a re&moved tree…");
  EXPECT_EQ(message(), QStringLiteral("No tree of this garden was removed."));
}

TEST_F(Window, WritesALetterFromTheBenchToo) {
  makeGarden();
  const store::TreeId tree = addTree("T-01");
  addPhoto(tree, 1);
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openFirstTree();
  click("openPhoto");
  ASSERT_TRUE(waitFor([this] { return bench().isVisible(); }));
  QTest::keySequence(&window(), QKeySequence(Qt::CTRL | Qt::Key_L));
  ASSERT_TRUE(waitForForm("letterDialog"));
  EXPECT_TRUE(child<QWidget>("treePage")->isVisible());
  press(Qt::Key_Escape);
  ASSERT_TRUE(waitForNoForm());
}

TEST_F(Window, ForgetsWhatHintsTaughtAboutATreeAndTakesThatBack) {
  makeGarden();
  const store::TreeId tree = addTree("T-01");
  store::LearnedLook look;
  look.id = store::LearnedLookId::create();
  look.tree = tree;
  look.network = "n";
  look.photoSha256 = std::string(64, 'a');
  look.photos = {look.photoSha256};
  ASSERT_THAT(stored().put(look), isOk());
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openTree(0);
  trigger("&Forget what hints taught about this tree");
  EXPECT_THAT(stored().learnedLooks(tree), isOkAnd(SizeIs(0)));
  EXPECT_EQ(message(), QStringLiteral("Forgot what hints on 1 photo taught about T-01"));
  click("messageUndo");
  EXPECT_THAT(stored().learnedLooks(tree), isOkAnd(testing::ElementsAre(look)));
}

TEST_F(Window, SaysThatThereIsNothingToForget) {
  makeGarden();
  (void)addTree("T-01");
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openTree(0);
  trigger("&Forget what hints taught about this tree");
  EXPECT_EQ(message(), QStringLiteral("Hints have taught nothing about T-01 yet."));
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

TEST_F(Window, ALetterReplacesAFileOnlyWhenToldTo) {
  makeGarden();
  addTree("T-01");
  writeFile(m_folder / "letter.pdf", "an older letter");
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openFirstTree();
  click("writeLetter");
  ASSERT_TRUE(waitForForm("letterDialog"));
  paste("letterFile", m_folder / "letter.pdf");
  click("primary");
  EXPECT_TRUE(child<QLabel>("formProblem")->isVisible());
  EXPECT_EQ(readWholeFile(m_folder / "letter.pdf"), "an older letter");
  // Another name is another question.
  writeFile(m_folder / "second.pdf", "another");
  paste("letterFile", m_folder / "second.pdf");
  click("primary");
  EXPECT_EQ(readWholeFile(m_folder / "second.pdf"), "another");
  click("primary");
  ASSERT_TRUE(waitForNoForm());
  EXPECT_EQ(readWholeFile(m_folder / "second.pdf").substr(0, 5), "%PDF-");
  EXPECT_EQ(readWholeFile(m_folder / "letter.pdf"), "an older letter");
  EXPECT_TRUE(child<QPushButton>("messageOpen")->isVisible());
}

TEST_F(Window, RestoresABackupIntoAFolderOfItsOwnAndOpensIt) {
  makeGarden();
  addPhoto(addTree("T-01"), 1);
  ASSERT_THAT(store::backupGarden(stored(), m_folder / "kept.tar"), isOk());
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  trigger("Re&store a backup…");
  ASSERT_TRUE(waitForForm("restoreDialog"));
  paste("restoreFile", m_folder / "kept.tar");
  paste("restoreFolder", gardenFolder());
  click("primary");
  EXPECT_TRUE(child<QLabel>("formProblem")->isVisible()) << "a folder with a garden is not taken";
  paste("restoreFolder", m_folder / "second");
  click("primary");
  ASSERT_TRUE(waitForNoForm());
  EXPECT_TRUE(message().contains(qPath(m_folder / "second"))) << message().toStdString();
  auto restored = store::Garden::open(m_folder / "second");
  ASSERT_THAT(restored, isOk());
  EXPECT_THAT(restored->allPhotos(), isOkAnd(SizeIs(1)));
  EXPECT_THAT(stored().allPhotos(), isOkAnd(SizeIs(1))) << "the garden that was open stays";
}

TEST_F(Window, AFormGrowsForTheLineThatSaysWhatIsMissing) {
  makeGarden();
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  click("addTree");
  ASSERT_TRUE(waitForForm("treeDialog"));
  std::map<QWidget*, int> heights;
  for (QWidget* field : QApplication::activeModalWidget()->findChildren<QWidget*>()) {
    if (qobject_cast<QLineEdit*>(field) != nullptr || qobject_cast<QComboBox*>(field) != nullptr ||
        qobject_cast<QPlainTextEdit*>(field) != nullptr) {
      heights[field] = field->height();
    }
  }
  EXPECT_GE(heights.size(), 6U);
  click("primary");
  ASSERT_TRUE(child<QLabel>("formProblem")->isVisible());
  QApplication::processEvents();
  for (const auto& [field, height] : heights) {
    EXPECT_GE(field->height(), height) << field->objectName().toStdString();
  }
}

TEST_F(Window, TheListOfKeysFitsTheScreenAndNamesEachKeyOnce) {
  press(Qt::Key_F1);
  ASSERT_TRUE(waitForForm("keysDialog"));
  EXPECT_LE(QApplication::activeModalWidget()->height(), 720);
  EXPECT_LE(QApplication::activeModalWidget()->width(), 1200);
  QString words = child<QTextBrowser>("keys")->toPlainText();
  EXPECT_EQ(words.count(QLatin1String("Ctrl+Z")), 1);
  EXPECT_EQ(words.count(QLatin1String("F6")), 2);  // and Shift+F6
  words.remove(QStringLiteral("Before & After"));
  EXPECT_FALSE(words.contains(QLatin1Char('&'))) << "a mnemonic's sign";
}

TEST_F(Window, F6GoesRoundThePartsOfAPage) {
  makeGarden();
  addPhoto(addTree("T-01"), 1);
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  child<QWidget>("treeFilter")->setFocus();
  const auto onward = [] {
    press(Qt::Key_F6);
    return QApplication::focusWidget()->objectName();
  };
  EXPECT_EQ(onward(), QLatin1String("treeCards"));
  EXPECT_EQ(onward(), QLatin1String("treeFilter")) << "the shelf is empty and hidden";
  openFirstTree();
  child<QTableView>("branches")->setFocus();
  EXPECT_EQ(onward(), QLatin1String("treePhotos"));
  onward();
  EXPECT_TRUE(child<QWidget>("treeSections")->isAncestorOf(QApplication::focusWidget()));
}

TEST_F(Window, PhotosChosenOnTheShelfStayChosen) {
  makeGarden();
  for (const quint32 seed : {1U, 2U, 3U}) {
    addPhoto({}, seed);
  }
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  auto* shelf = child<QListView>("unfiledPhotos");
  const auto choose = [shelf](int row) {
    shelf->selectionModel()->select(shelf->model()->index(row, 0), QItemSelectionModel::Select);
  };
  choose(0);
  choose(2);
  click("addTree");
  ASSERT_TRUE(waitForForm("treeDialog"));
  fill("treeTag", "T-01");
  click("primary");
  ASSERT_TRUE(waitForNoForm());
  EXPECT_EQ(shelf->selectionModel()->selectedIndexes().size(), 2);
  EXPECT_FALSE(shelf->selectionModel()->isRowSelected(1, {}));
}

// Alt and a letter must do one thing: of everything in sight and the menus' names, and within
// each menu.
TEST_F(Window, NoTwoControlsShareAMnemonic) {
  makeGarden();
  const store::TreeId tree = addTree("T-01");
  addPhoto(tree, 1);
  addPhoto({}, 2);
  for (const QMenu* menu : window().menuBar()->findChildren<QMenu*>()) {
    QStringList texts;
    for (const QAction* action : menu->actions()) {
      texts << action->text();
    }
    expectNoClash(texts, menu->title());
  }
  expectNoClash(textsOf(window()), QStringLiteral("welcome"));
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  auto* messages = child<pages::MessageBar>("messageBar");
  messages->offerUndo(QStringLiteral("as on any page"));
  expectNoClash(textsOf(window()), QStringLiteral("garden"));
  for (const char* opener : {"addTree", "owners"}) {
    expectFormWithoutClash(opener);
  }
  openFirstTree();
  auto* sections = child<QTabWidget>("treeSections");
  for (int i = 0; i < sections->count(); ++i) {
    sections->setCurrentIndex(i);
    messages->offerUndo(QStringLiteral("as on any page"));
    expectNoClash(textsOf(window()), sections->tabText(i));
  }
  for (const char* opener :
       {"editTree", "addBranch", "treeImport", "editPhoto", "writeLetter"}) {
    expectFormWithoutClash(opener);
  }
  const std::pair<int, const char*> records[]{{2, "addTreatment"}, {3, "addRecheck"}, {4, "addNote"}};
  for (const auto& [section, opener] : records) {
    sections->setCurrentIndex(section);
    expectFormWithoutClash(opener);
  }
  click("openPhoto");
  for (int i = 0; i < child<QTabWidget>("tabs")->count(); ++i) {
    child<QTabWidget>("tabs")->setCurrentIndex(i);
    messages->offerUndo(QStringLiteral("as on any page"));
    expectNoClash(textsOf(window()), QStringLiteral("bench"));
  }
  click("toBeforeAfter");
  messages->offerUndo(QStringLiteral("as on any page"));
  expectNoClash(textsOf(window()), QStringLiteral("before and after"));
}

TEST_F(Window, FitsTheSmallestScreenItIsMadeFor) {
  for (const QWidget* page : window().findChild<QStackedWidget*>()->findChildren<QWidget*>(
           QString(), Qt::FindDirectChildrenOnly)) {
    EXPECT_LE(page->minimumSizeHint().height(), 690) << page->objectName().toStdString();
    EXPECT_LE(page->minimumSizeHint().width(), 1280) << page->objectName().toStdString();
  }
  EXPECT_EQ(window().size(), QSize(1280, 800));
}

// With every bar that can show, no page pushes the window beyond the screen.
TEST_F(Window, KeepsItsSizeWithAMessageOnEveryPage) {
  makeGarden();
  addPhoto(addTree("T-01"), 1);
  addPhoto({}, 2);
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  auto* messages = child<pages::MessageBar>("messageBar");
  const auto expectSameSize = [&](const char* page) {
    messages->offerUndo(QStringLiteral("Done, and it can be taken back"));
    QApplication::processEvents();
    EXPECT_EQ(window().size(), QSize(1280, 800)) << page;
    EXPECT_FALSE(child<QScrollArea>("pages")->verticalScrollBar()->isVisible()) << page;
    EXPECT_FALSE(child<QScrollArea>("pages")->horizontalScrollBar()->isVisible()) << page;
  };
  expectSameSize("garden");
  openFirstTree();
  expectSameSize("tree");
  click("openPhoto");
  for (int i = 0; i < child<QTabWidget>("tabs")->count(); ++i) {
    child<QTabWidget>("tabs")->setCurrentIndex(i);
    expectSameSize("bench");
  }
  click("toBeforeAfter");
  expectSameSize("before and after");
}

// WCAG 2.2, 1.4.4: text grows to 200 % and everything can still be reached.
TEST_F(Window, TextGrowsToTwiceItsSizeInTheSameWindow) {
  makeGarden();
  addPhoto(addTree("T-01"), 1);
  ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
  openFirstTree();
  const int usual = QFontInfo(QApplication::font()).pixelSize();
  child<QAction>("text200")->trigger();
  EXPECT_NEAR(QFontInfo(QApplication::font()).pixelSize(), 2 * usual, 1);
  EXPECT_NEAR(child<QLabel>("treeTitle")->fontInfo().pixelSize(),
              2 * look::font(look::TextSize::Heading).pointSizeF() * 96 / 72,
              1.5);
  QApplication::processEvents();
  EXPECT_EQ(window().size(), QSize(1280, 800));
  const auto* area = child<QScrollArea>("pages");
  const QWidget* page = child<QWidget>("treePage");
  EXPECT_GE(page->height(), page->minimumSizeHint().height());
  EXPECT_GE(page->width(), page->minimumSizeHint().width());
  EXPECT_EQ(area->widget()->height() - area->viewport()->height(),
            area->verticalScrollBar()->maximum());
  EXPECT_TRUE(child<QAction>("text200")->isChecked());
  child<QAction>("text100")->trigger();
  EXPECT_EQ(QFontInfo(QApplication::font()).pixelSize(), usual);
}

TEST_F(Window, TextSizeIsRememberedWithPanelsThatFitIt) {
  child<QAction>("text150")->trigger();
  openWindow();
  EXPECT_TRUE(child<QAction>("text150")->isChecked());
  EXPECT_NEAR(look::textScale(), 1.5, 1e-9);
  EXPECT_NEAR(look::forText(100), 150, 4);
  child<QAction>("text100")->trigger();
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
