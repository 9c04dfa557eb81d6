// SPDX-License-Identifier: GPL-3.0-or-later
// Painting of the PhotoView: marks and lines keep their size on the screen at any zoom.
#include "app/look/theme.h"
#include "app/pages/bench/photo_view.h"

#include <QLineF>
#include <QLocale>
#include <QPainter>
#include <QPainterPath>
#include <algorithm>
#include <cmath>
#include <vector>

namespace edamori::pages {

namespace {

constexpr int kLargeFramePx = 2'000'000;  // device px
constexpr double kMarkRadiusPx = 9.0;    // view px
constexpr double kOutlineWidthPx = 2.0;  // view px
constexpr double kVertexRadiusPx = 5.0;  // view px
constexpr QColor kHaloDark(0, 0, 0, 170);
constexpr QColor kDrawn(255, 255, 255);
// Okabe–Ito orange: an outline that waits for a person; it is dashed too.
constexpr QColor kCarried(230, 159, 0);
// Okabe–Ito sky blue: what is chosen.
constexpr QColor kChosen(86, 180, 233);

void drawHandle(QPainter& painter, QPointF at, bool isChosen) {
  painter.setPen(QPen(QColor(0, 0, 0, 220), 1.5));
  painter.setBrush(isChosen ? kCarried : kDrawn);
  const double radius = isChosen ? kVertexRadiusPx + 2 : kVertexRadiusPx;
  painter.drawRect(QRectF(at.x() - radius, at.y() - radius, 2 * radius, 2 * radius));
}

// Below the labels that lie there already, as long as that stays in sight.
QRectF clearOf(QRectF box, const QRectF& within, const std::vector<QRectF>& taken) {
  const QRectF wanted = box;
  for (std::size_t tries = 0; tries <= taken.size(); ++tries) {
    const auto other = std::ranges::find_if(taken, [&box](const QRectF& each) { return each.intersects(box); });
    if (other == taken.end()) {
      return box;
    }
    box.moveTop(other->bottom() + 2);
  }
  return within.contains(box) ? box : wanted;
}

// With `taken`, clear of the labels there, and one of them then.
void drawLabel(QPainter& painter,
               const QRectF& within,
               QPointF at,
               const QString& text,
               std::vector<QRectF>* taken = nullptr) {
  painter.setFont(look::screenFont(look::TextSize::Small));
  const QFontMetricsF metrics(painter.font());
  QRectF box = metrics.boundingRect(text).adjusted(-6, -3, 6, 3);
  box.moveCenter(at);
  // A branch at the edge of the view keeps its whole name, one out of sight has none.
  if (!within.adjusted(-box.width(), -box.height(), box.width(), box.height()).contains(at)) {
    return;
  }
  box.moveLeft(std::max(within.left(), std::min(box.left(), within.right() - box.width())));
  box.moveTop(std::max(within.top(), std::min(box.top(), within.bottom() - box.height())));
  if (taken != nullptr) {
    box = clearOf(box, within, *taken);
    taken->push_back(box);
  }
  painter.setPen(Qt::NoPen);
  painter.setBrush(QColor(0, 0, 0, 190));
  painter.drawRoundedRect(box, 4, 4);
  painter.setPen(Qt::white);
  painter.drawText(box, Qt::AlignCenter, text);
}

}  // namespace

void drawHaloLine(QPainter& painter,
                  const QPolygonF& points,
                  const QColor& colour,
                  double widthPx,
                  Qt::PenStyle style) {
  painter.setBrush(Qt::NoBrush);
  painter.setPen(QPen(kHaloDark, widthPx + 2.5, Qt::SolidLine, Qt::RoundCap, Qt::RoundJoin));
  painter.drawPolyline(points);
  QPen pen(colour, widthPx, style, Qt::FlatCap, Qt::RoundJoin);
  painter.setPen(pen);
  painter.drawPolyline(points);
}

void PhotoView::paintEvent(QPaintEvent*) {
  QPainter painter(this);
  const auto& colours = look::palette(look::currentTheme());
  if (m_picture.isEmpty()) {
    painter.fillRect(rect(), colours.page);
  } else {
    paintPicture(painter);
    painter.setRenderHint(QPainter::Antialiasing);
    paintOverlays(painter);
    if (m_tool != nullptr) {
      m_tool->paint(painter);
    }
    paintCrosshair(painter);
    paintLoupe(painter);
    paintOverview(painter);
  }
  if (!m_message.isEmpty()) {
    paintMessage(painter);
  }
  if (hasFocus()) {
    painter.setRenderHint(QPainter::Antialiasing, false);
    painter.setPen(QPen(colours.accent, 2));
    painter.setBrush(Qt::NoBrush);
    painter.drawRect(rect().adjusted(1, 1, -1, -1));
  }
}

void PhotoView::paintPicture(QPainter& painter) {
  const double ratio = devicePixelRatioF();
  // Painted in device px: one pixel of the frame for one of the screen.
  const QSize size(static_cast<int>(std::ceil(width() * ratio)),
                   static_cast<int>(std::ceil(height() * ratio)));
  // Smoothing a large view takes longer than a frame of the screen lasts.
  const bool isLarge = size.width() * size.height() > kLargeFramePx;
  const FramePlace place{.sizePx = size,
                         .originPx = viewFromPhoto({}) * ratio,
                         .zoom = m_zoom,
                         .isPassing = isLarge && m_zoomRest.isActive()};
  const QRgb ground = look::palette(look::currentTheme()).page.rgb();
  QImage frame = m_frame.drawn(m_picture, place, m_light, ground);
  painter.save();
  painter.scale(1 / ratio, 1 / ratio);
  painter.setCompositionMode(QPainter::CompositionMode_Source);
  painter.drawImage(0, 0, frame);
  painter.restore();
}

void PhotoView::paintOverlays(QPainter& painter) {
  if (!m_showOverlay) {
    return;
  }
  painter.setOpacity(m_overlayStrength);
  paintTints(painter);
  paintHints(painter);
  paintOutlines(painter);
  paintRulers(painter);
  paintMarks(painter);
  paintHandles(painter);
  painter.setOpacity(1);
}

void PhotoView::paintTints(QPainter& painter) const {
  if (!m_showTints) {
    return;
  }
  painter.setRenderHint(QPainter::SmoothPixmapTransform, m_zoom < 2);
  for (const auto& tint : m_tints) {
    const QRectF area(viewFromPhoto({.x = tint.areaPx.left(), .y = tint.areaPx.top()}),
                      viewFromPhoto({.x = tint.areaPx.right(), .y = tint.areaPx.bottom()}));
    painter.drawImage(area, m_tintLook == TintLook::Area ? tint.image : tint.contour);
  }
}

void PhotoView::paintOutlines(QPainter& painter) const {
  std::vector<QRectF> labels;
  for (const auto& outline : m_desk.outlines()) {
    paintOutline(painter, outline, labels);
  }
}

void PhotoView::paintOutline(QPainter& painter,
                             const store::OutlineRecord& outline,
                             std::vector<QRectF>& labels) const {
  const bool isChosen = outline.branch == m_desk.chosenBranch();
  const auto line = [this, &painter, &outline, isChosen](const Polygon& polygon) {
    QPolygonF points;
    for (const auto& vertex : polygon) {
      points << viewFromPhoto(vertex);
    }
    points << viewFromPhoto(polygon.front());
    const QColor colour = !outline.confirmed ? kCarried : isChosen ? kChosen : kDrawn;
    drawHaloLine(painter,
                 points,
                 colour,
                 kOutlineWidthPx + (isChosen ? 1 : 0),
                 outline.confirmed ? Qt::SolidLine : Qt::DashLine);
  };
  if (outline.shape.polygon.empty()) {
    return;
  }
  line(outline.shape.polygon);
  for (const auto& hole : outline.shape.holes) {
    line(hole);
  }
  const auto bounds = boundsPx(outline.shape.polygon);
  QString text = m_desk.branchName(outline.branch);
  if (!outline.confirmed) {
    text = tr("%1 – carried over, unconfirmed").arg(text);
  }
  const QPointF top = viewFromPhoto({.x = (bounds.left + bounds.right) / 2, .y = bounds.top});
  drawLabel(painter, QRectF(rect()).adjusted(2, 2, -2, -2), top - QPointF(0, 12), text, &labels);
}

QColor hintColour(store::HintKind kind) {
  switch (kind) {
    case store::HintKind::Foliage:
      return {0, 158, 115};  // bluish green
    case store::HintKind::NotFoliage:
      return {0, 114, 178};  // blue
    case store::HintKind::Spot:
      break;
  }
  return {213, 94, 0};  // vermillion
}

void drawHint(QPainter& painter, store::HintKind kind, const QPolygonF& way, double widthPx) {
  const auto stroke = [&painter, &way](const QBrush& brush, double width) {
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(brush, width, Qt::SolidLine, Qt::RoundCap, Qt::RoundJoin));
    if (way.size() == 1) {
      painter.drawPoint(way.front());
    } else {
      painter.drawPolyline(way);
    }
  };
  QColor ground = hintColour(kind);
  ground.setAlpha(120);
  stroke(ground, std::max(2.0, widthPx));
  if (kind != store::HintKind::Foliage) {
    stroke(QBrush(Qt::white,
                  kind == store::HintKind::NotFoliage ? Qt::BDiagPattern : Qt::DiagCrossPattern),
           std::max(2.0, widthPx));
  }
}

