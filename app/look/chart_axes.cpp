// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/look/chart_axes_internal.h"

#include <QLocale>

#include <algorithm>
#include <chrono>
#include <cmath>

namespace edamori::look {

namespace {

using std::chrono::day;
using std::chrono::days;
using std::chrono::month;
using std::chrono::months;
using std::chrono::sys_days;
using std::chrono::year;
using std::chrono::year_month;
using std::chrono::year_month_day;

// Smallest of 1, 2, 5 × 10ⁿ that is at least `least`.
double roundStep(double least) {
  const double power = std::pow(10.0, std::floor(std::log10(least)));
  for (const double factor : {1.0, 2.0, 5.0}) {
    if (factor * power >= least * (1.0 - 1e-9)) {
      return factor * power;
    }
  }
  return 10.0 * power;
}

double nextRoundStep(double step) { return roundStep(step * 1.5); }

QString monthName(year_month_day date) {
  return QLocale::c().monthName(static_cast<int>(static_cast<unsigned>(date.month())),
                                QLocale::ShortFormat);
}

double numberOf(year_month_day date) {
  return static_cast<double>(sys_days(date).time_since_epoch().count());
}

year_month_day dateOf(double dayNumber) {
  return sys_days(days(static_cast<int>(std::floor(dayNumber))));
}

std::vector<DateTick> everyDays(double first, double last, int step) {
  std::vector<DateTick> ticks;
  for (double at = std::ceil(first); at <= last; at += step) {
    const year_month_day date = dateOf(at);
    ticks.push_back({at, QString::number(static_cast<unsigned>(date.day())) + QLatin1Char(' ') +
                             monthName(date), {}});
  }
  return ticks;
}

// Firsts of months whose distance from January divides by `step` months.
std::vector<DateTick> everyMonths(double first, double last, int step) {
  std::vector<DateTick> ticks;
  const year_month_day start = dateOf(first);
  year_month at = start.year() / start.month();
  for (; numberOf(at / day(1)) <= last; at += months(1)) {
    const double number = numberOf(at / day(1));
    const int index = static_cast<int>(static_cast<unsigned>(at.month())) - 1 +
                      12 * static_cast<int>(at.year());
    if (number >= first && index % step == 0) {
      const bool isYearly = step >= 12;
      ticks.push_back({number,
                       isYearly ? QString::number(static_cast<int>(at.year())) : monthName(at / day(1)),
                       {}});
    }
  }
  return ticks;
}

void addYears(std::vector<DateTick>& ticks, bool isYearly) {
  if (isYearly) {
    return;
  }
  int shown = 0;
  for (DateTick& tick : ticks) {
    const int current = static_cast<int>(dateOf(tick.day).year());
    if (&tick == &ticks.front() || current != shown) {
      tick.yearLabel = QString::number(current);
      shown = current;
    }
  }
}

}  // namespace

double dayOf(const store::LocalTime& time) {
  constexpr double kSecondsPerDay = 86400.0;
  return numberOf(time.date) + static_cast<double>(time.timeOfDay.count()) / kSecondsPerDay;
}

int ValueAxis::tickCount() const { return static_cast<int>(std::lround((high - low) / step)) + 1; }

ValueAxis valueAxis(double low, double high, bool isFraction, int maxSteps) {
  constexpr double kLeastSpan = 0.1;  // So that noise of a few percent does not fill the chart.
  if (!isFraction) {
    low = std::min(low, 0.0);
    high = std::max(high, 1.0);
  } else if (high - low < kLeastSpan) {
    const double middle = (low + high) / 2.0;
    const double floor = low >= 0.0 ? 0.0 : middle - kLeastSpan;
    low = std::max(floor, middle - kLeastSpan / 2.0);
    high = low + kLeastSpan;
    if (middle <= 1.0 && high > 1.0) {
      high = 1.0;
      low = high - kLeastSpan;
    }
    if (middle < 0.0 && high > 0.0) {
      high = 0.0;
      low = high - kLeastSpan;
    }
  }
  maxSteps = std::max(maxSteps, low < 0.0 && high > 0.0 ? 2 : 1);
  double step = roundStep((high - low) / maxSteps);
  if (!isFraction) {
    step = std::max(step, 1.0);
  }
  const auto fitted = [&](double s) {
    constexpr double kSlack = 1e-9;
    return ValueAxis{std::floor(low / s + kSlack) * s, std::ceil(high / s - kSlack) * s, s};
  };
  ValueAxis axis = fitted(step);
  while (axis.tickCount() - 1 > maxSteps) {
    step = nextRoundStep(step);
    axis = fitted(step);
  }
  return axis;
}

QString valueLabel(const ValueAxis& axis, double value, bool isFraction) {
  const double factor = isFraction ? 100.0 : 1.0;
  const int decimals = axis.step * factor < 0.999 ? 1 : 0;
  QString text = QString::number(std::abs(value) < axis.step / 2 ? 0.0 : value * factor, 'f', decimals);
  text.replace(QLatin1Char('-'), QChar(0x2212));
  return isFraction ? text + QStringLiteral("\u00a0%") : text;
}

std::vector<DateTick> dateTicks(double firstDay, double lastDay, int maxTicks) {
  const auto fits = [maxTicks](const std::vector<DateTick>& ticks) {
    return static_cast<int>(ticks.size()) <= maxTicks;
  };
  // Months first when there are at least two of them to show.
  std::vector<DateTick> ticks;
  if (lastDay - firstDay < 62.0) {
    for (const int step : {1, 2, 7, 14, 28}) {
      ticks = everyDays(firstDay, lastDay, step);
      if (fits(ticks)) {
        addYears(ticks, false);
        return ticks;
      }
    }
  }
  for (const int step : {1, 2, 3, 6, 12, 24, 60, 120, 240, 600, 1200}) {
    ticks = everyMonths(firstDay, lastDay, step);
    if (fits(ticks)) {
      addYears(ticks, step >= 12);
      return ticks;
    }
  }
  ticks.resize(std::min(ticks.size(), static_cast<std::size_t>(maxTicks)));
  return ticks;
}

}  // namespace edamori::look
