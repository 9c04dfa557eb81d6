// SPDX-License-Identifier: GPL-3.0-or-later
// How the pair is painted.
#include "app/look/theme.h"
#include "app/pages/before_after/pair_view.h"
#include "app/pages/bench/photo_view.h"

#include <QPainter>
#include <cmath>

namespace edamori::pages {

namespace {

// Okabe–Ito sky blue and orange (Okabe & Ito 2008): outlines, and places that are the same.
constexpr QColor kOutlineColour(86, 180, 233);
constexpr QColor kPlaceColour(230, 159, 0);
constexpr double kOutlineWidthPx = 2.0;
constexpr double kPlaceRadiusPx = 9.0;
constexpr double kCrosshairPx = 22.0;

// Light letters on a dark ground, legible on any photo.
void drawPill(QPainter& painter, const QRectF& around, const QString& text) {
  painter.setPen(Qt::NoPen);
  painter.setBrush(QColor(20, 22, 18, 215));
  painter.drawRoundedRect(around, 6, 6);
  painter.setPen(QColor(255, 254, 251));
  painter.drawText(around, Qt::AlignCenter, text);
}

}  // namespace

QPolygonF PairView::seen(Side side, const Polygon& polygon) const {
  QPolygonF points;
  for (const PointPx& corner : polygon) {
    points << viewFromPhoto(side, corner);
  }
  return points;
}

void PairView::paintEvent(QPaintEvent* /*event*/) {
  QPainter painter(this);
  painter.setRenderHint(QPainter::Antialiasing);
  const look::Palette& colours = look::palette(look::currentTheme());
  painter.fillRect(rect(), colours.line);
  if (!hasPictures() || !m_message.isEmpty()) {
    painter.fillRect(rect(), colours.panel);
    painter.setPen(colours.quietText);
    painter.drawText(rect().adjusted(24, 24, -24, -24),
                     Qt::AlignCenter | Qt::TextWordWrap,
                     m_message);
  } else {
    for (const Pane& pane : panes()) {
      paintPane(painter, pane);
    }
    if (!isTwoPanes() && m_mode == PairMode::Line) {
      paintLine(painter);
    }
  }
  if (hasFocus()) {
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(colours.accent, 2));
    painter.drawRect(QRectF(rect()).adjusted(1, 1, -1, -1));
  }
}

void PairView::paintPane(QPainter& painter, const Pane& pane) {
  painter.save();
  painter.setClipRect(pane.rect);
  const bool isChange = !isTwoPanes() && m_mode == PairMode::Change && !m_shown.grey.isEmpty();
  if (isChange) {
    paintLayer(painter, Layer::Grey, pane.rect, pane.rect);
    paintChange(painter, pane.rect);
  } else if (!isTwoPanes() && m_mode == PairMode::Line) {
    QRect left = pane.rect;
    left.setRight(pane.rect.left() + static_cast<int>(std::lround(m_line * pane.rect.width())) - 1);
    QRect right = pane.rect;
    right.setLeft(left.right() + 1);
    paintLayer(painter, Layer::Before, pane.rect, left);
    paintLayer(painter, Layer::After, pane.rect, right);
  } else {
    paintLayer(
        painter, pane.side == Side::Before ? Layer::Before : Layer::After, pane.rect, pane.rect);
  }
  paintOutlines(painter, pane);
  if (m_task == PairTask::Places) {
    paintPlaces(painter, pane);
  }
  if (!isTwoPanes() && m_mode == PairMode::Line) {
    paintTitle(painter, pane.rect, Side::Before);
    paintTitle(painter, pane.rect, Side::After);
  } else {
    paintTitle(painter, pane.rect, pane.side);
  }
  painter.restore();
}

// `rect` is the whole pane, `part` what of it is shown.
void PairView::paintLayer(QPainter& painter, Layer layer, const QRect& rect, const QRect& part) {
  const Picture& picture = pictureOf(layer);
  if (picture.isEmpty() || part.isEmpty()) {
    return;
  }
  const Side side = layer == Layer::Before ? Side::Before : Side::After;
  const double ratio = devicePixelRatioF();
  const double zoom = scaleOf(side) * ratio;
  const PointPx& centre = centreOf(side);
  const QSize sizePx = (QSizeF(rect.size()) * ratio).toSize();
  // Whole device px, so that panning only has to draw what comes into sight.
  const QPointF origin(std::round(sizePx.width() / 2.0 - centre.x * zoom),
                       std::round(sizePx.height() / 2.0 - centre.y * zoom));
  const QRgb ground = look::palette(look::currentTheme()).panel.rgb();
  const QImage& drawn = m_frames.at(static_cast<std::size_t>(layer))
                            .drawn(picture, {.sizePx = sizePx, .originPx = origin, .zoom = zoom}, {}, ground);
  painter.save();
  painter.setClipRect(part);
  painter.drawImage(QRectF(rect.topLeft(), QSizeF(sizePx) / ratio), drawn, QRectF(drawn.rect()));
  painter.restore();
}

