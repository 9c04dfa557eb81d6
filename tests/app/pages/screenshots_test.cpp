// SPDX-License-Identifier: GPL-3.0-or-later
// Pictures of the window, to be looked at by a person. Skipped unless asked for:
//   EDAMORI_SHOTS=/some/folder EDAMORI_SHOTS_GARDEN=/a/garden [QT_SCALE_FACTOR=2] [EDAMORI_SHOTS_TEXT=200]
//   app_test --gtest_filter='Screenshots.*'
#include "app/look/theme.h"
#include "app/models/previews.h"
#include "app/work/import.h"
#include "tests/app/pages/window_driver.h"

#include <QAction>
#include <QFile>
#include <QListView>
#include <QTabWidget>
#include <QTableView>

namespace edamori::test {
namespace {

class Screenshots : public WindowDriver {
 protected:
  void SetUp() override {
    m_out = qEnvironmentVariable("EDAMORI_SHOTS");
    if (m_out.isEmpty()) {
      GTEST_SKIP() << "EDAMORI_SHOTS names no folder";
    }
    WindowDriver::SetUp();
    if (const QByteArray percent = qgetenv("EDAMORI_SHOTS_TEXT"); !percent.isEmpty()) {
      child<QAction>("text" + percent)->trigger();
      openWindow();
    }
  }

  void shoot(const QString& name) {
    // Until no picture arrives for a while.
    waitFor([this] {
      return std::ranges::all_of(m_window->findChildren<models::PreviewLoader*>(),
                                 &models::PreviewLoader::isIdle);
    });
    QTest::qWait(400);
    QWidget* top = QApplication::activeModalWidget();
    QWidget* shown = top == nullptr ? static_cast<QWidget*>(m_window.get()) : top;
    const QString file =
        QStringLiteral("%1/%2-%3-%4x.png")
            .arg(m_out,
                 name,
                 look::currentTheme() == look::Theme::Dark ? QStringLiteral("dark")
                                                           : QStringLiteral("light"))
            .arg(shown->devicePixelRatioF());
    EXPECT_TRUE(shown->grab().save(file)) << file.toStdString();
  }

  void shootForm(const char* button, const char* form, const QString& name) {
    click(button);
    ASSERT_TRUE(waitForForm(form));
    shoot(name);
    QApplication::activeModalWidget()->close();
    ASSERT_TRUE(waitForNoForm());
  }

  void shootTree() {
    const char* const names[] = {"figures", "charts", "treatments", "checks", "notes"};
    auto* sections = child<QTabWidget>("treeSections");
    for (int i = 0; i < sections->count(); ++i) {
      sections->setCurrentIndex(i);
      shoot(QStringLiteral("tree-%1").arg(QLatin1String(names[i])));
    }
    shootForm("addBranch", "branchDialog", QStringLiteral("form-branch"));
    child<QTableView>("branches")->selectRow(0);
    shootForm("editBranch", "branchDialog", QStringLiteral("form-branch-edit"));
    sections->setCurrentIndex(3);
    shootForm("addRecheck", "recheckDialog", QStringLiteral("form-check"));
    sections->setCurrentIndex(4);
    shootForm("addNote", "noteDialog", QStringLiteral("form-note"));
    sections->setCurrentIndex(2);
    click("addTreatment");
    ASSERT_TRUE(waitForForm("treatmentDialog"));
    auto* kind = child<QComboBox>("treatmentKind");
    kind->setCurrentIndex(kind->findText(QStringLiteral("Spray")));
    shoot(QStringLiteral("form-treatment"));
    QApplication::activeModalWidget()->close();
    ASSERT_TRUE(waitForNoForm());
    shootForm("editPhoto", "photoDialog", QStringLiteral("form-photo"));
    shootForm("writeLetter", "letterDialog", QStringLiteral("form-letter"));
  }

