// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/trends/seasons.h"

#include <algorithm>
#include <cstdlib>
#include <tuple>

namespace edamori::store {

namespace {

using std::chrono::year_month_day;

constexpr int kDaysOfYear = 365;
// Less apart, two dates are of one season that runs over the turn of the year.
constexpr int kLeastDaysApart = 183;

// 0 for 1 January … 364 for 31 December.
int dayOfCommonYear(year_month_day date) {
  using namespace std::chrono;
  constexpr year kCommon{2023};
  const bool isLeapDay = date.month() == February && date.day() == day{29};
  const year_month_day same{kCommon, date.month(), isLeapDay ? day{28} : date.day()};
  return static_cast<int>((sys_days{same} - sys_days{year_month_day{kCommon, January, day{1}}}).count());
}

}  // namespace

int seasonDistanceDays(year_month_day a, year_month_day b) {
  const int apart = std::abs(dayOfCommonYear(a) - dayOfCommonYear(b));
  return std::min(apart, kDaysOfYear - apart);
}

std::vector<SeasonPair> sameSeasonPairs(std::span<const year_month_day> dates, int windowDays) {
  using std::chrono::sys_days;
  std::vector<SeasonPair> pairs;
  for (std::size_t i = 0; i < dates.size(); ++i) {
    for (std::size_t j = 0; j < dates.size(); ++j) {
      if (!dates[i].ok() || !dates[j].ok() ||
          (sys_days{dates[j]} - sys_days{dates[i]}).count() < kLeastDaysApart) {
        continue;
      }
      const int distance = seasonDistanceDays(dates[i], dates[j]);
      if (distance <= windowDays) {
        pairs.push_back({.earlier = i, .later = j, .distanceDays = distance});
      }
    }
  }
  std::ranges::stable_sort(pairs, [&dates](const SeasonPair& a, const SeasonPair& b) {
    return std::tuple(a.distanceDays, dates[b.later], dates[b.earlier]) <
           std::tuple(b.distanceDays, dates[a.later], dates[a.earlier]);
  });
  return pairs;
}

}  // namespace edamori::store
