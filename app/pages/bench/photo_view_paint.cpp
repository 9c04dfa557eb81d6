// SPDX-License-Identifier: GPL-3.0-or-later
// Painting of the PhotoView: marks and lines keep their size on the screen at any zoom.
#include "app/look/theme.h"
#include "app/pages/bench/photo_view.h"

#include <QPainter>
#include <QPainterPath>
#include <algorithm>
#include <cmath>

namespace edamori::pages {

namespace {

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

void drawLabel(QPainter& painter, const QRectF& within, QPointF at, const QString& text) {
  painter.setFont(look::font(look::TextSize::Small));
  const QFontMetricsF metrics(painter.font());
  QRectF box = metrics.boundingRect(text).adjusted(-6, -3, 6, 3);
  box.moveCenter(at);
  // A branch at the edge of the view keeps its whole name, one out of sight has none.
  if (!within.adjusted(-box.width(), -box.height(), box.width(), box.height()).contains(at)) {
    return;
  }
  box.moveLeft(std::max(within.left(), std::min(box.left(), within.right() - box.width())));
  box.moveTop(std::max(within.top(), std::min(box.top(), within.bottom() - box.height())));
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
  painter.fillRect(rect(), colours.page);
  if (!m_picture.isEmpty()) {
    paintPicture(painter);
    painter.setRenderHint(QPainter::Antialiasing);
    paintOutlines(painter);
    paintMarks(painter);
    if (m_tool != nullptr) {
      m_tool->paint(painter);
    }
    paintCrosshair(painter);
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

void PhotoView::paintPicture(QPainter& painter) const {
  const QImage& level = levelFor(m_picture, m_zoom);
  const double levelScaleX = double{1} * level.width() / m_picture.photoSize.width();
  const double levelScaleY = double{1} * level.height() / m_picture.photoSize.height();
  // Only the pixels that are seen: Qt would else walk all 48 million.
  const PointPx from = clamped(photoFromView({0, 0}));
  const PointPx to = clamped(photoFromView({width() * 1.0, height() * 1.0}));
  const QRectF seen(QPointF(std::floor(from.x * levelScaleX), std::floor(from.y * levelScaleY)),
                    QPointF(std::ceil(to.x * levelScaleX), std::ceil(to.y * levelScaleY)));
  const QRectF target(
      viewFromPhoto({.x = seen.left() / levelScaleX, .y = seen.top() / levelScaleY}),
      viewFromPhoto({.x = seen.right() / levelScaleX, .y = seen.bottom() / levelScaleY}));
  // From 200 % on, pixels are shown as they are.
  painter.setRenderHint(QPainter::SmoothPixmapTransform, !m_picture.isWhole || m_zoom < 2);
  painter.drawImage(target, level, seen);
  if (m_showTints) {
    for (const auto& tint : m_tints) {
      const QRectF area(viewFromPhoto({.x = tint.areaPx.left(), .y = tint.areaPx.top()}),
                        viewFromPhoto({.x = tint.areaPx.right(), .y = tint.areaPx.bottom()}));
      painter.drawImage(area, tint.image);
    }
  }
}

void PhotoView::paintOutlines(QPainter& painter) const {
  for (const auto& outline : m_desk.outlines()) {
    paintOutline(painter, outline);
  }
}

void PhotoView::paintOutline(QPainter& painter, const store::OutlineRecord& outline) const {
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
  if (isChosen && dynamic_cast<const SelectTool*>(m_tool) != nullptr) {
    int vertex = 0;
    for (const auto& corner : outline.shape.polygon) {
      drawHandle(painter, viewFromPhoto(corner), vertex++ == m_desk.chosenVertex());
    }
  }
  const auto bounds = boundsPx(outline.shape.polygon);
  QString text = m_desk.branchName(outline.branch);
  if (!outline.confirmed) {
    text = tr("%1 – carried over, unconfirmed").arg(text);
  }
  const QPointF top = viewFromPhoto({.x = (bounds.left + bounds.right) / 2, .y = bounds.top});
  drawLabel(painter, QRectF(rect()).adjusted(2, 2, -2, -2), top - QPointF(0, 12), text);
}

void PhotoView::paintMarks(QPainter& painter) const {
  for (const auto& mark : m_desk.marks()) {
    paintMark(painter, mark);
  }
}

void PhotoView::paintMark(QPainter& painter, const store::Mark& mark) const {
  const bool isChosen = m_desk.chosenMarks().contains(mark.id);
  const QPointF centre = viewFromPhoto(mark.centre);
  if (mark.kind == store::MarkKind::Patch && !mark.patch.empty()) {
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
  look::drawFinding(painter, mark.finding, mark.stage, centre, kMarkRadiusPx);
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
  painter.setFont(look::font(look::TextSize::Body));
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