  // Every mode, both kinds of help, a refused pair and the form to save.
  void shootPair() {
    child<QListView>("treePhotos")->setFocus();
    click("compare");
    ASSERT_TRUE(waitFor([this] { return child<QWidget>("beforeAfterPage")->isVisible(); }));
    QTest::qWait(2500);
    shoot(QStringLiteral("pair-chosen"));
    click("compareStart");
    auto* figures = child<QLabel>("compareFigures");
    waitFor([figures] { return !figures->text().isEmpty(); }, 60000);
    for (const char* mode : {"modeSide", "modeLine", "modeTurn", "modeChange"}) {
      if (child<QWidget>(mode)->isEnabled()) {
        click(mode);
      }
      shoot(QStringLiteral("pair-%1").arg(QLatin1String(mode)));
    }
    click("setPlaces");
    press(Qt::Key_Return);
    press(Qt::Key_Return);
    press(Qt::Key_Return);
    press(Qt::Key_Right, Qt::ShiftModifier);
    shoot(QStringLiteral("pair-places"));
    press(Qt::Key_Escape);
    if (child<QWidget>("moveOutline")->isEnabled()) {
      click("moveOutline");
      shoot(QStringLiteral("pair-outline"));
      press(Qt::Key_Escape);
    }
    shootForm("savePicture", "savePairDialog", QStringLiteral("form-save-pair"));
  }

  // Photos that wait to be filed, a message, and a garden's first steps.
  void shootShelf() {
    {
      auto garden = store::Garden::create(gardenFolder());
      ASSERT_THAT(garden, isOk());
      ASSERT_THAT(work::importPhotos(*garden, {{photoFolder()}, {}}), isOk());
    }
    ASSERT_THAT(window().openGarden(gardenFolder()), isOk());
    shoot(QStringLiteral("garden-first"));
    click("addTree");
    ASSERT_TRUE(waitForForm("treeDialog"));
    click("primary");
    shoot(QStringLiteral("form-problem"));
    fill("treeTag", "T-01");
    click("primary");
    ASSERT_TRUE(waitForNoForm());
    child<QListView>("unfiledPhotos")
        ->setCurrentIndex(child<QListView>("unfiledPhotos")->model()->index(0, 0));
    shoot(QStringLiteral("garden-shelf"));
    click("filePhotos");
    shoot(QStringLiteral("garden-undo"));
  }

  // Forms that the menus open: found by the words on the action.
  void shootMenu(const QString& words, const char* form, const QString& name) {
    for (QAction* action : m_window->findChildren<QAction*>()) {
      if (action->text().remove(QLatin1Char('&')) == words) {
        action->trigger();
        ASSERT_TRUE(waitForForm(form)) << words.toStdString();
        shoot(name);
        QApplication::activeModalWidget()->close();
        ASSERT_TRUE(waitForNoForm());
        return;
      }
    }
    FAIL() << "no action " << words.toStdString();
  }

  void shootMenus() {
    shootMenu(QStringLiteral("New garden…"), "newGardenDialog", QStringLiteral("form-new-garden"));
    shootMenu(QStringLiteral("Rename the garden…"), "nameDialog", QStringLiteral("form-rename"));
    shootMenu(QStringLiteral("Back up…"), "nameDialog", QStringLiteral("form-backup"));
    shootMenu(QStringLiteral("Restore a backup…"), "restoreDialog", QStringLiteral("form-restore"));
    shootMenu(QStringLiteral("About Edamori…"), "wordsDialog", QStringLiteral("form-about"));
  }

  // Many trees, long names, one photo, and a tree without any.
  void shootCrowd() {
    const std::filesystem::path folder =
        m_folder / (look::currentTheme() == look::Theme::Dark ? "crowd-dark" : "crowd-light");
    {
      auto garden = store::Garden::create(folder);
      ASSERT_THAT(garden, isOk());
      store::Tree tree;
      for (int i = 0; i < 40; ++i) {
        tree.id = store::TreeId::create();
        tree.tag = "T-" + std::to_string(100 + i);
        tree.species = i % 3 == 0 ? "Acer palmatum subsp. matsumurae var. inventum" : "Acer palmatum";
        tree.place = i % 2 == 0 ? "Bench 12 behind the second shade house, by the north wall" : "";
        ASSERT_THAT(garden->put(tree), isOk());
      }
      store::Branch branch;
      branch.id = store::BranchId::create();
      branch.tree = tree.id;
      branch.name = "Second back branch that leans over the first left one";
      ASSERT_THAT(garden->put(branch), isOk());
      ASSERT_THAT(work::importPhotos(*garden, {{photoFolder() / "a.jpg"}, tree.id}), isOk());
    }
    ASSERT_THAT(window().openGarden(folder), isOk());
    shoot(QStringLiteral("crowd"));
    child<QLineEdit>("treeFilter")->setText(QStringLiteral("nothing like it"));
    shoot(QStringLiteral("crowd-no-match"));
    child<QLineEdit>("treeFilter")->setText(QStringLiteral("T-139"));
    child<QListView>("treeCards")->setFocus();
    press(Qt::Key_Down);
    press(Qt::Key_Return);
    ASSERT_TRUE(waitFor([this] { return child<QWidget>("treePage")->isVisible(); }));
    child<QTabWidget>("treeSections")->setCurrentIndex(0);
    shoot(QStringLiteral("crowd-tree"));
    child<QTabWidget>("treeSections")->setCurrentIndex(1);
    shoot(QStringLiteral("crowd-charts"));
    click("compare");
    QTest::qWait(500);
    shoot(QStringLiteral("crowd-compare"));
    shootImport();
  }

