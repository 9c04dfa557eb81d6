// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/records/time.h"

#include <algorithm>
#include <ctime>

namespace edamori::store {

namespace {

constexpr int kMinutesPerDay = 24 * 60;

std::string padded(long long number, std::size_t digits) {
  std::string text = std::to_string(number);
  return text.size() < digits ? std::string(digits - text.size(), '0') + text : text;
}

bool isDigit(char c) { return c >= '0' && c <= '9'; }

// The number made of exactly `digits` digits at the front of `text`, which is cut off.
std::optional<int> takeNumber(std::string_view& text, std::size_t digits) {
  if (text.size() < digits ||
      !std::all_of(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(digits), isDigit)) {
    return std::nullopt;
  }
  int number = 0;
  for (std::size_t i = 0; i < digits; ++i) {
    number = number * 10 + (text[i] - '0');
  }
  text.remove_prefix(digits);
  return number;
}

bool takeChar(std::string_view& text, char c) {
  if (text.empty() || text.front() != c) {
    return false;
  }
  text.remove_prefix(1);
  return true;
}

std::optional<std::chrono::year_month_day> takeDate(std::string_view& text) {
  const auto year = takeNumber(text, 4);
  if (!year || !takeChar(text, '-')) {
    return std::nullopt;
  }
  const auto month = takeNumber(text, 2);
  if (!month || !takeChar(text, '-')) {
    return std::nullopt;
  }
  const auto day = takeNumber(text, 2);
  if (!day) {
    return std::nullopt;
  }
  const std::chrono::year_month_day date{std::chrono::year{*year},
                                         std::chrono::month{static_cast<unsigned>(*month)},
                                         std::chrono::day{static_cast<unsigned>(*day)}};
  return date.ok() ? std::optional{date} : std::nullopt;
}

std::optional<std::chrono::seconds> takeClock(std::string_view& text) {
  const auto hours = takeNumber(text, 2);
  if (!hours || *hours > 23 || !takeChar(text, ':')) {
    return std::nullopt;
  }
  const auto minutes = takeNumber(text, 2);
  if (!minutes || *minutes > 59 || !takeChar(text, ':')) {
    return std::nullopt;
  }
  const auto seconds = takeNumber(text, 2);
  if (!seconds || *seconds > 59) {
    return std::nullopt;
  }
  return std::chrono::seconds{(*hours * 60 + *minutes) * 60 + *seconds};
}

std::optional<int> takeOffset(std::string_view& text) {
  if (takeChar(text, 'Z')) {
    return 0;
  }
  const bool west = !text.empty() && text.front() == '-';
  if (!takeChar(text, '+') && !takeChar(text, '-')) {
    return std::nullopt;
  }
  const auto hours = takeNumber(text, 2);
  if (!hours || *hours > 23 || !takeChar(text, ':')) {
    return std::nullopt;
  }
  const auto minutes = takeNumber(text, 2);
  if (!minutes || *minutes > 59) {
    return std::nullopt;
  }
  const int offset = *hours * 60 + *minutes;
  return west ? -offset : offset;
}

// Digits after the point; empty when there is none, nothing when the point stands alone.
std::optional<std::string> takeSubSeconds(std::string_view& text) {
  if (!takeChar(text, '.')) {
    return std::string{};
  }
  const auto end = std::find_if_not(text.begin(), text.end(), isDigit);
  std::string digits(text.begin(), end);
  text.remove_prefix(digits.size());
  return digits.empty() ? std::nullopt : std::optional{digits};
}

std::optional<LocalTime> readLocalTime(std::string_view text) {
  LocalTime time;
  const auto date = takeDate(text);
  if (!date) {
    return std::nullopt;
  }
  time.date = *date;
  if (text.empty()) {
    return time;
  }
  if (!takeChar(text, 'T')) {
    return std::nullopt;
  }
  const auto clock = takeClock(text);
  const auto subSeconds = clock ? takeSubSeconds(text) : std::nullopt;
  if (!subSeconds) {
    return std::nullopt;
  }
  time.timeOfDay = *clock;
  time.subSeconds = *subSeconds;
  if (!text.empty()) {
    time.offsetMinutes = takeOffset(text);
    if (!time.offsetMinutes) {
      return std::nullopt;
    }
  }
  return text.empty() ? std::optional{time} : std::nullopt;
}

std::chrono::sys_seconds clockOf(const LocalTime& time) {
  return std::chrono::sys_days{time.date} + time.timeOfDay;
}

// Decimal fractions without trailing zeros compare as text.
std::string_view withoutTrailingZeros(std::string_view digits) {
  const auto last = digits.find_last_not_of('0');
  return last == std::string_view::npos ? std::string_view{} : digits.substr(0, last + 1);
}

}  // namespace

std::string toText(const LocalTime& time) {
  if (!time.isKnown()) {
    return {};
  }
  const long long seconds = time.timeOfDay.count();
  std::string text = toText(time.date) + 'T' + padded(seconds / 3600, 2) + ':' +
                     padded(seconds / 60 % 60, 2) + ':' + padded(seconds % 60, 2);
  if (!time.subSeconds.empty()) {
    text += '.' + time.subSeconds;
  }
  if (time.offsetMinutes) {
    const int minutes = std::abs(*time.offsetMinutes);
    text += (*time.offsetMinutes < 0 ? '-' : '+') + padded(minutes / 60, 2) + ':' +
            padded(minutes % 60, 2);
  }
  return text;
}

std::string dateText(const LocalTime& time) { return time.isKnown() ? toText(time.date) : ""; }

std::string toText(std::chrono::year_month_day date) {
  if (!date.ok()) {
    return {};
  }
  return padded(static_cast<int>(date.year()), 4) + '-' +
         padded(static_cast<unsigned>(date.month()), 2) + '-' +
         padded(static_cast<unsigned>(date.day()), 2);
}

Result<LocalTime> parseLocalTime(std::string_view text) {
  if (text.empty()) {
    return LocalTime{};
  }
  const auto time = readLocalTime(text);
  if (!time) {
    return fail(ErrorCode::InvalidArgument,
                "\"" + std::string(text) +
                    "\" is no date and time; write it like 2026-04-12T10:15:30+02:00");
  }
  return *time;
}

Result<std::chrono::year_month_day> parseDate(std::string_view text) {
  std::string_view rest = text;
  const auto date = takeDate(rest);
  if (!date || !rest.empty()) {
    return fail(ErrorCode::InvalidArgument,
                "\"" + std::string(text) + "\" is no date; write it like 2026-04-12");
  }
  return *date;
}

bool isEarlier(const LocalTime& a, const LocalTime& b) {
  if (!a.isKnown() || !b.isKnown()) {
    return !a.isKnown() && b.isKnown();
  }
  auto clockA = clockOf(a);
  auto clockB = clockOf(b);
  if (a.offsetMinutes && b.offsetMinutes) {
    clockA -= std::chrono::minutes{*a.offsetMinutes};
    clockB -= std::chrono::minutes{*b.offsetMinutes};
  }
  if (clockA != clockB) {
    return clockA < clockB;
  }
  return withoutTrailingZeros(a.subSeconds) < withoutTrailingZeros(b.subSeconds);
}

int daysBetween(std::chrono::year_month_day a, std::chrono::year_month_day b) {
  return static_cast<int>((std::chrono::sys_days{b} - std::chrono::sys_days{a}).count());
}

LocalTime now() {
  const auto instant = std::chrono::system_clock::now();
  const std::time_t seconds =
      std::chrono::system_clock::to_time_t(std::chrono::floor<std::chrono::seconds>(instant));
  std::tm local{};
  ::localtime_r(&seconds, &local);
  const auto milliseconds = std::chrono::duration_cast<std::chrono::milliseconds>(
      instant - std::chrono::floor<std::chrono::seconds>(instant));
  LocalTime time;
  time.date =
      std::chrono::year_month_day{std::chrono::year{local.tm_year + 1900},
                                  std::chrono::month{static_cast<unsigned>(local.tm_mon + 1)},
                                  std::chrono::day{static_cast<unsigned>(local.tm_mday)}};
  // A leap second would leave the range of a day.
  time.timeOfDay =
      std::chrono::seconds{(local.tm_hour * 60 + local.tm_min) * 60 + std::min(local.tm_sec, 59)};
  time.subSeconds = padded(milliseconds.count(), 3);
  time.offsetMinutes = static_cast<int>(local.tm_gmtoff / 60) % kMinutesPerDay;
  return time;
}

}  // namespace edamori::store
