// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/candidate_tool.h"

#include "app/look/theme.h"
#include "app/pages/bench/photo_view.h"

#include <QApplication>
#include <QPainter>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

namespace edamori::pages {

namespace {

constexpr double kReachPx = 12.0;       // view px
constexpr double kLeastRadiusPx = 8.0;  // view px; an offer can be hit at any zoom
constexpr double kClearancePx = 4.0;    // view px between an insect and the line around it

QPolygonF hexagon(QPointF at, double radius) {
  QPolygonF corners;
  for (int i = 0; i <= 6; ++i) {
    const double angle = i * std::numbers::pi / 3;
    corners << at + QPointF(std::cos(angle), std::sin(angle)) * radius;
  }
  return corners;
}

// Hollow and broken, so that it is neither taken for a mark nor hides what it is about.
void drawOffer(QPainter& painter, const QPolygonF& shape, double strength) {
  painter.setBrush(Qt::NoBrush);
  painter.setOpacity(strength);
  // Casing and line break at the same places; lengths in view px.
  constexpr double kStrokePx = 5.0;
  constexpr double kBreakPx = 4.0;
  const auto broken = [](const QColor& colour, double widthPx) {
    QPen pen(colour, widthPx);
    pen.setCapStyle(Qt::FlatCap);
    pen.setDashPattern({kStrokePx / widthPx, kBreakPx / widthPx});
    return pen;
  };
  painter.setPen(broken(QColor(0, 0, 0, 200), 5.0));
  painter.drawPolyline(shape);
  painter.setPen(broken(Qt::white, 3.4));
  painter.drawPolyline(shape);
  painter.setPen(broken(look::findingColour(store::Finding::ScaleInsect), 2.0));
  painter.drawPolyline(shape);
}

}  // namespace

CandidateTool::CandidateTool(Candidates& candidates,
                             PhotoDesk& desk,
                             PhotoView& view,
                             QObject* parent)
    : Tool(desk, view, parent), m_candidates(candidates) {
  connect(&m_candidates, &Candidates::changed, this, &CandidateTool::changed);
  connect(&m_candidates, &Candidates::choiceChanged, this, &CandidateTool::changed);
}

int CandidateTool::candidateAt(PointPx photo) const {
  return m_candidates.at(photo, kReachPx / view().scale());
}

void CandidateTool::press(const ToolPoint& at) {
  m_pressedAt = m_last = at.view;
  m_pressedOn = candidateAt(at.photo);
  m_isMoved = false;
}

void CandidateTool::drag(const ToolPoint& at) {
  const QPointF way = at.view - m_pressedAt;
  m_isMoved = m_isMoved || way.manhattanLength() >= QApplication::startDragDistance();
  if (m_isMoved) {
    view().panBy(at.view - m_last);
  }
  m_last = at.view;
}

void CandidateTool::hover(const ToolPoint& at) {
  if (const int under = candidateAt(at.photo); under != m_under) {
    m_under = under;
    Q_EMIT changed();
  }
}

// Accepted only where the hand was laid on it: a drag that ends on an offer does nothing.
void CandidateTool::release(const ToolPoint& at) {
  const int on = std::exchange(m_pressedOn, -1);
  if (!m_isMoved && on >= 0 && on == candidateAt(at.photo)) {
    m_candidates.accept(on);
  }
}

void CandidateTool::enter(const ToolPoint& at) {
  const int under = candidateAt(at.photo);
  m_candidates.accept(under >= 0 ? under : m_candidates.chosen());
}

void CandidateTool::finish() { m_candidates.accept(m_candidates.chosen()); }

void CandidateTool::stepBack() { m_candidates.reject(m_candidates.chosen()); }

void CandidateTool::cancel() { m_candidates.choose(-1); }

void CandidateTool::paint(QPainter& painter) const {
  painter.save();
  const QRectF seen = QRectF(view().rect()).adjusted(-60, -60, 60, 60);
  for (int i = 0; i < m_candidates.shownCount(); ++i) {
    const auto& candidate = m_candidates.offered()[static_cast<std::size_t>(i)];
    const QPointF at = view().viewFromPhoto(candidate.centrePx);
    if (!seen.contains(at)) {
      continue;
    }
    const double radius =
        std::max(kLeastRadiusPx, candidate.radiusPx * view().scale() + kClearancePx);
    if (i == m_candidates.chosen()) {
      painter.setOpacity(1);
      drawHaloLine(painter, hexagon(at, radius + 6), QColor(86, 180, 233), 2.5);
    }
    const bool isNear = i == m_under || i == m_candidates.chosen();
    drawOffer(painter, hexagon(at, radius), isNear ? 1.0 : 0.7);
  }
  painter.restore();
}

QString CandidateTool::hint() const {
  return tr(
      "Broken hexagons are offers; none counts until you accept it. Click one to accept it, "
      "right-click or X rejects it; full stop and comma go to the next and the one before.");
}

}  // namespace edamori::pages
