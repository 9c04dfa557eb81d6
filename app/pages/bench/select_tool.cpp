// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/photo_view.h"
#include "app/pages/bench/tool.h"

#include <QApplication>
#include <QPainter>
#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace edamori::pages {

namespace {

// How near to a mark or corner a click must be, in view px.
constexpr double kReachPx = 12.0;

double distance(QPointF a, QPointF b) { return std::hypot(a.x() - b.x(), a.y() - b.y()); }

QPointF shiftPx(const ToolPoint& from, const ToolPoint& to) {
  return {to.photo.x - from.photo.x, to.photo.y - from.photo.y};
}

}  // namespace

store::MarkId SelectTool::markAt(const ToolPoint& at) const {
  store::MarkId best;
  double nearest = kReachPx;
  for (const auto& mark : desk().marks()) {
    const double away = distance(view().viewFromPhoto(mark.centre), at.view);
    if (away <= nearest) {
      nearest = away;
      best = mark.id;
    }
  }
  if (!best.isEmpty()) {
    return best;
  }
  double smallest = std::numeric_limits<double>::infinity();
  for (const auto& mark : desk().marks()) {
    if (mark.kind == store::MarkKind::Patch && contains(mark.patch, at.photo) &&
        areaPx2(mark.patch) < smallest) {
      smallest = areaPx2(mark.patch);
      best = mark.id;
    }
  }
  return best;
}

std::optional<SelectTool::Corner> SelectTool::cornerAt(const ToolPoint& at) const {
  std::optional<Corner> best;
  double nearest = kReachPx;
  const auto rings = desk().rings();
  for (std::size_t ring = 0; ring < rings.size(); ++ring) {
    for (std::size_t i = 0; i < rings[ring].size(); ++i) {
      const double away = distance(view().viewFromPhoto(rings[ring][i]), at.view);
      if (away <= nearest) {
        nearest = away;
        best = Corner{.ring = static_cast<int>(ring), .vertex = static_cast<int>(i)};
      }
    }
  }
  return best;
}

void SelectTool::pressOnMark(const store::MarkId& mark, Qt::KeyboardModifiers modifiers) {
  auto chosen = desk().chosenMarks();
  const bool adds =
      modifiers.testFlag(Qt::ShiftModifier) || modifiers.testFlag(Qt::ControlModifier);
  if (adds && chosen.erase(mark) == 0) {
    chosen.insert(mark);
  } else if (!adds && !chosen.contains(mark)) {
    chosen = {mark};
  }
  desk().chooseMarks(std::move(chosen));
  m_grip = Grip::Marks;
}

void SelectTool::press(const ToolPoint& at) {
  m_start = m_now = at;
  m_isMoved = false;
  m_nudgeKey = -1;
  const auto corner = cornerAt(at);
  const auto mark = markAt(at);
  const bool isOfPatch = desk().chosenPatch() != nullptr;
  // A mark lies over the lines; where both are near, the mark is meant, except at the corners of
  // the patch that is chosen.
  if (!mark.isEmpty() && !(corner && isOfPatch)) {
    desk().chooseVertex(-1);
    pressOnMark(mark, at.modifiers);
    return;
  }
  if (corner) {
    if (!isOfPatch) {
      desk().chooseMarks({});
    }
    desk().chooseVertex(corner->vertex, corner->ring);
    m_grip = Grip::Vertex;
    return;
  }
  desk().chooseVertex(-1);
  m_grip = Grip::Box;
}

void SelectTool::drag(const ToolPoint& at) {
  m_now = at;
  if (distance(at.view, m_start.view) >= QApplication::startDragDistance() / 2) {
    m_isMoved = true;
  }
  Q_EMIT changed();
}

void SelectTool::release(const ToolPoint& at) {
  m_now = at;
  switch (std::exchange(m_grip, Grip::None)) {
    case Grip::Marks:
      if (m_isMoved) {
        desk().moveChosenMarks(shiftPx(m_start, at));
      }
      break;
    case Grip::Vertex:
      if (m_isMoved) {
        desk().reshapeRing(desk().chosenRing(), reshaped(), tr("Move corner"));
      }
      break;
    case Grip::Box:
      if (m_isMoved) {
        chooseInBox(at);
      } else {
        desk().chooseMarks({});
        if (const auto branch = desk().branchAt(at.photo); !branch.isEmpty()) {
          desk().chooseBranch(branch);
        }
      }
      break;
    case Grip::None:
      break;
  }
  m_isMoved = false;
  Q_EMIT changed();
}

