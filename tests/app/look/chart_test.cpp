// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/look/chart.h"

#include "app/look/chart_axes_internal.h"
#include "app/look/chart_signs_internal.h"

#include <QImage>
#include <QPainter>

#include <gmock/gmock.h>

#include <algorithm>
#include <cmath>
#include <set>

namespace edamori::look {
namespace {

using namespace std::chrono_literals;
using std::chrono::year_month_day;

store::LocalTime at(year_month_day date) { return {.date = date, .timeOfDay = 0s, .subSeconds = {}, .offsetMinutes = {}}; }

work::FigureChart chartOf(int seriesCount, int pointCount) {
  work::FigureChart chart{.figure = "foliage", .title = "Foliage cover", .isFraction = true, .series = {}, .treatments = {}};
  for (int s = 0; s < seriesCount; ++s) {
    work::Series series{.branch = {}, .branchName = "Branch with quite a long name " + std::to_string(s), .points = {}};
    for (int i = 0; i < pointCount; ++i) {
      const double value = 0.7 - 0.06 * s - 0.02 * i;
      work::SeriesPoint point;
      point.takenAt = at(year_month_day(std::chrono::sys_days(2025y / 3 / 1) + std::chrono::days(31 * i)));
      point.estimate = {value, value - 0.05, value + 0.05};
      series.points.push_back(point);
    }
    chart.series.push_back(series);
  }
  return chart;
}

store::Treatment treatmentOn(year_month_day date) {
  store::Treatment treatment;
  treatment.kind = store::TreatmentKind::Spray;
  treatment.doneAt = at(date);
  return treatment;
}

constexpr QRgb kGround = 0xFF123456;

QImage drawn(const work::FigureChart& chart, const QRect& area = QRect(60, 50, 500, 260), double scale = 1.0) {
  QImage image(area.right() + 80, area.bottom() + 80, QImage::Format_RGB32);
  image.fill(kGround);
  QPainter painter(&image);
  drawChart(painter, area, chart, palette(Theme::Light), scale);
  return image;
}

int paintedOutside(const QImage& image, const QRect& area) {
  int count = 0;
  for (int y = 0; y < image.height(); ++y) {
    for (int x = 0; x < image.width(); ++x) {
      count += !area.contains(x, y) && image.pixel(x, y) != kGround ? 1 : 0;
    }
  }
  return count;
}

int paintedIn(const QImage& image, const QRect& area) {
  int count = 0;
  for (int y = area.top(); y <= area.bottom(); ++y) {
    for (int x = area.left(); x <= area.right(); ++x) {
      count += image.pixel(x, y) != kGround ? 1 : 0;
    }
  }
  return count;
}

TEST(Chart, PaintsInItsAreaAndNowhereElse) {
  const QRect area(60, 50, 500, 260);
  for (const auto& [series, points] : {std::pair{0, 0}, {1, 1}, {1, 60}, {8, 5}, {12, 2}}) {
    work::FigureChart chart = chartOf(series, points);
    for (int i = 0; i < 9; ++i) {
      chart.treatments.push_back(treatmentOn(year_month_day(std::chrono::sys_days(2025y / 3 / 5) + std::chrono::days(9 * i))));
    }
    const QImage image = drawn(chart, area);
    EXPECT_EQ(paintedOutside(image, area), 0) << series << " series, " << points << " points";
    EXPECT_GT(paintedIn(image, area), 100) << series << " series, " << points << " points";
  }
}

TEST(Chart, SurvivesAreasThatAreFarTooSmall) {
  for (const QRect& area : {QRect(60, 50, 40, 30), QRect(60, 50, 120, 60), QRect(60, 50, 1, 1)}) {
    EXPECT_EQ(paintedOutside(drawn(chartOf(8, 5), area), area), 0);
  }
}

// Twice the scale on twice the area fills about four times the pixels: nothing keeps its size in px.
TEST(Chart, ScalesForPrint) {
  const QRect small(60, 50, 500, 260), large(60, 50, 1000, 520);
  const double ratio = static_cast<double>(paintedIn(drawn(chartOf(2, 5), large, 2.0), large)) /
                       paintedIn(drawn(chartOf(2, 5), small, 1.0), small);
  EXPECT_NEAR(ratio, 4.0, 1.0);
}

TEST(Chart, ShowsEveryThingItIsGiven) {
  const work::FigureChart plain = chartOf(2, 4);
  const QImage reference = drawn(plain);
  work::FigureChart changed = plain;
  changed.treatments.push_back(treatmentOn(2025y / 4 / 20));
  EXPECT_NE(drawn(changed), reference) << "treatment";
  changed = plain;
  changed.series[1].points[2].dateUncertain = true;
  EXPECT_NE(drawn(changed), reference) << "uncertain date";
  changed = plain;
  changed.series[1].points[2].flagged = true;
  EXPECT_NE(drawn(changed), reference) << "caution";
  changed = plain;
  changed.series[1].points[2].estimate.low -= 0.01;
  EXPECT_NE(drawn(changed), reference) << "interval";
  changed = plain;
  changed.series[0].points.push_back({});
  EXPECT_NE(drawn(changed), reference) << "point without a date, named in the key";
}

TEST(SeriesStyles, DifferByColourShapeAndDashesAtOnce) {
  std::set<QString> colours;
  std::set<int> shapes;
  std::set<QList<qreal>> dashes;
  for (std::size_t i = 0; i < 8; ++i) {
    const SeriesStyle style = seriesStyle(i, palette(Theme::Light));
    colours.insert(style.colour.name());
    shapes.insert(style.shape);
    dashes.insert(style.dash);
  }
  EXPECT_EQ(colours.size(), 8U);
  EXPECT_EQ(shapes.size(), 8U);
  EXPECT_EQ(dashes.size(), 8U);
}

// Day numbers from `date -u -d DATE +%s` (GNU coreutils), divided by 86400.
TEST(DateTicks, FallOnFirstsOfMonths) {
  const auto ticks = dateTicks(20179.0 - 12.0, 20467.0, 12);  // 2025-03-20 … 2026-01-14
  ASSERT_EQ(ticks.size(), 10U);
  EXPECT_EQ(ticks.front().label, QStringLiteral("Apr"));
  EXPECT_EQ(ticks.front().yearLabel, QStringLiteral("2025"));
  EXPECT_DOUBLE_EQ(ticks.front().day, 20179.0);  // 2025-04-01
  EXPECT_EQ(ticks.back().label, QStringLiteral("Jan"));
  EXPECT_EQ(ticks.back().yearLabel, QStringLiteral("2026"));
  EXPECT_DOUBLE_EQ(ticks.back().day, 20454.0);  // 2026-01-01
}

TEST(DateTicks, AreNeverMoreThanAskedFor) {
  for (const double days : {1.0, 10.0, 45.0, 61.0, 63.0, 400.0, 4000.0, 40000.0, 400000.0}) {
    for (const int most : {2, 3, 6, 12}) {
      const auto ticks = dateTicks(20179.3, 20179.3 + days, most);
      EXPECT_LE(ticks.size(), static_cast<std::size_t>(most)) << days;
      for (const DateTick& tick : ticks) {
        EXPECT_GE(tick.day, 20179.3);
        EXPECT_LE(tick.day, 20179.3 + days);
      }
    }
  }
}

TEST(DateTicks, UseTheLocalDateAsWritten) {
  store::LocalTime late = at(2025y / 4 / 1);
  late.timeOfDay = 23h + 30min;
  late.offsetMinutes = -600;
  EXPECT_NEAR(dayOf(late), 20179.0 + 23.5 / 24.0, 1e-9);
}

TEST(ValueAxis, HoldsTheDataBetweenMultiplesOfItsStep) {
  for (const auto& [low, high] : {std::pair{0.581, 0.669}, {0.0, 1.0}, {0.62, 0.62}, {0.99, 1.0}, {0.0, 0.001},
                                  {-0.31, 0.12}, {-0.002, -0.001}}) {
    for (const int most : {1, 3, 5, 8}) {
      const ValueAxis axis = valueAxis(low, high, true, most);
      EXPECT_LE(axis.low, low + 1e-9);
      EXPECT_GE(axis.high, high - 1e-9);
      EXPECT_LE(axis.tickCount() - 1, low < 0.0 && high > 0.0 ? std::max(most, 2) : most);
      EXPECT_GE(axis.tickCount(), 2);
      EXPECT_NEAR(std::remainder(axis.low, axis.step), 0.0, 1e-9);
      if (low >= 0.0) {
        EXPECT_GE(axis.low, -1e-9) << low << "…" << high;
      }
    }
  }
}

TEST(ValueAxis, OfCountsStartsAtNothingInWholeSteps) {
  const ValueAxis axis = valueAxis(2.8, 14.4, false, 5);
  EXPECT_DOUBLE_EQ(axis.low, 0.0);
  EXPECT_DOUBLE_EQ(axis.step, std::round(axis.step));
  EXPECT_DOUBLE_EQ(valueAxis(0.0, 0.0, false, 5).step, 1.0);
}

}  // namespace
}  // namespace edamori::look
