// SPDX-License-Identifier: GPL-3.0-or-later
// The photo as it is seen, without what lies over it: kept between paintings, so that panning draws
// only what comes into sight.
#pragma once

#include "app/pages/bench/photo_picture.h"

#include <QImage>
#include <QPointF>
#include <QSize>
#include <array>
#include <vector>

namespace edamori::pages {

// How the photo is lit on the screen. Never touches the photo, its figures or what is stored.
struct ViewLight {
  int liftPercent = 0;      // 0…100: how far dark parts are raised
  int contrastPercent = 0;  // −100…100: steeper or flatter about mid grey
  [[nodiscard]] bool isPlain() const { return liftPercent == 0 && contrastPercent == 0; }
  friend bool operator==(const ViewLight&, const ViewLight&) = default;
};

// The value shown for each 8-bit value: a power law that keeps black and white (exponent
// 1 / (1 + 2 · lift)), then a line through mid grey. Never falls where the light rises.
[[nodiscard]] std::array<std::uint8_t, 256> toneCurve(const ViewLight& light);

// Where the photo lies on the screen, in device px.
struct FramePlace {
  QSize sizePx;      // of the view
  QPointF originPx;  // where the upper left corner of the photo is
  double zoom = 1;   // device px per photo px
  bool isPassing = false;  // seen for a moment only: pixels need not be smoothed
};

// Lives in one thread. Keeps two images of the size of the view.
class PhotoFrame {
 public:
  // The picture must not be empty; `ground` is seen beside it. The image is valid until the next
  // call.
  [[nodiscard]] const QImage& drawn(const Picture& picture,
                                    const FramePlace& place,
                                    const ViewLight& light,
                                    QRgb ground);
  void forget();  // e.g. when the picture has changed

 private:
  void drawPart(const Picture& picture, const QRect& part);
  void scroll(const Picture& picture, QPoint by);

  QImage m_image, m_spare;
  FramePlace m_place;
  ViewLight m_light;
  QRgb m_ground = 0;
};

// The picture drawn smoothly (below 200 %) or pixel by pixel into `part` of `image`.
void drawPicture(QImage& image, const QRect& part, const Picture& picture, const FramePlace& place);

}  // namespace edamori::pages
