// SPDX-License-Identifier: GPL-3.0-or-later
// The PhotoView's loupe and overview.
#include "app/look/theme.h"
#include "app/pages/bench/photo_view.h"

#include <QPainter>
#include <QPainterPath>
#include <algorithm>
#include <cmath>

namespace edamori::pages {

namespace {

constexpr double kLoupeRadiusPx = 96;  // view px
constexpr double kLoupeFactor = 4;
constexpr double kOverviewSidePx = 150;  // view px, of the longer side
constexpr double kOverviewMarginPx = 12;
constexpr double kMarkRadiusPx = 9;

}  // namespace

void PhotoView::paintLoupe(QPainter& painter) {
  const auto at = m_crosshair ? std::optional(viewFromPhoto(*m_crosshair)) : m_pointer;
  if (!m_showLoupe || !at || overviewRect().contains(*at)) {
    return;
  }
  const double ratio = devicePixelRatioF();
  const double zoom = std::min(m_zoom * kLoupeFactor, kGreatestZoom * kLoupeFactor / 2);
  const PointPx middle = photoFromView(*at);
  const double scaleThere = zoom / ratio;
  const int side = static_cast<int>(std::ceil(2 * kLoupeRadiusPx * ratio));
  QImage glass(side, side, QImage::Format_RGB32);
  glass.fill(look::palette(look::currentTheme()).page);
  drawPicture(glass,
              glass.rect(),
              m_picture,
              {.sizePx = glass.size(),
               .originPx = {side / 2.0 - middle.x * zoom, side / 2.0 - middle.y * zoom},
               .zoom = zoom});
  if (!m_light.isPlain()) {
    const auto curve = toneCurve(m_light);
    for (int y = 0; y < side; ++y) {
      auto* const line = reinterpret_cast<QRgb*>(glass.scanLine(y));
      std::transform(line, line + side, line, [&curve](QRgb pixel) {
        return qRgb(curve[static_cast<std::size_t>(qRed(pixel))],
                    curve[static_cast<std::size_t>(qGreen(pixel))],
                    curve[static_cast<std::size_t>(qBlue(pixel))]);
      });
    }
  }
  glass.setDevicePixelRatio(ratio);
  const QRectF round(at->x() - kLoupeRadiusPx,
                     at->y() - kLoupeRadiusPx,
                     2 * kLoupeRadiusPx,
                     2 * kLoupeRadiusPx);
  QPainterPath rim;
  rim.addEllipse(round);
  painter.save();
  painter.setClipPath(rim);
  painter.drawImage(round.topLeft(), glass);
  for (const auto& mark : m_desk.marks()) {
    const QPointF there = *at + QPointF(mark.centre.x - middle.x, mark.centre.y - middle.y) * scaleThere;
    if (m_showOverlay && round.contains(there)) {
      m_sprites.draw(painter, mark.finding, mark.stage, there, kMarkRadiusPx);
    }
  }
  painter.restore();
  for (const QPointF direction : {QPointF(1, 0), QPointF(-1, 0), QPointF(0, 1), QPointF(0, -1)}) {
    drawHaloLine(painter, {*at + direction * 8, *at + direction * 18}, Qt::white, 1.5);
  }
  painter.setBrush(Qt::NoBrush);
  painter.setPen(QPen(QColor(0, 0, 0, 200), 5));
  painter.drawEllipse(round);
  painter.setPen(QPen(Qt::white, 2));
  painter.drawEllipse(round);
}

QRectF PhotoView::overviewRect() const {
  const QSizeF photo = m_picture.photoSize;
  if (m_picture.isEmpty() || photo.width() * scale() <= width() + 1) {
    if (m_picture.isEmpty() || photo.height() * scale() <= height() + 1) {
      return {};
    }
  }
  const QSizeF size = photo.scaled(kOverviewSidePx, kOverviewSidePx, Qt::KeepAspectRatio);
  return {QPointF(width() - size.width() - kOverviewMarginPx, kOverviewMarginPx), size};
}

void PhotoView::paintOverview(QPainter& painter) const {
  const QRectF box = overviewRect();
  if (box.isEmpty()) {
    return;
  }
  painter.setRenderHint(QPainter::SmoothPixmapTransform);
  painter.setPen(Qt::NoPen);
  painter.setBrush(QColor(0, 0, 0, 200));
  painter.drawRoundedRect(box.adjusted(-3, -3, 3, 3), 3, 3);
  painter.drawImage(box, m_picture.levels.back());
  const double factor = box.width() / m_picture.photoSize.width();
  const PointPx from = clamped(photoFromView({0, 0}));
  const PointPx to = clamped(photoFromView({width() * 1.0, height() * 1.0}));
  const QRectF seen(box.topLeft() + QPointF(from.x, from.y) * factor,
                    box.topLeft() + QPointF(to.x, to.y) * factor);
  drawHaloLine(painter, QPolygonF(seen), Qt::white, 1.5);
}

bool PhotoView::panByOverview(QPointF at) {
  const QRectF box = overviewRect();
  if (box.isEmpty() || (!m_isOnOverview && !box.contains(at))) {
    return false;
  }
  const double factor = m_picture.photoSize.width() / box.width();
  centreOn({.x = (at.x() - box.left()) * factor, .y = (at.y() - box.top()) * factor});
  return true;
}

}  // namespace edamori::pages
