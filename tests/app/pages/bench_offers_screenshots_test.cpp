// SPDX-License-Identifier: GPL-3.0-or-later
// Pictures of offered scale insects, to be looked at by a person. Skipped unless asked for:
//   EDAMORI_SHOTS=/some/folder EDAMORI_SHOTS_PHOTO=/a/photo.jpg [QT_SCALE_FACTOR=2]
//   app_test --gtest_filter='BenchOffersScreenshots.*'
#include "tests/app/pages/bench_driver.h"

#include <QAction>

namespace edamori::test {
namespace {

class BenchOffersScreenshots : public BenchDriver {
 protected:
  void shoot(const char* name) {
    QTest::qWait(200);
    const QString file = QStringLiteral("%1/offers-%2-%3-%4x.png")
                             .arg(qEnvironmentVariable("EDAMORI_SHOTS"), QLatin1String(name))
                             .arg(look::currentTheme() == look::Theme::Dark ? QStringLiteral("dark")
                                                                            : QStringLiteral("light"))
                             .arg(m_page->devicePixelRatioF());
    EXPECT_TRUE(m_page->grab().save(file)) << file.toStdString();
  }
};

TEST_F(BenchOffersScreenshots, OfJudgingThem) {
  if (qEnvironmentVariable("EDAMORI_SHOTS").isEmpty() || qEnvironmentVariable("EDAMORI_SHOTS_PHOTO").isEmpty()) {
    GTEST_SKIP() << "EDAMORI_SHOTS names no folder or EDAMORI_SHOTS_PHOTO no photo";
  }
  const auto report = work::importPhotos(
      m_session->garden(),
      {.paths = {qEnvironmentVariable("EDAMORI_SHOTS_PHOTO").toStdString()}, .tree = m_tree.id});
  ASSERT_THAT(report, isOk());
  ASSERT_EQ(report->takenIn.size(), 1U);
  for (const auto theme : {look::Theme::Light, look::Theme::Dark}) {
    look::apply(*qApp, theme);
    openPage(report->takenIn.at(0).photo.id);
    shoot("before");
    view().setFocus();
    press(Qt::Key_F);
    shoot("searching");
    ASSERT_TRUE(QTest::qWaitFor(
        [this] { return child<QLabel>("offersTold").text().contains(QLatin1String("shown")); }, 120000));
    shoot("found");
    press(Qt::Key_Period, {}, 3);
    click("zoomInButton");
    click("zoomInButton");
    click("zoomInButton");
    click("zoomInButton");
    view().setFocus();
    press(Qt::Key_Return, {}, 2);
    press(Qt::Key_Period);
    press(Qt::Key_Comma);
    shoot("chosen");
  }
}

}  // namespace
}  // namespace edamori::test