void PairView::paintChange(QPainter& painter, const QRect& rect) const {
  if (m_shown.change.image.isNull()) {
    return;
  }
  painter.save();
  painter.setClipRect(rect);
  painter.setRenderHint(QPainter::SmoothPixmapTransform);
  const QRectF area = m_shown.change.areaPx;
  const QPointF from =
      viewFromPhoto(Side::Before, {.x = area.left(), .y = area.top()});
  painter.drawImage(QRectF(from, area.size() * scaleOf(Side::Before)), m_shown.change.image);
  painter.restore();
}

void PairView::paintOutlines(QPainter& painter, const Pane& pane) const {
  const auto draw = [&](const Outline& outline, Qt::PenStyle style) {
    const auto closed = [](QPolygonF points) {
      if (!points.isEmpty()) {
        points << points.front();
      }
      return points;
    };
    drawHaloLine(painter, closed(seen(pane.side, outline.polygon)), kOutlineColour, kOutlineWidthPx, style);
    for (const Polygon& hole : outline.holes) {
      drawHaloLine(painter, closed(seen(pane.side, hole)), kOutlineColour, kOutlineWidthPx, style);
    }
  };
  const bool isBefore = pane.side == Side::Before || (!isTwoPanes() && m_mode == PairMode::Line);
  if (isBefore) {
    if (m_pictures.outlineBefore) {
      draw(*m_pictures.outlineBefore, m_pictures.isBeforeUnconfirmed ? Qt::DashLine : Qt::SolidLine);
    }
  } else if (m_task == PairTask::Outline) {
    draw(m_moved, Qt::DashLine);
  } else if (showsLaidOn()) {
    draw(m_shown.outlineAfterOnBefore, Qt::SolidLine);
  } else if (m_pictures.outlineAfter) {
    draw(*m_pictures.outlineAfter, m_pictures.isAfterUnconfirmed ? Qt::DashLine : Qt::SolidLine);
  }
}

// A ring with a number, so that two places are told apart without their colour.
void PairView::paintPlaces(QPainter& painter, const Pane& pane) const {
  const bool isBefore = pane.side == Side::Before;
  std::vector<PointPx> points;
  for (const vision::PointPairPx& pair : m_places) {
    points.push_back(isBefore ? pair.before : pair.after);
  }
  if (isBefore && m_half) {
    points.push_back(*m_half);
  }
  for (std::size_t i = 0; i < points.size(); ++i) {
    const QPointF at = viewFromPhoto(pane.side, points[i]);
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(QColor(0, 0, 0, 200), 5));
    painter.drawEllipse(at, kPlaceRadiusPx, kPlaceRadiusPx);
    painter.setPen(QPen(kPlaceColour, 2.5));
    painter.drawEllipse(at, kPlaceRadiusPx, kPlaceRadiusPx);
    painter.drawPoint(at);
    drawPill(painter, QRectF(at.x() + 10, at.y() - 24, 20, 20), QString::number(i + 1));
  }
  const bool isAsked = pane.side == askedSide() &&
                       (m_half || m_places.size() < vision::kMaxPointPairs);
  if (isAsked && m_showCrosshair) {
    const QPointF at = viewFromPhoto(pane.side, m_crosshair);
    for (const QPointF reach : {QPointF(kCrosshairPx, 0), QPointF(0, kCrosshairPx)}) {
      drawHaloLine(painter, QPolygonF{at - reach, at + reach}, kPlaceColour, 1.5);
    }
  }
  if (isAsked) {
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(kPlaceColour, 4));
    painter.drawRect(QRectF(pane.rect).adjusted(2, 2, -2, -2));
  }
}

// At the upper edge, the earlier photo's to the left; behind the line the later one's to the right.
void PairView::paintTitle(QPainter& painter, const QRect& rect, Side side) const {
  const QString& text = side == Side::Before ? m_titleBefore : m_titleAfter;
  if (text.isEmpty()) {
    return;
  }
  const QFontMetrics metrics(painter.font());
  const QSizeF size(metrics.horizontalAdvance(text) + 20.0, metrics.height() + 8.0);
  const bool isRight = side == Side::After && !isTwoPanes() && m_mode == PairMode::Line;
  const double left = isRight ? rect.right() - size.width() - 10 : rect.left() + 10;
  drawPill(painter, QRectF(QPointF(left, rect.top() + 10), size), text);
}

void PairView::paintLine(QPainter& painter) const {
  const double x = m_line * width();
  drawHaloLine(painter, QPolygonF{QPointF(x, 0), QPointF(x, height())}, Qt::white, 2);
  const QPointF grip(x, height() / 2.0);
  painter.setPen(QPen(QColor(20, 22, 18), 1.5));
  painter.setBrush(QColor(255, 254, 251));
  painter.drawEllipse(grip, 13, 13);
  for (const double to : {-1.0, 1.0}) {
    painter.setPen(QPen(QColor(20, 22, 18), 2));
    painter.drawPolyline(QPolygonF{grip + QPointF(to * 4, -5), grip + QPointF(to * 8, 0),
                                   grip + QPointF(to * 4, 5)});
  }
}

QImage PairView::snapshot() {
  if (!hasPictures()) {
    return {};
  }
  QImage image(size() * devicePixelRatioF(), QImage::Format_RGB32);
  image.setDevicePixelRatio(devicePixelRatioF());
  render(&image);
  return image;
}

}  // namespace edamori::pages
