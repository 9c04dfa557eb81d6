// SPDX-License-Identifier: GPL-3.0-or-later
// The charts of a tree: of one branch, walked along by keys, opened by mouse.
#include "app/pages/tree/chart_view.h"
#include "app/pages/tree/charts_panel.h"

#include <QComboBox>
#include <QTest>
#include <QToolTip>

#include <gmock/gmock.h>

namespace edamori::pages {
namespace {

using namespace std::chrono_literals;
using std::chrono::year_month_day;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::SizeIs;

work::SeriesPoint pointOn(const char* photo, year_month_day date, double value) {
  work::SeriesPoint point;
  point.photo = {photo};
  point.takenAt = {.date = date, .timeOfDay = 0s, .subSeconds = {}, .offsetMinutes = {}};
  point.estimate = {value, value - 0.05, value + 0.05};
  return point;
}

// Two branches on the same three days; the last day of the second has no figure.
work::FigureChart chartOf(const char* figure) {
  work::FigureChart chart{.figure = figure, .title = figure, .isFraction = true, .series = {}, .treatments = {}};
  chart.series.push_back({.branch = {"left"},
                          .branchName = "First left",
                          .points = {pointOn("a", 2026y / 4 / 1, 0.9), pointOn("b", 2026y / 5 / 1, 0.7),
                                     pointOn("c", 2026y / 6 / 1, 0.8)}});
  chart.series.push_back({.branch = {"apex"},
                          .branchName = "Apex",
                          .points = {pointOn("a", 2026y / 4 / 1, 0.3), pointOn("b", 2026y / 5 / 1, 0.4)}});
  return chart;
}

struct Shown {
  ChartView view{chartOf("foliage")};
  std::vector<std::string> opened;

  Shown() {
    view.resize(700, 300);
    view.show();
    QObject::connect(&view, &ChartView::photoActivated, &view,
                     [this](const store::PhotoId& photo) { opened.push_back(photo.text); });
    EXPECT_TRUE(QTest::qWaitForWindowExposed(&view));
    EXPECT_TRUE(QTest::qWaitFor([this] { return !view.spots().empty(); }));
  }
};

TEST(ChartView, SaysWhatAPointShows) {
  Shown shown;
  ASSERT_THAT(shown.view.spots(), SizeIs(5));
  const std::string words = shown.view.wordsOf(shown.view.spots().at(1)).toStdString();
  EXPECT_THAT(words, HasSubstr("First left"));
  EXPECT_THAT(words, HasSubstr("2026"));
  EXPECT_THAT(words, HasSubstr("70.0"));
}

TEST(ChartView, IsWalkedAlongByArrowKeysAndOpenedByEnter) {
  Shown shown;
  const auto open = [&shown](std::initializer_list<Qt::Key> keys) {
    for (const Qt::Key key : keys) {
      QTest::keyClick(&shown.view, key);
    }
    QTest::keyClick(&shown.view, Qt::Key_Return);
  };
  open({});                              // nothing is chosen yet
  open({Qt::Key_Left});                  // begins with the last point drawn: Apex, 1 May
  open({Qt::Key_Left, Qt::Key_Left});    // Apex, 1 April, and no further
  open({Qt::Key_Up, Qt::Key_Right, Qt::Key_Right});  // First left, 1 June
  open({Qt::Key_Down});                  // Apex has none on that day: 1 May is nearest
  EXPECT_THAT(shown.opened, ElementsAre("b", "a", "c", "b"));
}

TEST(ChartView, OpensThePhotoThatIsDoubleClicked) {
  Shown shown;
  const QPoint place = shown.view.spots().at(2).at.toPoint();
  QTest::mouseMove(&shown.view, place);
  QTest::mouseDClick(&shown.view, Qt::LeftButton, {}, place);
  EXPECT_THAT(shown.opened, ElementsAre("c"));
  QTest::mouseDClick(&shown.view, Qt::LeftButton, {}, QPoint(2, 2));
  EXPECT_THAT(shown.opened, SizeIs(1));
}

TEST(ChartsPanel, ShowsOneBranchAndKeepsToIt) {
  ChartsPanel panel;
  work::FigureChart ofApexAlone = chartOf("spot");
  ofApexAlone.series.erase(ofApexAlone.series.begin());
  panel.setCharts({chartOf("foliage"), ofApexAlone});
  panel.resize(700, 700);
  panel.show();
  auto* const branch = panel.findChild<QComboBox*>(QStringLiteral("chartBranch"));
  ASSERT_NE(branch, nullptr);
  EXPECT_EQ(branch->count(), 3);  // all, First left, Apex
  EXPECT_THAT(panel.findChildren<ChartView*>(), SizeIs(2));
  branch->setCurrentText(QStringLiteral("First left"));
  ASSERT_THAT(panel.findChildren<ChartView*>(), SizeIs(1));
  panel.setCharts({chartOf("foliage"), ofApexAlone});
  EXPECT_EQ(branch->currentText(), QStringLiteral("First left"));
  auto* const view = panel.findChild<ChartView*>();
  ASSERT_TRUE(QTest::qWaitFor([view] { return !view->spots().empty(); }));
  EXPECT_THAT(view->spots(), SizeIs(3));
  panel.setCharts({ofApexAlone});
  EXPECT_EQ(branch->currentIndex(), 0);
}

}  // namespace
}  // namespace edamori::pages
