// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/mark_sprites.h"

#include "app/look/theme.h"

#include <QPaintDevice>
#include <cmath>

namespace edamori::pages {

namespace {
// Room for the halo and the stroke through a removed mark, in radii.
constexpr double kRoom = 1.9;
}  // namespace

void MarkSprites::draw(QPainter& painter,
                       store::Finding finding,
                       store::Stage stage,
                       QPointF at,
                       double radiusPx) {
  const double ratio = painter.device()->devicePixelRatioF();
  auto& sprite = m_sprites[{finding, stage, radiusPx, ratio}];
  // Odd, so that a pixel lies in the middle.
  const int side = 2 * static_cast<int>(std::ceil(radiusPx * kRoom * ratio)) + 1;
  if (sprite.isNull()) {
    QImage image(side, side, QImage::Format_ARGB32_Premultiplied);
    image.fill(Qt::transparent);
    QPainter once(&image);
    look::drawFinding(
        once, finding, stage, QPointF(side / 2.0, side / 2.0), radiusPx * ratio);
    once.end();
    sprite = QPixmap::fromImage(image);
    sprite.setDevicePixelRatio(ratio);
  }
  const auto onPixel = [ratio, side](double v) {
    return std::round(v * ratio - side / 2.0) / ratio;
  };
  painter.drawPixmap(QPointF(onPixel(at.x()), onPixel(at.y())), sprite);
}

}  // namespace edamori::pages
