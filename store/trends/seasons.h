// SPDX-License-Identifier: GPL-3.0-or-later
// Which dates lie in the same season of different years.
#pragma once

#include <chrono>
#include <cstddef>
#include <span>
#include <vector>

namespace edamori::store {

// How many days of the year lie between two dates whatever their years, the shorter way round the
// turn of the year: 0 … 182. Counted in a common year of 365 days, where 29 February counts as the
// 28th; so the same day of two years is 0 days off, and both ways round give the same number.
// Both must be ok().
[[nodiscard]] int seasonDistanceDays(std::chrono::year_month_day a, std::chrono::year_month_day b);

// Two of the given dates by their places in the list.
struct SeasonPair {
  std::size_t earlier = 0, later = 0;
  int distanceDays = 0;  // as seasonDistanceDays
  friend bool operator==(const SeasonPair&, const SeasonPair&) = default;
};

// Pairs of dates in the same season of different years: at most `windowDays` off, and at least
// half a year (183 days) apart, so that 28 December and 3 January of one winter are none.
//
// Input:  dates in any order; unknown ones (not ok()) are passed over.
// Output: closest in the season first; of those as close, the latest later date, then the latest
//         earlier one.
// Cost:   all pairs of dates.
[[nodiscard]] std::vector<SeasonPair> sameSeasonPairs(
    std::span<const std::chrono::year_month_day> dates, int windowDays);

}  // namespace edamori::store
