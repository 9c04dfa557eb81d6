// SPDX-License-Identifier: GPL-3.0-or-later
// How series are told apart: colour, point shape and dashes together.
#pragma once

#include "app/look/theme.h"

#include <QPainter>
#include <QPen>

#include <cstddef>

namespace edamori::look {

struct SeriesStyle {
  QColor colour;
  int shape = 0;      // 0…7
  QList<qreal> dash;  // in pen widths; empty: solid
};

// Style of the series with this index; differs for the first 64.
[[nodiscard]] SeriesStyle seriesStyle(std::size_t index, const Palette& palette);

// Contrast of two colours, 1…21 (WCAG 2.1, "contrast ratio").
[[nodiscard]] double contrastRatio(const QColor& a, const QColor& b);

// A line in the series' style; pale colours get a darker casing.
void drawSeriesLine(QPainter& painter, const SeriesStyle& style, const QList<QPointF>& points,
                    const Palette& palette, double widthPx);

// A point in the series' style; hollow when its date is uncertain, ringed when flagged.
struct PointLook {
  bool isHollow = false, isFlagged = false;
};
void drawSeriesPoint(QPainter& painter, const SeriesStyle& style, QPointF at, double radiusPx,
                     PointLook look, const Palette& palette);

}  // namespace edamori::look
