// SPDX-License-Identifier: GPL-3.0-or-later
// A figure over time, drawn the same on screen and in the letter.
#pragma once

#include "app/look/theme.h"
#include "app/work/overview.h"

#include <QRectF>

class QPainter;

namespace edamori::look {

// Draws axes with units, a line with points and 95 % whiskers per series, treatments as labelled
// ticks on the time axis, and a key with colour and point shape. `scale` is 1 for a screen at 96 dpi.
void drawChart(QPainter& painter, const QRectF& area, const work::FigureChart& chart,
               const Palette& palette, double scale);

}  // namespace edamori::look
