// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/records/time.h"

#include "tests/support/matchers.h"

#include <cstdlib>
#include <ctime>

#include <gtest/gtest.h>

namespace edamori::store {

using test::failsWith;
using test::isOk;

namespace {

LocalTime timeOf(const std::string& text) {
  const auto time = parseLocalTime(text);
  EXPECT_THAT(time, isOk()) << text;
  return time ? *time : LocalTime{};
}

std::chrono::year_month_day dateOf(const std::string& text) {
  const auto date = parseDate(text);
  EXPECT_THAT(date, isOk()) << text;
  return date ? *date : std::chrono::year_month_day{};
}

}  // namespace

class TimeText : public ::testing::TestWithParam<const char*> {};

// The first four are the examples of RFC 3339 §5.8 (without its leap seconds);
// the others are further spellings of ISO 8601.
INSTANTIATE_TEST_SUITE_P(Iso8601,
                         TimeText,
                         ::testing::Values("1985-04-12T23:20:50.52+00:00",
                                           "1996-12-19T16:39:57-08:00",
                                           "1937-01-01T12:00:27.87+00:20",
                                           "1996-12-20T00:39:57+00:00",
                                           "2026-04-12T10:15:30.123+02:00",
                                           "2026-04-12T10:15:30.05",
                                           "2026-04-12T00:00:00",
                                           "2024-02-29T23:59:59-23:59"));

TEST_P(TimeText, ComesBackAsItWas) { EXPECT_EQ(toText(timeOf(GetParam())), GetParam()); }

TEST(LocalTime, ReadsItsParts) {
  using namespace std::chrono_literals;
  const LocalTime time = timeOf("2026-04-12T10:15:30.05-02:30");
  EXPECT_EQ(time.date, 2026y / 4 / 12);
  EXPECT_EQ(time.timeOfDay, 10h + 15min + 30s);
  EXPECT_EQ(time.subSeconds, "05");
  EXPECT_EQ(time.offsetMinutes, -150);
  EXPECT_EQ(dateText(time), "2026-04-12");
}

TEST(LocalTime, ReadsADateAlone) {
  const LocalTime time = timeOf("2026-04-12");
  EXPECT_EQ(time.timeOfDay.count(), 0);
  EXPECT_FALSE(time.offsetMinutes.has_value());
}

TEST(LocalTime, IsUnknownWhenEmpty) {
  EXPECT_FALSE(timeOf("").isKnown());
  EXPECT_EQ(toText(LocalTime{}), "");
  EXPECT_EQ(dateText(LocalTime{}), "");
}

class BadTime : public ::testing::TestWithParam<const char*> {};

INSTANTIATE_TEST_SUITE_P(Texts,
                         BadTime,
                         ::testing::Values("2026-02-29",
                                           "2026-13-01",
                                           "2026-00-10",
                                           "2026-04-31",
                                           "26-04-12",
                                           "2026-4-12",
                                           "2026:04:12 10:15:30",
                                           "2026-04-12T",
                                           "2026-04-12T24:00:00",
                                           "2026-04-12T10:60:00",
                                           "2026-04-12T10:15:60",
                                           "2026-04-12T10:15",
                                           "2026-04-12T10:15:30.",
                                           "2026-04-12T10:15:30+2:00",
                                           "2026-04-12T10:15:30+24:00",
                                           "2026-04-12T10:15:30+02:00x",
                                           "today",
                                           " 2026-04-12"));

TEST_P(BadTime, IsRefusedByName) {
  const auto time = parseLocalTime(GetParam());
  ASSERT_THAT(time, failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(time.error().message, ::testing::HasSubstr(GetParam()));
}

TEST(Date, RefusesATimeAndADayThatDoesNotExist) {
  EXPECT_THAT(parseDate("2026-04-12T10:15:30"), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(parseDate("2023-02-29"), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(parseDate(""), failsWith(ErrorCode::InvalidArgument));
}

TEST(IsEarlier, ComparesInstantsWhenBothHaveAnOffset) {
  // RFC 3339 §5.8: these two are the same instant.
  const LocalTime west = timeOf("1996-12-19T16:39:57-08:00");
  const LocalTime utc = timeOf("1996-12-20T00:39:57Z");
  EXPECT_FALSE(isEarlier(west, utc));
  EXPECT_FALSE(isEarlier(utc, west));
  EXPECT_TRUE(isEarlier(timeOf("1996-12-19T16:39:56-08:00"), utc));
}

TEST(IsEarlier, ComparesLocalClocksWhenAnOffsetIsMissing) {
  EXPECT_TRUE(isEarlier(timeOf("2026-04-12T10:00:00+09:00"), timeOf("2026-04-12T11:00:00")));
  EXPECT_FALSE(isEarlier(timeOf("2026-04-12T11:00:00"), timeOf("2026-04-12T10:00:00+09:00")));
}

TEST(IsEarlier, TakesSubSecondsAsADecimalFraction) {
  // Exif 2.32: "5" is 0.5 s, "05" is 0.05 s.
  EXPECT_TRUE(isEarlier(timeOf("2026-04-12T10:00:00.05"), timeOf("2026-04-12T10:00:00.5")));
  EXPECT_FALSE(isEarlier(timeOf("2026-04-12T10:00:00.5"), timeOf("2026-04-12T10:00:00.50")));
  EXPECT_TRUE(isEarlier(timeOf("2026-04-12T10:00:00"), timeOf("2026-04-12T10:00:00.001")));
}

TEST(IsEarlier, PutsUnknownTimesFirst) {
  EXPECT_TRUE(isEarlier(LocalTime{}, timeOf("0001-01-01")));
  EXPECT_FALSE(isEarlier(timeOf("0001-01-01"), LocalTime{}));
  EXPECT_FALSE(isEarlier(LocalTime{}, LocalTime{}));
}

TEST(DaysBetween, CountsCalendarDays) {
  // Python 3.11 datetime: date(2024,3,1) - date(2024,2,28) = 2 days; 2023: 1 day.
  EXPECT_EQ(daysBetween(dateOf("2024-02-28"), dateOf("2024-03-01")), 2);
  EXPECT_EQ(daysBetween(dateOf("2023-02-28"), dateOf("2023-03-01")), 1);
  EXPECT_EQ(daysBetween(dateOf("2024-03-01"), dateOf("2024-02-28")), -2);
  // Python 3.11: date(2027,1,1).toordinal() - date(1900,1,1).toordinal() = 46386.
  EXPECT_EQ(daysBetween(dateOf("1900-01-01"), dateOf("2027-01-01")), 46386);
}

TEST(Now, CarriesTheOffsetOfThisMachine) {
  const char* const old = std::getenv("TZ");
  const std::string kept = old != nullptr ? old : "";
  ::setenv("TZ", "XXX-5:30", 1);  // POSIX TZ: five and a half hours east of UTC
  ::tzset();
  const std::time_t before = std::time(nullptr);
  const LocalTime time = now();
  const std::time_t after = std::time(nullptr);
  old != nullptr ? ::setenv("TZ", kept.c_str(), 1) : ::unsetenv("TZ");
  ::tzset();
  EXPECT_EQ(time.offsetMinutes, 330);
  EXPECT_EQ(time.subSeconds.size(), 3U);
  const auto instant =
      (std::chrono::sys_days{time.date} + time.timeOfDay - std::chrono::minutes{330})
          .time_since_epoch();
  const auto seconds = std::chrono::duration_cast<std::chrono::seconds>(instant).count();
  EXPECT_GE(seconds, before - 1);  // time() may lag behind the finer clock by a tick
  EXPECT_LE(seconds, after + 1);
  EXPECT_EQ(timeOf(toText(time)), time);
}

}  // namespace edamori::store
