// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/tree/chart_view.h"

#include "app/look/chart.h"
#include "app/look/theme.h"
#include "app/models/text.h"

#include <QPainter>

namespace edamori::pages {

namespace {

// The chart in words, for those who cannot see it.
QString chartWords(const work::FigureChart& chart) {
  QStringList lines;
  for (const work::Series& series : chart.series) {
    QStringList points;
    for (const work::SeriesPoint& point : series.points) {
      const QString figure = chart.isFraction ? models::qText(work::estimateText(point.estimate))
                                              : QString::number(point.estimate.value);
      points << QObject::tr("%1: %2").arg(models::dateWords(point.takenAt.date), figure);
    }
    lines << QObject::tr("%1: %2").arg(models::qText(series.branchName),
                                       points.join(QStringLiteral("; ")));
  }
  return lines.join(QLatin1Char('\n'));
}

}  // namespace

ChartView::ChartView(work::FigureChart chart, QWidget* parent)
    : QWidget(parent), m_chart(std::move(chart)) {
  setAccessibleName(tr("Chart: %1").arg(models::qText(m_chart.title)));
  setAccessibleDescription(chartWords(m_chart));
  setMinimumHeight(look::forText(280));
  setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Fixed);
}

void ChartView::paintEvent(QPaintEvent*) {
  QPainter painter(this);
  painter.setRenderHint(QPainter::Antialiasing);
  look::drawChart(painter, QRectF(rect()), m_chart, look::palette(look::currentTheme()), look::forText(100) / 100.0);
}

}  // namespace edamori::pages
