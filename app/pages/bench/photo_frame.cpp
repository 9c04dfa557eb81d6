// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/photo_frame.h"

#include <QPainter>
#include <QtConcurrent>
#include <algorithm>
#include <cmath>
#include <cstring>
#include <utility>

namespace edamori::pages {

namespace {

// Below this many pixels a second thread costs more than it saves.
constexpr int kPixelsForThreads = 500'000;
// What is seen in passing may be read from a level that is this much too small: fewer pixels.
constexpr double kPassingDetail = 0.6;
// Origins whose distance is this near to whole pixels show the same pixels, shifted.
constexpr double kWholePx = 1e-6;

void applyTone(QImage& image, const QRect& part, const std::array<std::uint8_t, 256>& curve) {
  for (int y = part.top(); y <= part.bottom(); ++y) {
    auto* const line = reinterpret_cast<QRgb*>(image.scanLine(y));
    for (int x = part.left(); x <= part.right(); ++x) {
      const QRgb pixel = line[x];
      line[x] = qRgb(curve[static_cast<std::size_t>(qRed(pixel))],
                     curve[static_cast<std::size_t>(qGreen(pixel))],
                     curve[static_cast<std::size_t>(qBlue(pixel))]);
    }
  }
}

}  // namespace

std::array<std::uint8_t, 256> toneCurve(const ViewLight& light) {
  const double exponent = 1.0 / (1.0 + 2.0 * std::clamp(light.liftPercent, 0, 100) / 100.0);
  // −100 % halves the slope, 100 % doubles it.
  const double slope = std::exp2(std::clamp(light.contrastPercent, -100, 100) / 100.0);
  std::array<std::uint8_t, 256> curve{};
  for (std::size_t i = 0; i < curve.size(); ++i) {
    const double lifted = std::pow(static_cast<double>(i) / 255.0, exponent);
    const double shown = std::clamp(0.5 + (lifted - 0.5) * slope, 0.0, 1.0);
    curve[i] = static_cast<std::uint8_t>(std::lround(255.0 * shown));
  }
  return curve;
}

void drawPicture(QImage& image,
                 const QRect& part,
                 const Picture& picture,
                 const FramePlace& place) {
  const QImage& level = levelFor(picture, (place.isPassing ? kPassingDetail : 1.0) * place.zoom);
  const double scaleX = place.zoom * picture.photoSize.width() / level.width();
  const double scaleY = place.zoom * picture.photoSize.height() / level.height();
  // Only the pixels that are seen, and one more on each side for the smooth edge.
  const auto levelOf = [](double at, double origin, double scale, int limit) {
    return std::clamp((at - origin) / scale, 0.0, double{1} * limit);
  };
  const double left =
      std::floor(levelOf(part.left() - 1, place.originPx.x(), scaleX, level.width()));
  const double top =
      std::floor(levelOf(part.top() - 1, place.originPx.y(), scaleY, level.height()));
  const double right =
      std::ceil(levelOf(part.right() + 2, place.originPx.x(), scaleX, level.width()));
  const double bottom =
      std::ceil(levelOf(part.bottom() + 2, place.originPx.y(), scaleY, level.height()));
  if (right <= left || bottom <= top) {
    return;
  }
  QPainter painter(&image);
  painter.setClipRect(part);
  // From 200 % on, pixels are shown as they are.
  painter.setRenderHint(QPainter::SmoothPixmapTransform,
                        !place.isPassing && (!picture.isWhole || place.zoom < 2));
  painter.setCompositionMode(QPainter::CompositionMode_Source);
  painter.drawImage(QRectF(place.originPx.x() + left * scaleX,
                           place.originPx.y() + top * scaleY,
                           (right - left) * scaleX,
                           (bottom - top) * scaleY),
                    level,
                    QRectF(left, top, right - left, bottom - top));
}

void PhotoFrame::forget() { m_place = {}; }

void PhotoFrame::drawPart(const Picture& picture, const QRect& part) {
  if (part.isEmpty()) {
    return;
  }
  const auto curve = toneCurve(m_light);
  const auto band = [this, &picture, &curve](const QRect& rows) {
    // A view of the same memory, so that several painters may work at once.
    QImage lines(m_image.scanLine(0),
                 m_image.width(),
                 m_image.height(),
                 m_image.bytesPerLine(),
                 m_image.format());
    for (int y = rows.top(); y <= rows.bottom(); ++y) {
      auto* const line = reinterpret_cast<QRgb*>(lines.scanLine(y));
      std::fill(line + rows.left(), line + rows.right() + 1, m_ground);
    }
    drawPicture(lines, rows, picture, m_place);
    if (!m_light.isPlain()) {
      const QRectF photo(m_place.originPx, QSizeF(picture.photoSize) * m_place.zoom);
      applyTone(lines, rows.intersected(photo.toAlignedRect()), curve);
    }
  };
  if (part.width() * part.height() < kPixelsForThreads) {
    band(part);
    return;
  }
  QRect upper = part;
  upper.setHeight(part.height() / 2);
  QRect lower = part;
  lower.setTop(upper.bottom() + 1);
  const auto other = QtConcurrent::run([&band, lower] { band(lower); });
  band(upper);
  QFuture<void>(other).waitForFinished();
}

// The rest has been drawn before: it moves, and only the strips that come into sight are new.
void PhotoFrame::scroll(const Picture& picture, QPoint by) {
  if (m_spare.size() != m_image.size()) {
    m_spare = QImage(m_image.size(), m_image.format());
  }
  const QRect all = m_image.rect();
  const QRect kept = all.translated(by).intersected(all);
  for (int y = kept.top(); y <= kept.bottom(); ++y) {
    std::memcpy(m_spare.scanLine(y) + kept.left() * 4,
                m_image.constScanLine(y - by.y()) + (kept.left() - by.x()) * 4,
                static_cast<std::size_t>(kept.width()) * 4);
  }
  std::swap(m_image, m_spare);
  for (const QRect& part : QRegion(all) - QRegion(kept)) {
    drawPart(picture, part);
  }
}

const QImage& PhotoFrame::drawn(const Picture& picture,
                                const FramePlace& place,
                                const ViewLight& light,
                                QRgb ground) {
  const bool isSame = m_image.size() == place.sizePx && m_place.sizePx == place.sizePx &&
                      m_place.zoom == place.zoom && m_place.isPassing == place.isPassing && m_light == light && m_ground == ground;
  const QPointF shift = place.originPx - m_place.originPx;
  const QPoint whole = shift.toPoint();
  const bool isScrolled =
      isSame && std::abs(shift.x() - whole.x()) + std::abs(shift.y() - whole.y()) < kWholePx;
  m_place = place;
  m_light = light;
  m_ground = ground;
  if (isScrolled) {
    if (!whole.isNull()) {
      scroll(picture, whole);
    }
    return m_image;
  }
  if (m_image.size() != place.sizePx) {
    m_image = QImage(place.sizePx, QImage::Format_RGB32);
  }
  drawPart(picture, m_image.rect());
  return m_image;
}

}  // namespace edamori::pages
