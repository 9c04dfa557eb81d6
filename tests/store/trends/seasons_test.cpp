// SPDX-License-Identifier: GPL-3.0-or-later
// Expected days are counted on a calendar (a common year: January 31, February 28, … days).
#include "store/trends/seasons.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace edamori::store {
namespace {

using std::chrono::year_month_day;
using ::testing::ElementsAre;
using ::testing::IsEmpty;

year_month_day on(int year, unsigned month, unsigned day) {
  return std::chrono::year{year} / std::chrono::month{month} / std::chrono::day{day};
}

std::vector<SeasonPair> pairs(const std::vector<year_month_day>& dates, int windowDays) {
  return sameSeasonPairs(dates, windowDays);
}

TEST(SeasonDistance, CountsDaysOfTheYearWhateverTheYears) {
  EXPECT_EQ(seasonDistanceDays(on(2024, 5, 10), on(2026, 5, 10)), 0);
  EXPECT_EQ(seasonDistanceDays(on(2025, 4, 12), on(2026, 4, 18)), 6);
  EXPECT_EQ(seasonDistanceDays(on(2026, 4, 18), on(2025, 4, 12)), 6);
  // From 1 January to 2 July a common year has 182 days, as many as it can be off.
  EXPECT_EQ(seasonDistanceDays(on(2025, 1, 1), on(2026, 7, 2)), 182);
  EXPECT_EQ(seasonDistanceDays(on(2025, 1, 1), on(2026, 7, 3)), 182);
}

TEST(SeasonDistance, GoesTheShortWayRoundTheTurnOfTheYear) {
  EXPECT_EQ(seasonDistanceDays(on(2024, 12, 31), on(2026, 1, 1)), 1);
  EXPECT_EQ(seasonDistanceDays(on(2026, 1, 3), on(2024, 12, 28)), 6);
}

TEST(SeasonDistance, LeapYearsMoveNoOtherDay) {
  // 10 March is day 70 of 2024, a leap year, and day 69 of 2025.
  EXPECT_EQ(seasonDistanceDays(on(2024, 3, 10), on(2025, 3, 10)), 0);
  EXPECT_EQ(seasonDistanceDays(on(2024, 12, 31), on(2025, 12, 31)), 0);
  EXPECT_EQ(seasonDistanceDays(on(2024, 2, 29), on(2025, 2, 28)), 0);
  EXPECT_EQ(seasonDistanceDays(on(2024, 2, 29), on(2025, 3, 1)), 1);
}

TEST(SameSeasonPairs, GiveTheClosestFirstAndOnlyThoseWithinTheWindow) {
  const std::vector dates{on(2024, 4, 20), on(2025, 4, 12), on(2025, 8, 1), on(2026, 4, 14)};
  EXPECT_THAT(pairs(dates, 21),
              ElementsAre(SeasonPair{1, 3, 2}, SeasonPair{0, 3, 6}, SeasonPair{0, 1, 8}));
  EXPECT_THAT(pairs(dates, 6), ElementsAre(SeasonPair{1, 3, 2}, SeasonPair{0, 3, 6}));
  EXPECT_THAT(pairs(dates, 1), IsEmpty());
}

TEST(SameSeasonPairs, GiveTheLatestOfThoseThatAreAsClose) {
  const std::vector dates{on(2023, 5, 1), on(2024, 5, 1), on(2025, 5, 1)};
  EXPECT_THAT(pairs(dates, 0),
              ElementsAre(SeasonPair{1, 2, 0}, SeasonPair{0, 2, 0}, SeasonPair{0, 1, 0}));
}

TEST(SameSeasonPairs, KnowOneWinterFromTheNext) {
  // Six days apart over the turn of the year: two years by number, one season.
  EXPECT_THAT(pairs({on(2025, 12, 28), on(2026, 1, 3)}, 21), IsEmpty());
  EXPECT_THAT(pairs({on(2024, 12, 28), on(2026, 1, 3)}, 21), ElementsAre(SeasonPair{0, 1, 6}));
  EXPECT_THAT(pairs({on(2026, 1, 3), on(2026, 12, 28)}, 21), ElementsAre(SeasonPair{0, 1, 6}))
      << "of two winters, though of one year by number";
}

TEST(SameSeasonPairs, PassOverUnknownDates) {
  EXPECT_THAT(pairs({year_month_day{}, on(2025, 5, 1), on(2026, 5, 1)}, 5),
              ElementsAre(SeasonPair{1, 2, 0}));
  EXPECT_THAT(pairs({}, 21), IsEmpty());
}

}  // namespace
}  // namespace edamori::store