void PhotoView::paintHints(QPainter& painter) const {
  for (const auto& stroke : m_desk.hints()) {
    QPolygonF way;
    for (const auto& point : stroke.points) {
      way << viewFromPhoto(point);
    }
    drawHint(painter, stroke.kind, way, 2 * stroke.radiusPx * scale());
  }
}

void drawRuler(QPainter& painter, QPointF from, QPointF to, const QString& text) {
  const QLineF line(from, to);
  drawHaloLine(painter, {from, to}, kDrawn, 2);
  for (const QPointF end : {from, to}) {
    QLineF tick = line.normalVector().unitVector();
    tick.translate(end - tick.p1());
    const QPointF half = (tick.p2() - tick.p1()) * 8;
    drawHaloLine(painter, {end - half, end + half}, kDrawn, 2);
  }
  if (!text.isEmpty()) {
    drawLabel(painter, QRectF(painter.viewport()), line.center() - QPointF(0, 16), text);
  }
}

void PhotoView::paintRulers(QPainter& painter) const {
  for (const auto& ruler : m_desk.rulers()) {
    drawRuler(painter,
              viewFromPhoto(ruler.from),
              viewFromPhoto(ruler.to),
              tr("%1 mm").arg(QLocale::c().toString(ruler.lengthMm, 'g', 6)));
  }
}

