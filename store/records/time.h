// SPDX-License-Identifier: GPL-3.0-or-later
// Times as the camera or the person wrote them: local time, with the offset
// from UTC when it is known. Nothing is guessed.
#pragma once

#include "vision/values/result.h"

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

namespace edamori::store {

// ISO 8601 local date and time, e.g. "2026-04-12T10:15:30.123+02:00".
struct LocalTime {
  std::chrono::year_month_day date{};     // invalid (`!ok()`) when unknown
  std::chrono::seconds timeOfDay{0};      // 0 … 86399 s
  std::string subSeconds;                 // digits after the point as written, e.g. "05"; may be empty
  std::optional<int> offsetMinutes;       // minutes east of UTC, −1439 … 1439; absent when unknown

  [[nodiscard]] bool isKnown() const { return date.ok(); }
  friend bool operator==(const LocalTime&, const LocalTime&) = default;
};

// Writes ISO 8601; an unknown time gives "".
[[nodiscard]] std::string toText(const LocalTime& time);
// "2026-04-12", or "" when unknown.
[[nodiscard]] std::string dateText(const LocalTime& time);
[[nodiscard]] std::string toText(std::chrono::year_month_day date);

// Reads what toText writes; also a date alone. "" gives an unknown time.
// Errors: InvalidArgument with the offending text.
Result<LocalTime> parseLocalTime(std::string_view text);
// Reads "YYYY-MM-DD". Errors: InvalidArgument.
Result<std::chrono::year_month_day> parseDate(std::string_view text);

// Order by what is known: UTC when both carry an offset, else local clock. Unknown times come first.
[[nodiscard]] bool isEarlier(const LocalTime& a, const LocalTime& b);

// Whole days from `a` to `b`; negative when b is earlier. Both must be ok().
[[nodiscard]] int daysBetween(std::chrono::year_month_day a, std::chrono::year_month_day b);

// The wall clock of this machine, with its offset.
[[nodiscard]] LocalTime now();

}  // namespace edamori::store