void SelectTool::chooseInBox(const ToolPoint& at) {
  const QRectF box = QRectF(m_start.view, at.view).normalized();
  auto chosen =
      at.modifiers.testFlag(Qt::ShiftModifier) ? desk().chosenMarks() : std::set<store::MarkId>{};
  for (const auto& mark : desk().marks()) {
    if (box.contains(view().viewFromPhoto(mark.centre))) {
      chosen.insert(mark.id);
    }
  }
  desk().chooseMarks(std::move(chosen));
}

Polygon SelectTool::shiftedCorner(QPointF byPx) const {
  const auto rings = desk().rings();
  const auto ring = static_cast<std::size_t>(desk().chosenRing());
  if (ring >= rings.size() || desk().chosenVertex() < 0) {
    return {};
  }
  Polygon polygon = rings[ring];
  auto& corner = polygon[static_cast<std::size_t>(desk().chosenVertex())];
  corner = {.x = corner.x + byPx.x(), .y = corner.y + byPx.y()};
  return polygon;
}

Polygon SelectTool::reshaped() const { return shiftedCorner(shiftPx(m_start, m_now)); }

// On an edge of what can be reshaped: a new corner there.
void SelectTool::doublePress(const ToolPoint& at) {
  const auto rings = desk().rings();
  if (cornerAt(at) || (desk().chosenPatch() == nullptr && !markAt(at).isEmpty())) {
    return;
  }
  std::size_t nearestRing = 0, edge = 0;
  double nearest = kReachPx / view().scale();
  bool isFound = false;
  for (std::size_t ring = 0; ring < rings.size(); ++ring) {
    for (std::size_t i = 0; i < rings[ring].size(); ++i) {
      // A polygon without area stands for the edge alone.
      const Polygon segment{rings[ring][i], rings[ring][(i + 1) % rings[ring].size()]};
      if (const double away = distanceToEdgePx(segment, at.photo); away <= nearest) {
        nearest = away;
        nearestRing = ring;
        edge = i;
        isFound = true;
      }
    }
  }
  if (!isFound) {
    return;
  }
  Polygon more = rings[nearestRing];
  more.insert(more.begin() + static_cast<std::ptrdiff_t>(edge) + 1, at.photo);
  if (desk().reshapeRing(static_cast<int>(nearestRing), more, tr("Add corner"))) {
    desk().chooseVertex(static_cast<int>(edge) + 1, static_cast<int>(nearestRing));
  }
}

void SelectTool::cancel() {
  m_grip = Grip::None;
  m_isMoved = false;
  desk().chooseMarks({});
  desk().chooseVertex(-1);
  Q_EMIT changed();
}

bool SelectTool::nudge(QPointF byPx) {
  const bool hasCorner = desk().chosenVertex() >= 0;
  if (!hasCorner && desk().chosenMarks().empty()) {
    return false;
  }
  // Moves of the same things in a row are one step to undo.
  if (m_nudgeKey < 0 || m_nudged != desk().chosenMarks()) {
    m_nudgeKey = desk().nextMergeKey();
    m_nudged = desk().chosenMarks();
  }
  if (!hasCorner) {
    desk().moveChosenMarks(byPx, m_nudgeKey);
  } else {
    desk().reshapeRing(desk().chosenRing(), shiftedCorner(byPx), tr("Move corner"), m_nudgeKey);
  }
  return true;
}

void SelectTool::paint(QPainter& painter) const {
  if (!m_isMoved) {
    return;
  }
  const QColor ghost(240, 228, 66);
  if (m_grip == Grip::Box) {
    const QRectF box = QRectF(m_start.view, m_now.view).normalized();
    drawHaloLine(painter, QPolygonF(box), Qt::white, 1, Qt::DashLine);
  } else if (m_grip == Grip::Vertex) {
    QPolygonF points;
    for (const auto& corner : reshaped()) {
      points << view().viewFromPhoto(corner);
    }
    if (!points.isEmpty()) {
      points << points.front();
      drawHaloLine(painter, points, ghost, 2);
    }
  } else if (m_grip == Grip::Marks) {
    for (const auto& id : desk().chosenMarks()) {
      if (const auto* const mark = desk().findMark(id)) {
        const QPointF at = view().viewFromPhoto(mark->centre) + m_now.view - m_start.view;
        painter.setBrush(Qt::NoBrush);
        painter.setPen(QPen(QColor(0, 0, 0, 170), 4.5));
        painter.drawEllipse(at, 12, 12);
        painter.setPen(QPen(ghost, 2));
        painter.drawEllipse(at, 12, 12);
      }
    }
  }
}

QString SelectTool::hint() const {
  return tr(
      "Click a mark or an outline, or drag a box; drag to move; double-click an edge adds a "
      "corner; Delete removes.");
}

}  // namespace edamori::pages