// The corners of what can be reshaped.
void PhotoView::paintHandles(QPainter& painter) const {
  if (dynamic_cast<const SelectTool*>(m_tool) == nullptr) {
    return;
  }
  int ring = 0;
  for (const auto& boundary : m_desk.rings()) {
    int vertex = 0;
    for (const auto& corner : boundary) {
      drawHandle(painter,
                 viewFromPhoto(corner),
                 vertex++ == m_desk.chosenVertex() && ring == m_desk.chosenRing());
    }
    ++ring;
  }
}

void PhotoView::paintMarks(QPainter& painter) {
  for (const auto& mark : m_desk.marks()) {
    paintMark(painter, mark);
  }
}

bool PhotoView::isPatchSeen(const store::Mark& mark) const {
  const auto bounds = boundsPx(mark.patch);
  const QRectF box(viewFromPhoto({.x = bounds.left, .y = bounds.top}),
                   viewFromPhoto({.x = bounds.right, .y = bounds.bottom}));
  return box.adjusted(-4, -4, 4, 4).intersects(QRectF(rect()));
}

void PhotoView::paintMark(QPainter& painter, const store::Mark& mark) {
  const bool isChosen = m_desk.chosenMarks().contains(mark.id);
  const QPointF centre = viewFromPhoto(mark.centre);
  if (mark.kind == store::MarkKind::Patch && !mark.patch.empty() && isPatchSeen(mark)) {
    QPolygonF points;
    for (const auto& corner : mark.patch) {
      points << viewFromPhoto(corner);
    }
    points << points.front();
    QColor fill = look::findingColour(mark.finding);
    fill.setAlpha(isChosen ? 90 : 50);
    painter.setPen(Qt::NoPen);
    painter.setBrush(fill);
    painter.drawPolygon(points);
    drawHaloLine(painter, points, look::findingColour(mark.finding), kOutlineWidthPx);
  }
  const bool isNear = rect().adjusted(-40, -40, 40, 40).contains(centre.toPoint());
  if (!isNear) {
    return;
  }
  if (isChosen) {
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(kHaloDark, 5));
    painter.drawEllipse(centre, kMarkRadiusPx + 6, kMarkRadiusPx + 6);
    painter.setPen(QPen(kChosen, 2.5));
    painter.drawEllipse(centre, kMarkRadiusPx + 6, kMarkRadiusPx + 6);
  }
  m_sprites.draw(painter, mark.finding, mark.stage, centre, kMarkRadiusPx);
  if (mark.count != 1) {
    drawLabel(painter,
              QRectF(rect()),
              centre + QPointF(kMarkRadiusPx + 13, -kMarkRadiusPx - 3),
              QString::number(mark.count));
  }
}

void PhotoView::paintCrosshair(QPainter& painter) const {
  if (!m_crosshair) {
    return;
  }
  const QPointF at = viewFromPhoto(*m_crosshair);
  constexpr double kGap = 4;
  constexpr double kArm = 22;
  for (const QPointF direction : {QPointF(1, 0), QPointF(-1, 0), QPointF(0, 1), QPointF(0, -1)}) {
    const QPolygonF arm{at + direction * kGap, at + direction * kArm};
    drawHaloLine(painter, arm, kDrawn, 2);
  }
}

void PhotoView::paintMessage(QPainter& painter) const {
  const auto& colours = look::palette(look::currentTheme());
  painter.setFont(look::screenFont(look::TextSize::Body));
  const QFontMetricsF metrics(painter.font());
  const QRectF room = QRectF(rect()).adjusted(40, 40, -40, -40);
  QRectF box = metrics.boundingRect(room, Qt::AlignCenter | Qt::TextWordWrap, m_message);
  if (!m_picture.isEmpty()) {
    box.moveTop(16);
  }
  const QRectF frame = box.adjusted(-16, -10, 16, 10);
  painter.setRenderHint(QPainter::Antialiasing);
  painter.setPen(QPen(colours.line, 1));
  painter.setBrush(colours.panel);
  painter.drawRoundedRect(frame, 8, 8);
  painter.setPen(colours.text);
  painter.drawText(box, Qt::AlignCenter | Qt::TextWordWrap, m_message);
}

}  // namespace edamori::pages
