// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/tree/chart_view.h"

#include "app/look/theme.h"
#include "app/models/text.h"

#include <QKeyEvent>
#include <QMouseEvent>
#include <QPainter>
#include <QToolTip>

#include <cmath>
#include <utility>

namespace edamori::pages {

namespace {

QString figureWords(const work::FigureChart& chart, const work::SeriesPoint& point) {
  return chart.isFraction ? models::qText(work::figureText(chart.figure, point.estimate))
                          : QString::number(point.estimate.value);
}

// The chart in words, for those who cannot see it.
QString chartWords(const work::FigureChart& chart) {
  QStringList lines;
  for (const work::Series& series : chart.series) {
    QStringList points;
    for (const work::SeriesPoint& point : series.points) {
      points << QObject::tr("%1: %2").arg(models::dateWords(point.takenAt.date), figureWords(chart, point));
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
  setMouseTracking(true);
  setFocusPolicy(Qt::StrongFocus);
}

QString ChartView::wordsOf(const look::ChartSpot& spot) const {
  const work::Series& series = m_chart.series.at(spot.series);
  const work::SeriesPoint& point = series.points.at(spot.point);
  const QString branch = series.branchName.empty() ? tr("Whole photo") : models::qText(series.branchName);
  const QString date = models::dateWords(point.takenAt.date);
  QStringList lines{point.dateUncertain ? tr("%1, %2 (date uncertain)").arg(branch, date) : tr("%1, %2").arg(branch, date),
                    figureWords(m_chart, point)};
  if (point.flagged) {
    lines << tr("with a caution: see the Figures tab");
  }
  lines << tr("Double-click or Enter opens the photo.");
  return lines.join(QLatin1Char('\n'));
}

void ChartView::paintEvent(QPaintEvent*) {
  QPainter painter(this);
  painter.setRenderHint(QPainter::Antialiasing);
  const look::Palette colours = look::palette(look::currentTheme());
  const double scale = look::forText(100) / 100.0;
  m_spots = look::drawChart(painter, QRectF(rect()), m_chart, colours, scale);
  if (!hasFocus()) {
    return;
  }
  painter.setBrush(Qt::NoBrush);
  painter.setPen(QPen(colours.accent, 2.0 * scale));
  if (m_chosen && *m_chosen < m_spots.size()) {
    painter.drawEllipse(m_spots[*m_chosen].at, 9.0 * scale, 9.0 * scale);
  } else {
    painter.drawRoundedRect(QRectF(rect()).adjusted(1, 1, -1, -1), 4, 4);
  }
}

std::optional<std::size_t> ChartView::spotAt(QPointF place) const {
  const double reach = look::forText(12);
  std::optional<std::size_t> nearest;
  double least = reach * reach;
  for (std::size_t i = 0; i < m_spots.size(); ++i) {
    const QPointF away = m_spots[i].at - place;
    if (const double far = QPointF::dotProduct(away, away); far <= least) {
      least = far;
      nearest = i;
    }
  }
  return nearest;
}

// Left and right lead along a branch, up and down to the nearest point of the branch before or after it.
std::optional<std::size_t> ChartView::besideChosen(int key) const {
  if (!m_chosen || *m_chosen >= m_spots.size()) {
    return m_spots.empty() ? std::nullopt : std::optional(m_spots.size() - 1);
  }
  const look::ChartSpot& from = m_spots[*m_chosen];
  const bool isAlong = key == Qt::Key_Left || key == Qt::Key_Right;
  const bool isForward = key == Qt::Key_Right || key == Qt::Key_Down;
  std::optional<std::size_t> best;
  std::pair<std::size_t, double> leastAway{};
  for (std::size_t i = 0; i < m_spots.size(); ++i) {
    const look::ChartSpot& to = m_spots[i];
    const std::size_t a = isAlong ? from.point : from.series;
    const std::size_t b = isAlong ? to.point : to.series;
    if (a == b || (b > a) != isForward || (isAlong && to.series != from.series)) {
      continue;
    }
    const std::pair away{b > a ? b - a : a - b, std::abs(to.at.x() - from.at.x())};
    if (!best || away < leastAway) {
      best = i;
      leastAway = away;
    }
  }
  return best ? best : m_chosen;
}

void ChartView::choose(std::optional<std::size_t> spot) {
  m_chosen = spot;
  update();
}

void ChartView::say(std::size_t spot) {
  QToolTip::showText(mapToGlobal(m_spots[spot].at.toPoint() + QPoint(8, 8)), wordsOf(m_spots[spot]), this);
}

void ChartView::open(std::size_t spot) {
  const look::ChartSpot& opened = m_spots[spot];
  Q_EMIT photoActivated(m_chart.series.at(opened.series).points.at(opened.point).photo);
}

void ChartView::mouseMoveEvent(QMouseEvent* event) {
  const auto spot = spotAt(event->position());
  setCursor(spot ? Qt::PointingHandCursor : Qt::ArrowCursor);
  if (spot) {
    say(*spot);
  } else {
    QToolTip::hideText();
  }
}

void ChartView::mousePressEvent(QMouseEvent* event) {
  if (event->button() == Qt::LeftButton) {
    choose(spotAt(event->position()));
  }
}

void ChartView::mouseDoubleClickEvent(QMouseEvent* event) {
  if (const auto spot = spotAt(event->position()); spot && event->button() == Qt::LeftButton) {
    open(*spot);
  }
}

void ChartView::keyPressEvent(QKeyEvent* event) {
  const int key = event->key();
  const bool isArrow = key == Qt::Key_Left || key == Qt::Key_Right || key == Qt::Key_Up || key == Qt::Key_Down;
  if (isArrow && !m_spots.empty()) {
    choose(besideChosen(key));
    say(*m_chosen);
  } else if ((key == Qt::Key_Return || key == Qt::Key_Enter) && m_chosen && *m_chosen < m_spots.size()) {
    open(*m_chosen);
  } else {
    QWidget::keyPressEvent(event);
  }
}

}  // namespace edamori::pages
