// SPDX-License-Identifier: GPL-3.0-or-later
// Axes of a chart: round limits for values, calendar ticks for days. No painting.
#pragma once

#include "store/records/time.h"

#include <QString>

#include <vector>

namespace edamori::look {

// Days since 1970-01-01 of the local clock as written; `time` must be known.
[[nodiscard]] double dayOf(const store::LocalTime& time);

struct ValueAxis {
  double low = 0.0, high = 1.0, step = 0.2;  // low and high are multiples of step
  [[nodiscard]] int tickCount() const;       // both ends included, ≥ 2
};

// Round limits (steps of 1, 2 or 5 times a power of ten) around low…high with at most
// `maxSteps` (≥ 1) steps, or 2 where the data lie on both sides of 0. Fractions stay within what a fraction can be: limits within 0…1
// are never crossed unless the data do. Counts start at 0 and have whole steps.
[[nodiscard]] ValueAxis valueAxis(double low, double high, bool isFraction, int maxSteps);

// "40 %" for a fraction, else "40".
[[nodiscard]] QString valueLabel(const ValueAxis& axis, double value, bool isFraction);

struct DateTick {
  double day = 0.0;
  QString label;      // "Apr", "12 Apr", or the year when ticks are a year or more apart
  QString yearLabel;  // under the first tick and under the first of each year; else empty
};

// Ticks within first…last (days), at most `maxTicks` (≥ 2): days, months or years, whichever fits.
[[nodiscard]] std::vector<DateTick> dateTicks(double firstDay, double lastDay, int maxTicks);

}  // namespace edamori::look
