// SPDX-License-Identifier: GPL-3.0-or-later
// The tools that draw: pan, branch outline, dot, patch.
#include "app/pages/bench/photo_view.h"
#include "app/pages/bench/tool.h"

#include <QApplication>
#include <QPainter>
#include <QPainterPath>
#include <QStyleHints>
#include <algorithm>
#include <cmath>
#include <utility>

namespace edamori::pages {

namespace {

// Okabe–Ito yellow: being drawn.
constexpr QColor kDraft(240, 228, 66);
constexpr double kCloseOnPx = 9.0;          // view px: a click this near the first corner closes
constexpr double kStrokeTolerancePx = 1.0;  // view px

double distance(QPointF a, QPointF b) { return std::hypot(a.x() - b.x(), a.y() - b.y()); }

double distanceToSegment(PointPx p, PointPx a, PointPx b) {
  const double dx = b.x - a.x, dy = b.y - a.y;
  const double length2 = dx * dx + dy * dy;
  const double t =
      length2 > 0 ? std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / length2, 0.0, 1.0) : 0.0;
  return std::hypot(p.x - a.x - t * dx, p.y - a.y - t * dy);
}

void keepCorners(const Polygon& line,
                 std::size_t from,
                 std::size_t to,
                 double tolerance,
                 std::vector<bool>& kept) {
  double farthest = tolerance;
  std::size_t corner = 0;
  for (std::size_t i = from + 1; i < to; ++i) {
    const double away = distanceToSegment(line[i], line[from], line[to]);
    if (away > farthest) {
      farthest = away;
      corner = i;
    }
  }
  if (corner != 0) {
    kept[corner] = true;
    keepCorners(line, from, corner, tolerance, kept);
    keepCorners(line, corner, to, tolerance, kept);
  }
}

Polygon simplified(const Polygon& line, double tolerance) {
  std::vector<bool> kept(line.size(), false);
  kept.front() = kept.back() = true;
  keepCorners(line, 0, line.size() - 1, tolerance, kept);
  Polygon fewer;
  for (std::size_t i = 0; i < line.size(); ++i) {
    if (kept[i]) {
      fewer.push_back(line[i]);
    }
  }
  return fewer;
}

void paintDraft(QPainter& painter,
                const PhotoView& view,
                const Polygon& corners,
                std::optional<PointPx> pointer) {
  QPolygonF points;
  for (const auto& corner : corners) {
    points << view.viewFromPhoto(corner);
  }
  if (points.isEmpty()) {
    return;
  }
  QPolygonF line = points;
  line << view.viewFromPhoto(pointer ? *pointer : corners.front());
  drawHaloLine(painter, line, kDraft, 2);
  if (pointer && corners.size() > 1) {
    drawHaloLine(painter, {line.back(), points.front()}, kDraft, 1.5, Qt::DotLine);
  }
  painter.setPen(QPen(Qt::black, 1.5));
  for (const auto& point : std::as_const(points)) {
    painter.setBrush(point == points.front() ? kDraft : QColor(Qt::white));
    painter.drawRect(QRectF(point.x() - 4, point.y() - 4, 8, 8));
  }
}

}  // namespace

Polygon polygonOfStroke(const Polygon& stroke, double tolerancePx) {
  if (stroke.size() < 3) {
    return {};
  }
  const Polygon fewer = simplified(stroke, tolerancePx);
  if (!crossesItself(fewer)) {
    return fewer;
  }
  QPainterPath path;
  path.setFillRule(Qt::WindingFill);
  path.moveTo(fewer.front().x, fewer.front().y);
  for (const auto& point : fewer) {
    path.lineTo(point.x, point.y);
  }
  path.closeSubpath();
  Polygon largest;
  for (const auto& part : path.simplified().toSubpathPolygons()) {
    Polygon polygon;
    for (const auto& point : part) {
      polygon.push_back({.x = point.x(), .y = point.y()});
    }
    if (polygon.size() > 1 && polygon.front() == polygon.back()) {
      polygon.pop_back();
    }
    if (areaPx2(polygon) > areaPx2(largest)) {
      largest = std::move(polygon);
    }
  }
  return largest;
}

void Tool::enter(const ToolPoint& at) {
  press(at);
  release(at);
}

void PanTool::press(const ToolPoint& at) { m_last = at.view; }

void PanTool::drag(const ToolPoint& at) {
  view().panBy(at.view - m_last);
  m_last = at.view;
}

QString PanTool::hint() const {
  return tr("Drag to move the photo; the wheel zooms about the pointer.");
}

// ---- Branch outline

void OutlineTool::press(const ToolPoint& at) {
  if (m_isClosed) {
    return;
  }
  if (m_corners.size() >= 3 &&
      distance(view().viewFromPhoto(m_corners.front()), at.view) <= kCloseOnPx) {
    finish();
    return;
  }
  addCorner(at.photo);
}

void OutlineTool::addCorner(PointPx at) {
  if (!desk().isInside(at) || (!m_corners.empty() && m_corners.back() == at)) {
    return;
  }
  m_pointer = at;
  m_corners.push_back(at);
  Q_EMIT changed();
}

void OutlineTool::hover(const ToolPoint& at) {
  m_pointer = at.photo;
  if (!m_corners.empty()) {
    Q_EMIT changed();
  }
}

// The first click of the two has set its corner already.
void OutlineTool::doublePress(const ToolPoint&) { finish(); }