  // The list at the end, with something refused and something there already.
  void shootImport() {
    QFile bad(qPath(photoFolder() / "broken.jpg"));
    ASSERT_TRUE(bad.open(QIODevice::WriteOnly));
    bad.close();
    press(Qt::Key_I, Qt::ControlModifier);
    ASSERT_TRUE(waitForForm("importDialog"));
    paste("importPath", photoFolder());
    click("importAdd");
    shoot(QStringLiteral("form-import-ready"));
    click("importStart");
    auto* summary = child<QLabel>("importSummary");
    waitFor([summary] { return !summary->text().isEmpty(); });
    QTest::qWait(2000);
    shoot(QStringLiteral("form-import-done"));
    QApplication::activeModalWidget()->close();
    ASSERT_TRUE(waitForNoForm());
  }

  void shootAll(const std::filesystem::path& garden) {
    ASSERT_THAT(window().openGarden(garden), isOk());
    shoot(QStringLiteral("garden"));
    shootForm("addTree", "treeDialog", QStringLiteral("form-tree"));
    shootForm("owners", "ownersDialog", QStringLiteral("form-owners"));
    press(Qt::Key_I, Qt::ControlModifier);
    ASSERT_TRUE(waitForForm("importDialog"));
    shoot(QStringLiteral("form-import"));
    QApplication::activeModalWidget()->close();
    ASSERT_TRUE(waitForNoForm());
    press(Qt::Key_F1);
    ASSERT_TRUE(waitForForm("keysDialog"));
    shoot(QStringLiteral("form-keys"));
    QApplication::activeModalWidget()->close();
    ASSERT_TRUE(waitForNoForm());
    child<QListView>("treeCards")->setFocus();
    press(Qt::Key_Return);
    ASSERT_TRUE(waitFor([this] { return child<QWidget>("treePage")->isVisible(); }));
    shootTree();
    click("openPhoto");
    QTest::qWait(3000);
    shoot(QStringLiteral("bench"));
    child<QTabWidget>("tabs")->setCurrentIndex(1);
    shoot(QStringLiteral("bench-marks"));
    child<QTabWidget>("tabs")->setCurrentIndex(0);
    click("toTree");
    shootPair();
  }

  QString m_out;
};

// Of one tree: EDAMORI_SHOTS_TREE is its row on the Garden page, 0 for the first.
TEST_F(Screenshots, OfBeforeAndAfter) {
  const std::filesystem::path garden = qEnvironmentVariable("EDAMORI_SHOTS_GARDEN").toStdString();
  ASSERT_THAT(window().openGarden(garden), isOk());
  for (int theme = 0; theme < 2; ++theme) {
    press(Qt::Key_1, Qt::ControlModifier);
    auto* cards = child<QListView>("treeCards");
    cards->setFocus();
    cards->setCurrentIndex(
        cards->model()->index(qEnvironmentVariableIntValue("EDAMORI_SHOTS_TREE"), 0));
    press(Qt::Key_Return);
    ASSERT_TRUE(waitFor([this] { return child<QWidget>("treePage")->isVisible(); }));
    shootPair();
    child<QAction>("themeAction")->trigger();
  }
}

TEST_F(Screenshots, OfEveryPageInBothThemes) {
  shoot(QStringLiteral("welcome"));
  const std::filesystem::path garden = qEnvironmentVariable("EDAMORI_SHOTS_GARDEN").toStdString();
  shootShelf();
  shootAll(garden);
  shootMenus();
  shootCrowd();
  child<QAction>("themeAction")->trigger();
  shootCrowd();
  shootAll(garden);
}

}  // namespace
}  // namespace edamori::test
