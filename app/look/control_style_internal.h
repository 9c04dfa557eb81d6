// SPDX-License-Identifier: GPL-3.0-or-later
// Fusion with our own boxes, ticks and arrows: what a style sheet could draw only from image files.
#pragma once

#include <QProxyStyle>

namespace edamori::look {

// Owned by the application that it is set on; draws in the colours of currentTheme().
class ControlStyle : public QProxyStyle {
 public:
  ControlStyle();

  void drawPrimitive(PrimitiveElement element, const QStyleOption* option, QPainter* painter,
                     const QWidget* widget = nullptr) const override;
  void drawComplexControl(ComplexControl control, const QStyleOptionComplex* option,
                          QPainter* painter, const QWidget* widget = nullptr) const override;
  [[nodiscard]] int pixelMetric(PixelMetric metric, const QStyleOption* option = nullptr,
                                const QWidget* widget = nullptr) const override;
  [[nodiscard]] QSize sizeFromContents(ContentsType type, const QStyleOption* option,
                                       const QSize& size,
                                       const QWidget* widget = nullptr) const override;
};

}  // namespace edamori::look