// Enter on the last corner closes; elsewhere it sets a corner.
void OutlineTool::enter(const ToolPoint& at) {
  if (!m_corners.empty() && m_corners.back() == at.photo) {
    finish();
  } else {
    press(at);
  }
}

void OutlineTool::finish() {
  if (m_isClosed || m_corners.empty()) {
    return;
  }
  if (m_corners.size() < 3) {
    Q_EMIT refused(tr("An outline needs at least three corners; click to set more."));
    return;
  }
  if (crossesItself(m_corners)) {
    Q_EMIT refused(tr("The outline crosses itself; Backspace takes back the last corner."));
    return;
  }
  m_isClosed = true;
  Q_EMIT changed();
  Q_EMIT completed();
}

void OutlineTool::cancel() {
  m_corners.clear();
  m_isClosed = false;
  Q_EMIT changed();
  Q_EMIT dropped();
}

void OutlineTool::stepBack() {
  if (!m_corners.empty()) {
    m_corners.pop_back();
  }
  if (m_isClosed) {
    m_isClosed = false;
    Q_EMIT dropped();
  }
  Q_EMIT changed();
}

void OutlineTool::setCorners(const Polygon& corners) {
  m_corners = corners;
  m_isClosed = false;
  m_pointer = corners.empty() ? PointPx{} : corners.back();
  Q_EMIT changed();
}

void OutlineTool::paint(QPainter& painter) const {
  paintDraft(
      painter, view(), m_corners, m_isClosed ? std::nullopt : std::optional<PointPx>(m_pointer));
}

QString OutlineTool::hint() const {
  return tr(
      "Click corners around the branch. Double-click, or Enter on the last corner, closes; "
      "Backspace takes one back; Esc drops it.");
}

// ---- Dot

void DotTool::press(const ToolPoint&) {
  m_isDown = true;
  desk().chooseMarks({});
}

void DotTool::release(const ToolPoint& at) {
  if (std::exchange(m_isDown, false)) {
    desk().addDot(at.photo);
  }
}

QString DotTool::hint() const {
  return tr("Click, or press Enter at the crosshair, to set a dot of the finding on the right.");
}

// ---- Patch

void PatchTool::press(const ToolPoint& at) {
  m_isDown = true;
  m_isFreehand = false;
  m_pressedAt = at.view;
  m_stroke = {at.photo};
  desk().chooseMarks({});
}

void PatchTool::drag(const ToolPoint& at) {
  if (!m_isDown) {
    return;
  }
  const int slack = QApplication::startDragDistance() / 2;
  if (!m_isFreehand && m_corners.empty() && distance(at.view, m_pressedAt) >= slack) {
    m_isFreehand = true;
  }
  if (m_isFreehand && desk().isInside(at.photo)) {
    m_stroke.push_back(at.photo);
    Q_EMIT changed();
  }
}

void PatchTool::hover(const ToolPoint& at) {
  m_pointer = at.photo;
  if (!m_corners.empty()) {
    Q_EMIT changed();
  }
}

void PatchTool::release(const ToolPoint& at) {
  if (!std::exchange(m_isDown, false)) {
    return;
  }
  if (!m_isFreehand) {
    addCorner(at.photo);
    return;
  }
  m_isFreehand = false;
  const Polygon stroke = std::exchange(m_stroke, {});
  take(polygonOfStroke(stroke, kStrokeTolerancePx / view().scale()));
  Q_EMIT changed();
}

void PatchTool::take(const Polygon& shape) { desk().addPatch(shape); }

void PatchTool::addCorner(PointPx at) {
  if (!desk().isInside(at)) {
    return;
  }
  if (m_corners.size() >= 3 &&
      distance(view().viewFromPhoto(m_corners.front()), view().viewFromPhoto(at)) <= kCloseOnPx) {
    finish();
    return;
  }
  m_pointer = at;
  if (m_corners.empty() || m_corners.back() != at) {
    m_corners.push_back(at);
  }
  Q_EMIT changed();
}

void PatchTool::doublePress(const ToolPoint&) { finish(); }

void PatchTool::enter(const ToolPoint& at) {
  if (!m_corners.empty() && m_corners.back() == at.photo) {
    finish();
  } else {
    desk().chooseMarks({});
    addCorner(at.photo);
  }
}

void PatchTool::finish() {
  if (m_corners.empty()) {
    return;
  }
  if (m_corners.size() >= 3) {
    take(polygonOfStroke(std::exchange(m_corners, {}), 0));
  } else {
    take(m_corners);  // says what is missing
  }
  Q_EMIT changed();
}

void PatchTool::cancel() {
  m_corners.clear();
  m_stroke.clear();
  m_isFreehand = m_isDown = false;
  Q_EMIT changed();
}

void PatchTool::stepBack() {
  if (!m_corners.empty()) {
    m_corners.pop_back();
    Q_EMIT changed();
  }
}

void PatchTool::paint(QPainter& painter) const {
  if (m_isFreehand) {
    QPolygonF points;
    for (const auto& point : m_stroke) {
      points << view().viewFromPhoto(point);
    }
    drawHaloLine(painter, points, kDraft, 2);
    return;
  }
  paintDraft(painter, view(), m_corners, m_pointer);
}

QString PatchTool::hint() const {
  return tr(
      "Drag around a colony or lesion, or click its corners; double-click, or Enter on the "
      "last corner, closes; Esc drops it.");
}

}  // namespace edamori::pages
