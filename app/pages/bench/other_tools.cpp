// SPDX-License-Identifier: GPL-3.0-or-later
// Tools beside marking: what an outline leaves out, the ruler, the hint brush.
#include "app/pages/bench/photo_view.h"
#include "app/pages/bench/tool.h"

#include <QApplication>
#include <QPainter>
#include <algorithm>
#include <cmath>
#include <utility>

namespace edamori::pages {

namespace {

double distance(QPointF a, QPointF b) { return std::hypot(a.x() - b.x(), a.y() - b.y()); }

// A light pen still paints: the least share of the width.
constexpr double kLeastPressureWidth = 0.3;

}  // namespace

QString HoleTool::hint() const {
  return tr(
      "Drag around, or click the corners of, what the outline of the chosen branch shall leave out: "
      "the pot, another branch.");
}

void HoleTool::take(const Polygon& shape) { desk().leaveOut(desk().chosenBranch(), shape); }

// ---- Ruler

void RulerTool::press(const ToolPoint& at) {
  if (m_to || !desk().isInside(at.photo)) {
    return;
  }
  m_pressedAt = at.view;
  m_pointer = at.photo;
  m_isFirst = !m_from;
  if (m_isFirst) {
    m_from = at.photo;
  }
  Q_EMIT changed();
}

void RulerTool::drag(const ToolPoint& at) { hover(at); }

void RulerTool::hover(const ToolPoint& at) {
  m_pointer = at.photo;
  if (m_from && !m_to) {
    Q_EMIT changed();
  }
}

void RulerTool::release(const ToolPoint& at) {
  if (!m_from || m_to) {
    return;
  }
  const bool isDrag = distance(at.view, m_pressedAt) >= QApplication::startDragDistance();
  if (m_isFirst && !isDrag) {
    return;  // the first of two clicks
  }
  if (desk().isInside(at.photo) && at.photo != *m_from) {
    m_to = at.photo;
    Q_EMIT changed();
    Q_EMIT completed();
  }
}

void RulerTool::cancel() {
  m_from.reset();
  m_to.reset();
  Q_EMIT changed();
  Q_EMIT dropped();
}

void RulerTool::stepBack() { cancel(); }

void RulerTool::paint(QPainter& painter) const {
  if (!m_from) {
    return;
  }
  const PointPx end = m_to.value_or(m_pointer);
  QString text;
  if (const auto scale = desk().photoScale()) {
    const auto size =
        work::lengthMm(*scale, std::hypot(end.x - m_from->x, end.y - m_from->y));
    text = tr("%1 ± %2 mm").arg(size.value, 0, 'f', 1).arg(size.plusMinus, 0, 'f', 1);
  }
  drawRuler(painter, view().viewFromPhoto(*m_from), view().viewFromPhoto(end), text);
}

QString RulerTool::hint() const {
  return tr(
      "Drag, or click twice, between two points whose distance you know, then type it. Zooming in "
      "first makes every size more exact.");
}

// ---- Hint brush

double HintTool::radiusPx() const {
  const double mean =
      m_stroke.empty() ? 1 : m_pressureSum / static_cast<double>(m_stroke.size());
  const double share = m_pressure == Pressure::Used
                           ? kLeastPressureWidth + (1 - kLeastPressureWidth) * mean
                           : 1.0;
  return share * m_widthPx / 2 / view().scale();
}

void HintTool::press(const ToolPoint& at) {
  m_stroke.clear();
  m_pressureSum = 0;
  drag(at);
}

void HintTool::drag(const ToolPoint& at) {
  m_pointer = at.photo;
  if (desk().isInside(at.photo) && (m_stroke.empty() || m_stroke.back() != at.photo)) {
    m_stroke.push_back(at.photo);
    m_pressureSum += std::clamp(at.pressure, 0.0, 1.0);
    Q_EMIT strokeChanged();
  }
  Q_EMIT changed();
}

void HintTool::hover(const ToolPoint& at) {
  m_pointer = at.photo;
  Q_EMIT changed();
}

void HintTool::release(const ToolPoint&) {
  const double radius = radiusPx();
  desk().addHint(m_kind, radius, std::exchange(m_stroke, {}));
}

void HintTool::cancel() {
  const bool hadStroke = !std::exchange(m_stroke, {}).empty();
  if (hadStroke) {
    Q_EMIT strokeChanged();
  }
  Q_EMIT changed();
}

std::optional<store::HintStroke> HintTool::strokeInHand() const {
  if (m_stroke.empty()) {
    return std::nullopt;
  }
  store::HintStroke stroke;
  stroke.kind = m_kind;
  stroke.radiusPx = radiusPx();
  stroke.points = m_stroke;
  return stroke;
}

void HintTool::paint(QPainter& painter) const {
  QPolygonF way;
  for (const auto& point : m_stroke) {
    way << view().viewFromPhoto(point);
  }
  const double radius = radiusPx() * view().scale();
  if (way.size() > 1) {
    drawHint(painter, m_kind, way, 2 * radius);
  }
  painter.setBrush(Qt::NoBrush);
  const QPointF at = view().viewFromPhoto(m_pointer);
  painter.setPen(QPen(QColor(0, 0, 0, 200), 3));
  painter.drawEllipse(at, radius, radius);
  painter.setPen(QPen(hintColour(m_kind).lighter(150), 1.5));
  painter.drawEllipse(at, radius, radius);
}

QString HintTool::hint() const {
  return tr(
      "Paint where the program is wrong: foliage, not foliage or spot. The figures of the branch "
      "follow each stroke and are kept when you put the brush down.");
}

}  // namespace edamori::pages
