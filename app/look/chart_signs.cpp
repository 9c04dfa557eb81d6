// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/look/chart_signs_internal.h"

#include "app/look/style_sheet_internal.h"

#include <QPainterPath>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace edamori::look {

namespace {

constexpr double kPaleContrast = 2.6;  // Below this a thin line is hard to follow; chosen by eye.

QPainterPath ringOfCorners(int corners, double startDegrees, double innerRadius = 1.0) {
  QPolygonF polygon;
  const int steps = innerRadius < 1.0 ? corners * 2 : corners;
  for (int i = 0; i < steps; ++i) {
    const double radius = innerRadius < 1.0 && i % 2 == 1 ? innerRadius : 1.0;
    const double angle = (startDegrees + 360.0 * i / steps) * std::numbers::pi / 180.0;
    polygon << QPointF(radius * std::cos(angle), radius * std::sin(angle));
  }
  QPainterPath path;
  path.addPolygon(polygon);
  path.closeSubpath();
  return path;
}

QPainterPath pointShape(int shape) {
  QPainterPath path;
  switch (shape) {
    case 0: path.addEllipse(QPointF(0, 0), 0.95, 0.95); return path;
    case 1: path.addRect(-0.85, -0.85, 1.7, 1.7); return path;
    case 2: return QTransform::fromScale(1.2, 1.2).map(ringOfCorners(3, -90.0));
    case 3: return QTransform::fromScale(1.2, 1.2).map(ringOfCorners(4, -90.0));
    case 4: return QTransform::fromScale(1.2, 1.2).map(ringOfCorners(3, 90.0));
    case 5: return QTransform::fromScale(1.1, 1.1).map(ringOfCorners(5, -90.0));
    case 6: return QTransform::fromScale(1.4, 1.4).map(ringOfCorners(5, -90.0, 0.45));
    default: break;
  }
  constexpr double kArm = 0.38, kEnd = 1.1;
  path.addPolygon(QPolygonF({QPointF(-kArm, -kEnd), QPointF(kArm, -kEnd), QPointF(kArm, -kArm),
                             QPointF(kEnd, -kArm), QPointF(kEnd, kArm), QPointF(kArm, kArm),
                             QPointF(kArm, kEnd), QPointF(-kArm, kEnd), QPointF(-kArm, kArm),
                             QPointF(-kEnd, kArm), QPointF(-kEnd, -kArm), QPointF(-kArm, -kArm)}));
  path.closeSubpath();
  return path;
}

// Source: WCAG 2.1, "relative luminance".
double relativeLuminance(const QColor& colour) {
  const auto linear = [](double v) {
    return v <= 0.03928 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
  };
  return 0.2126 * linear(static_cast<double>(colour.redF())) +
         0.7152 * linear(static_cast<double>(colour.greenF())) +
         0.0722 * linear(static_cast<double>(colour.blueF()));
}

bool isPale(const QColor& colour, const Palette& palette) {
  return contrastRatio(colour, palette.raised) < kPaleContrast;
}

}  // namespace

double contrastRatio(const QColor& a, const QColor& b) {
  const double la = relativeLuminance(a), lb = relativeLuminance(b);
  return (std::max(la, lb) + 0.05) / (std::min(la, lb) + 0.05);
}

SeriesStyle seriesStyle(std::size_t index, const Palette& palette) {
  // Okabe & Ito 2008, the ones that stand out most on the ground first; their black is the text
  // colour here, which is light on the dark theme.
  const QColor blue(0x00, 0x72, 0xB2), vermillion(0xD5, 0x5E, 0x00), green(0x00, 0x9E, 0x73),
      purple(0xCC, 0x79, 0xA7), orange(0xE6, 0x9F, 0x00), sky(0x56, 0xB4, 0xE9),
      yellow(0xF0, 0xE4, 0x42);
  const bool isDark = palette.raised.lightnessF() < 0.5F;
  const std::array<QColor, 8> colours =
      isDark ? std::array<QColor, 8>{sky, orange, green, purple, palette.text, yellow, vermillion, blue}
             : std::array<QColor, 8>{blue, vermillion, green, purple, palette.text, orange, sky, yellow};
  const std::array<QList<qreal>, 8> dashes = {QList<qreal>{},  {5, 3}, {1.5, 2.5}, {8, 3, 1.5, 3},
                                              {3, 2}, {10, 4}, {6, 2, 1.5, 2, 1.5, 2}, {2, 4}};
  const std::size_t round = index / 8;
  return {colours[index % 8], static_cast<int>((index + round) % 8), dashes[(index + 2 * round) % 8]};
}

void drawSeriesLine(QPainter& painter, const SeriesStyle& style, const QList<QPointF>& points,
                    const Palette& palette, double widthPx) {
  if (points.size() < 2) {
    return;
  }
  painter.setBrush(Qt::NoBrush);
  const auto stroke = [&](const QColor& colour, double width) {
    QPen pen(colour, width, Qt::SolidLine, Qt::FlatCap, Qt::RoundJoin);
    if (!style.dash.isEmpty()) {
      QList<qreal> dash;
      for (const qreal part : style.dash) {
        dash << part * widthPx / width;  // Casing and line must break at the same places.
      }
      pen.setDashPattern(dash);
    }
    painter.setPen(pen);
    painter.drawPolyline(points.constData(), static_cast<int>(points.size()));
  };
  if (isPale(style.colour, palette)) {
    stroke(mixed(palette.text, palette.raised, 0.25), widthPx * 1.9);
  }
  stroke(style.colour, widthPx);
}

void drawSeriesPoint(QPainter& painter, const SeriesStyle& style, QPointF at, double radiusPx,
                     PointLook look, const Palette& palette) {
  const QTransform place = QTransform::fromTranslate(at.x(), at.y()).scale(radiusPx, radiusPx);
  const QPainterPath path = place.map(pointShape(style.shape));
  const QColor edge = isPale(style.colour, palette) ? mixed(palette.text, palette.raised, 0.25)
                                                    : style.colour;
  const double width = radiusPx * 0.4;
  painter.setPen(QPen(look.isHollow ? edge : palette.raised, width, Qt::SolidLine, Qt::SquareCap,
                      Qt::MiterJoin));
  painter.setBrush(look.isHollow ? palette.raised : style.colour);
  painter.drawPath(path);
  if (!look.isHollow && edge != style.colour) {
    painter.setPen(QPen(edge, width * 0.6));
    painter.setBrush(Qt::NoBrush);
    painter.drawPath(path);
  }
  if (look.isFlagged) {
    painter.setPen(QPen(palette.warning, width * 0.8));
    painter.setBrush(Qt::NoBrush);
    painter.drawEllipse(at, radiusPx * 2.1, radiusPx * 2.1);
  }
}

}  // namespace edamori::look
