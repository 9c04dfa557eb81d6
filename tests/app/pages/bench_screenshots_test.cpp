// SPDX-License-Identifier: GPL-3.0-or-later
// Pictures of an ordinary marking job on the Bench, to be looked at by a person. Skipped unless
// asked for:
//   EDAMORI_SHOTS=/some/folder EDAMORI_SHOTS_GARDEN=/a/copy/of/a/garden [QT_SCALE_FACTOR=2]
//   [EDAMORI_SHOTS_SIZE=2560x1440] app_test --gtest_filter='BenchScreenshots.*'
// The garden is marked in: give it a copy.
#include "app/look/theme.h"
#include "app/pages/bench/bench_page.h"
#include "app/pages/bench/photo_view.h"
#include "tests/app/pages/window_driver.h"

#include <QAction>
#include <QListView>
#include <QSlider>
#include <QTabWidget>

namespace edamori::test {
namespace {

class BenchScreenshots : public WindowDriver {
 protected:
  void SetUp() override {
    m_out = qEnvironmentVariable("EDAMORI_SHOTS");
    if (m_out.isEmpty()) {
      GTEST_SKIP() << "EDAMORI_SHOTS names no folder";
    }
    WindowDriver::SetUp();
    const auto size = qEnvironmentVariable("EDAMORI_SHOTS_SIZE", QStringLiteral("1280x800"))
                          .split(QLatin1Char('x'));
    window().resize(size.at(0).toInt(), size.at(1).toInt());
  }

  void shoot(const QString& name) {
    QTest::qWait(300);
    QWidget* top = QApplication::activeModalWidget();
    QWidget* shown = top == nullptr ? static_cast<QWidget*>(m_window.get()) : top;
    const QString file = QStringLiteral("%1/bench-%2-%3-%4-%5x.png")
                             .arg(m_out, name)
                             .arg(m_window->width())
                             .arg(look::currentTheme() == look::Theme::Dark ? QStringLiteral("dark")
                                                                            : QStringLiteral("light"))
                             .arg(shown->devicePixelRatioF());
    EXPECT_TRUE(shown->grab().save(file)) << file.toStdString();
  }
  pages::PhotoView* view() { return child<pages::PhotoView>("photo"); }
  void clickAt(QPoint at) { QTest::mouseClick(view(), Qt::LeftButton, {}, at); }

  void mark() {
    const QPoint middle = view()->rect().center();
    click("dotButton");
    for (int i = 0; i < 14; ++i) {
      if (i % 5 == 0) {
        QTest::keyClick(view(), static_cast<Qt::Key>(Qt::Key_1 + i / 5));
      }
      clickAt(middle + QPoint(i * 61 % 300 - 150, i * 37 % 200 - 100));
    }
    QTest::keyClick(view(), Qt::Key_3);
    click("patchButton");
    QTest::mousePress(view(), Qt::LeftButton, {}, middle + QPoint(-80, 60));
    for (const QPoint by : {QPoint(-20, 50), QPoint(50, 80), QPoint(90, 110), QPoint(-30, 130)}) {
      QTest::mouseMove(view(), middle + by);
    }
    QTest::mouseRelease(view(), Qt::LeftButton, {}, middle + QPoint(-90, 90));
  }

  QString m_out;
};

TEST_F(BenchScreenshots, OfAMarkingJob) {
  const std::filesystem::path garden = qEnvironmentVariable("EDAMORI_SHOTS_GARDEN").toStdString();
  ASSERT_THAT(window().openGarden(garden), isOk());
  child<QListView>("treeCards")->setFocus();
  press(Qt::Key_Return);
  ASSERT_TRUE(waitFor([this] { return child<QWidget>("treePage")->isVisible(); }));
  click("openPhoto");
  ASSERT_TRUE(waitFor([this] { return view()->isWhole(); }));
  for (int theme = 0; theme < 2; ++theme) {
    mark();
    shoot(QStringLiteral("marking"));
    click("selectButton");
    QTest::keyClick(view(), Qt::Key_A, Qt::ControlModifier);
    shoot(QStringLiteral("chosen"));
    clickAt(QPoint(5, 5));
    click("zoomInButton");
    click("zoomInButton");
    click("zoomInButton");
    click("lightButton");
    child<QSlider>("lift")->setValue(60);
    QTest::keyClick(view(), Qt::Key_L);
    QTest::mouseMove(view(), view()->rect().center());
    shoot(QStringLiteral("close"));
    QTest::keyClick(view(), Qt::Key_L);
    child<QSlider>("lift")->setValue(0);
    click("lightButton");
    click("hintButton");
    const QPoint middle = view()->rect().center();
    for (int kind = 0; kind < 3; ++kind) {
      child<QAction>(kind == 0   ? "hintKindAction0"
                     : kind == 1 ? "hintKindAction1"
                                 : "hintKindAction2")
          ->trigger();
      QTest::mousePress(view(), Qt::LeftButton, {}, middle + QPoint(-150, 60 * kind));
      QTest::mouseMove(view(), middle + QPoint(0, 60 * kind + 20));
      QTest::mouseRelease(view(), Qt::LeftButton, {}, middle + QPoint(0, 60 * kind + 20));
    }
    shoot(QStringLiteral("hints"));
    click("rulerButton");
    clickAt(middle + QPoint(-200, -100));
    clickAt(middle + QPoint(150, -120));
    shoot(QStringLiteral("ruler"));
    QTest::keyClick(QApplication::focusWidget(), Qt::Key_Return);
    click("fitButton");
    shoot(QStringLiteral("scaled"));
    click("actionListButton");
    ASSERT_TRUE(waitForForm("actionList"));
    shoot(QStringLiteral("actions"));
    QApplication::activeModalWidget()->close();
    ASSERT_TRUE(waitForNoForm());
    child<QAction>("themeAction")->trigger();
  }
}

}  // namespace
}  // namespace edamori::test
