// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/look/painted_icon_internal.h"
#include "app/look/theme.h"

#include <QPainter>
#include <QPainterPath>
#include <QPolygonF>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace edamori::look {

namespace {

using store::Finding;
using store::Stage;

// Corners on a circle of radius 1, the first at `startDegrees` clockwise from the right.
QPainterPath regularPolygon(int corners, double startDegrees) {
  QPolygonF polygon;
  for (int i = 0; i < corners; ++i) {
    const double angle = (startDegrees + 360.0 * i / corners) * std::numbers::pi / 180.0;
    polygon << QPointF(std::cos(angle), std::sin(angle));
  }
  QPainterPath path;
  path.addPolygon(polygon);
  path.closeSubpath();
  return path;
}

QPainterPath threeDots() {
  QPainterPath path;
  constexpr double kDot = 0.42;
  path.addEllipse(QPointF(0.0, -0.56), kDot, kDot);
  path.addEllipse(QPointF(-0.56, 0.42), kDot, kDot);
  path.addEllipse(QPointF(0.56, 0.42), kDot, kDot);
  return path;
}

QPainterPath chevron() {
  QPainterPath path;
  path.addPolygon(QPolygonF({QPointF(-1.0, -0.35), QPointF(0.0, 0.45), QPointF(1.0, -0.35),
                             QPointF(1.0, 0.15), QPointF(0.0, 0.95), QPointF(-1.0, 0.15)}));
  path.closeSubpath();
  path.translate(0.0, -0.3);
  return path;
}

QPainterPath ring() {
  QPainterPath path;
  path.setFillRule(Qt::OddEvenFill);
  path.addEllipse(QPointF(0, 0), 0.95, 0.95);
  path.addEllipse(QPointF(0, 0), 0.45, 0.45);
  return path;
}

// The shape about the origin, about 1 in radius.
QPainterPath shapeOf(Finding finding) {
  switch (finding) {
    case Finding::ScaleInsect: return regularPolygon(6, 0.0);
    case Finding::Aphids: return threeDots();
    case Finding::NeedleBlight: return chevron();
    case Finding::LeafSpot: return ring();
    case Finding::SprayScorch: return regularPolygon(3, -90.0);
    case Finding::Other: break;
  }
  QPainterPath square;
  square.addRect(-0.82, -0.82, 1.64, 1.64);
  return square;
}

}  // namespace

// Source: Okabe & Ito 2008, "Color Universal Design", the eight-colour set.
QColor findingColour(Finding finding) {
  switch (finding) {
    case Finding::ScaleInsect: return QColor(0xD5, 0x5E, 0x00);   // vermillion
    case Finding::Aphids: return QColor(0x56, 0xB4, 0xE9);        // sky blue
    case Finding::NeedleBlight: return QColor(0xE6, 0x9F, 0x00);  // orange
    case Finding::LeafSpot: return QColor(0xF0, 0xE4, 0x42);      // yellow
    case Finding::SprayScorch: return QColor(0xCC, 0x79, 0xA7);   // reddish purple
    case Finding::Other: break;
  }
  return {0x00, 0x72, 0xB2};  // blue
}

void drawFinding(QPainter& painter, Finding finding, Stage stage, QPointF at, double radius) {
  const double haloPx = std::clamp(radius * 0.16, 1.0, 3.0);
  const double linePx = std::max(1.5, radius * 0.2);
  const QTransform place = QTransform::fromTranslate(at.x(), at.y()).scale(radius, radius);
  const QPainterPath shape = place.map(shapeOf(finding));
  QPainterPath strike;
  if (stage == Stage::Removed) {
    strike.moveTo(at + QPointF(-radius, radius) * 1.1);
    strike.lineTo(at + QPointF(radius, -radius) * 1.1);
  }
  const QColor colour = findingColour(finding);
  const bool isHollow = stage != Stage::Live;

  painter.save();
  painter.setRenderHint(QPainter::Antialiasing);
  const auto strokeBoth = [&](const QColor& pen, double width) {
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(pen, width, Qt::SolidLine, Qt::RoundCap, Qt::RoundJoin));
    painter.drawPath(shape);
    painter.drawPath(strike);
  };
  // Dark outside light outside colour: one of the three stands out on any ground.
  const double corePx = isHollow ? linePx : 0.0;
  strokeBoth(QColor(0, 0, 0, 200), corePx + 4.0 * haloPx);
  strokeBoth(Qt::white, corePx + 2.0 * haloPx);
  if (isHollow) {
    strokeBoth(colour, linePx);
  } else {
    painter.fillPath(shape, colour);
  }
  painter.restore();
}

QIcon findingIcon(Finding finding) {
  return paintedIcon([finding](QPainter& painter, const QRectF& area, QIcon::Mode mode, QIcon::State) {
    painter.setOpacity(mode == QIcon::Disabled ? 0.4 : 1.0);
    drawFinding(painter, finding, Stage::Live, area.center(),
                std::min(area.width(), area.height()) * 0.36);
  });
}

QString findingName(Finding finding) {
  switch (finding) {
    case Finding::ScaleInsect: return QStringLiteral("Scale insect");
    case Finding::Aphids: return QStringLiteral("Aphids");
    case Finding::NeedleBlight: return QStringLiteral("Needle blight");
    case Finding::LeafSpot: return QStringLiteral("Leaf spot");
    case Finding::SprayScorch: return QStringLiteral("Spray scorch");
    case Finding::Other: break;
  }
  return QStringLiteral("Other");
}

}  // namespace edamori::look
