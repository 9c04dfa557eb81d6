// SPDX-License-Identifier: GPL-3.0-or-later
// A figure over time, drawn the same on screen and in the letter.
#pragma once

#include "app/look/theme.h"
#include "app/work/overview.h"

#include <QPointF>
#include <QRectF>

#include <cstddef>
#include <vector>

class QPainter;

namespace edamori::look {

// Where a point of a chart was drawn.
struct ChartSpot {
  QPointF at;                         // in the painter's units
  std::size_t series = 0, point = 0;  // of the chart's series, and of that one's points
};

// Draws axes with units, a line with points and 95 % whiskers per series, treatments as labelled
// ticks on the time axis, and a key with colour and point shape. `scale` is 1 for a screen at 96 dpi.
// Returns the points that were drawn, series by series: those without a date are not.
std::vector<ChartSpot> drawChart(QPainter& painter, const QRectF& area, const work::FigureChart& chart,
                                 const Palette& palette, double scale);

}  // namespace edamori::look
