// SPDX-License-Identifier: GPL-3.0-or-later
// Pictures of the window, to be looked at by a person. Skipped unless asked for:
//   EDAMORI_SHOTS=/some/folder EDAMORI_SHOTS_GARDEN=/a/garden [QT_SCALE_FACTOR=2]
//   app_test --gtest_filter='Screenshots.*'
#include "app/look/theme.h"
#include "app/models/previews.h"
#include "app/work/import.h"
#include "tests/app/pages/window_driver.h"

#include <QAction>
#include <QListView>
#include <QTabWidget>

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
    click("compare");
    ASSERT_TRUE(waitForForm("compareDialog"));
    click("compareStart");
    auto* start = child<QPushButton>("compareStart");
    waitFor([start] { return start->isEnabled(); }, 60000);
    shoot(QStringLiteral("form-compare"));
    QApplication::activeModalWidget()->close();
    ASSERT_TRUE(waitForNoForm());
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
  }

  QString m_out;
};

TEST_F(Screenshots, OfEveryPageInBothThemes) {
  shoot(QStringLiteral("welcome"));
  const std::filesystem::path garden = qEnvironmentVariable("EDAMORI_SHOTS_GARDEN").toStdString();
  shootShelf();
  shootAll(garden);
  child<QAction>("themeAction")->trigger();
  shootAll(garden);
}

}  // namespace
}  // namespace edamori::test
