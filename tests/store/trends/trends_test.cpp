// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/trends/trends.h"

#include "tests/support/matchers.h"

#include <cmath>
#include <limits>
#include <numeric>
#include <vector>

#include <gtest/gtest.h>

namespace edamori::store {

using test::failsWith;
using test::isOk;
using test::isOkAnd;

namespace {

constexpr double kNotANumber = std::numeric_limits<double>::quiet_NaN();

ProgressAreas areasOf(const std::vector<Visit>& visits) {
  const auto areas = progressAreas(visits);
  EXPECT_THAT(areas, isOk());
  return areas ? *areas : ProgressAreas{};
}

struct CurveCase {
  const char* name;
  std::vector<Visit> visits;
  double audpc;
  double standardisedAudpc;
  double audps;
  double standardisedAudps;
};

class ProgressCurve : public ::testing::TestWithParam<CurveCase> {};

}  // namespace

// Sources: "RPackage" is the example of the help page of audpc() and audps() in the R package
// agricolae (figure: 1015; Simko & Piepho 2012 for 1470 and 70). "ApsPage" has the data of the page
// on AUDPC in "Ecology and Epidemiology in R" (APS), "Textbook" those of the chapter on temporal
// progress in a public textbook of plant disease epidemiology in R, 3048.15 by its figure; the
// other numbers of these rows, and of "Irregular" and "TwoVisits", are the formulas in R 4.2.2.
// "Flat" needs no source: with one severity throughout, both means are that severity.
INSTANTIATE_TEST_SUITE_P(
    Published,
    ProgressCurve,
    ::testing::Values(
        CurveCase{"RPackage", {{14, 40}, {21, 80}, {28, 90}}, 1015, 72.5, 1470, 70},
        CurveCase{
            "ApsPage", {{0, 1}, {2, 2}, {5, 7}, {6, 7.5}}, 23.75, 3.9583333333, 32.25, 4.03125},
        CurveCase{"Textbook",
                  {{0, 8}, {7, 13}, {14, 78}, {21, 92}, {28, 99}, {35, 99.5}, {42, 99.9}},
                  3048.15,
                  72.575,
                  3425.8,
                  69.9142857143},
        CurveCase{"Flat", {{0, 10}, {7, 10}, {14, 10}, {30, 10}}, 300, 10, 400, 10},
        CurveCase{"Irregular",
                  {{0, 0}, {10, 2.5}, {21, 8}, {24, 8}, {45, 15}},
                  335.75,
                  7.4611111111,
                  420.125,
                  7.4688888889},
        CurveCase{"TwoVisits", {{0, 5}, {10, 15}}, 100, 10, 200, 10},
        CurveCase{"ApsPageWithoutDay5",
                  {{0, 1}, {2, 2}, {6, 7.5}},
                  22.0,
                  22.0 / 6,
                  22.0 + 4.25 * 3,
                  (22.0 + 4.25 * 3) / 9}),
    [](const auto& each) { return each.param.name; });

TEST_P(ProgressCurve, HasThePublishedAreas) {
  const ProgressAreas areas = areasOf(GetParam().visits);
  EXPECT_NEAR(areas.audpc, GetParam().audpc, 1e-9);
  EXPECT_NEAR(areas.standardisedAudpc, GetParam().standardisedAudpc, 1e-9);
  EXPECT_NEAR(areas.audps, GetParam().audps, 1e-9);
  EXPECT_NEAR(areas.standardisedAudps, GetParam().standardisedAudps, 1e-9);
}

// The logistic curve with K = 100 %, r = 0.2 a day, midpoint 30 has the integral 3000 %·day from 0
// to 60 (R 4.2.2 integrate(); by symmetry exact), and trapezoids meet it on any symmetric grid.
TEST(ProgressAreas, MeetTheIntegralOfALogisticCurve) {
  for (const int step : {10, 5, 1}) {
    std::vector<Visit> visits;
    for (int day = 0; day <= 60; day += step) {
      visits.push_back({.day = static_cast<double>(day),
                        .severityPct = 100.0 / (1.0 + std::exp(-0.2 * (day - 30)))});
    }
    EXPECT_NEAR(areasOf(visits).audpc, 3000.0, 1e-9) << step;
  }
}

TEST(ProgressAreas, DoNotDependOnTheOrderOfVisits) {
  EXPECT_DOUBLE_EQ(areasOf({{28, 90}, {14, 40}, {21, 80}}).audpc, 1015.0);
}

TEST(ProgressAreas, GiveAudpcNothingForAVisitOnTheLine) {
  const ProgressAreas two = areasOf({{0, 5}, {10, 15}});
  const ProgressAreas three = areasOf({{0, 5}, {5, 10}, {10, 15}});
  EXPECT_DOUBLE_EQ(two.audpc, three.audpc);
  EXPECT_GT(std::abs(two.audps - three.audps), 1.0);
}

TEST(ProgressAreas, RefuseWhatIsNoCurve) {
  const auto refused = [](std::vector<Visit> visits) { return progressAreas(visits); };
  EXPECT_THAT(refused({}), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(refused({{0, 5}}), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(refused({{3, 5}, {3, 6}}), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(refused({{0, 5}, {1, 100.1}}), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(refused({{0, -0.1}, {1, 5}}), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(refused({{0, 5}, {1, kNotANumber}}), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(refused({{kNotANumber, 5}, {1, 5}}), failsWith(ErrorCode::InvalidArgument));
}

struct AbbottCase {
  double treatedMortalityPct;
  double controlMortalityPct;
  double efficacyPct;
};
class Abbott : public ::testing::TestWithParam<AbbottCase> {};

// Sources: 98/50 is the example in Abbott 1925, J. Econ. Entomol. 18:265–267 (which rejects the
// plain difference, 48); 65/2.5 is US EPA 2002, EPA-821-R-02-013, Table J1: 0.6410256. The others
// are the formula in R 4.2.2. Per 100 insects, survivors are 100 less the mortality.
INSTANTIATE_TEST_SUITE_P(Published,
                         Abbott,
                         ::testing::Values(AbbottCase{98, 50, 96},
                                           AbbottCase{65, 2.5, 64.1025641026},
                                           AbbottCase{75, 10, 72.2222222222},
                                           AbbottCase{62.5, 20, 53.125},
                                           AbbottCase{100, 40, 100},
                                           AbbottCase{50, 0, 50},
                                           AbbottCase{10, 30, -28.5714285714}));

TEST_P(Abbott, HasThePublishedEfficacy) {
  const auto pct =
      abbottEfficacyPct(100 - GetParam().treatedMortalityPct, 100 - GetParam().controlMortalityPct);
  ASSERT_THAT(pct, isOk());
  EXPECT_NEAR(*pct, GetParam().efficacyPct, 1e-9);
}

TEST(Abbott, CannotBeSaidWithoutSurvivorsOnTheControl) {
  EXPECT_THAT(abbottEfficacyPct(5, 0), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(abbottEfficacyPct(-1, 10), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(abbottEfficacyPct(kNotANumber, 10), failsWith(ErrorCode::InvalidArgument));
}

struct HendersonTiltonCase {
  double controlBefore, controlAfter, treatedBefore, treatedAfter;
  double pct, low, high;
  double treatedMortalityPct, controlChangePct, abbottPct;
};
class HendersonTilton : public ::testing::TestWithParam<HendersonTiltonCase> {};

// Formula: Henderson & Tilton 1955, J. Econ. Entomol. 48:157–161. 28/26/30/6 → 78.46 (Abbott 76.92)
// and 40/60/50/5 → 93.33 stand on public pages that explain the formula; the other numbers, and the
// intervals from the Poisson log ratio, are the formulas in R 4.2.2.
INSTANTIATE_TEST_SUITE_P(
    Published,
    HendersonTilton,
    ::testing::Values(
        HendersonTiltonCase{
            28, 26, 30, 6, 78.4615385, 39.893818, 92.281903, 80, -7.142857143, 76.9230769},
        HendersonTiltonCase{100, 120, 100, 12, 90, 80.749487, 94.805333, 88, 20, 90},
        HendersonTiltonCase{80, 60, 100, 15, 80, 62.160692, 89.428982, 85, -25, 75},
        HendersonTiltonCase{40, 60, 50, 5, 93.3333333, 81.831170, 97.553808, 90, 50, 91.6666667},
        HendersonTiltonCase{100, 50, 100, 80, -60, -150.700245, -2.113981, 20, -50, -60}));

TEST_P(HendersonTilton, HasThePublishedEfficacyAndInterval) {
  const auto& row = GetParam();
  const auto efficacy = hendersonTiltonEfficacy(
      row.controlBefore, row.controlAfter, row.treatedBefore, row.treatedAfter);
  ASSERT_THAT(efficacy, isOk());
  EXPECT_NEAR(efficacy->pct, row.pct, 5e-8);
  ASSERT_TRUE(efficacy->interval.has_value());
  EXPECT_DOUBLE_EQ(efficacy->interval->value, efficacy->pct);
  EXPECT_NEAR(efficacy->interval->low, row.low, 1e-6);
  EXPECT_NEAR(efficacy->interval->high, row.high, 1e-6);
}

// Sun & Shepard 1947, J. Econ. Entomol. 40:710–715: another formula, algebraically the same.
TEST_P(HendersonTilton, AgreesWithTheFormulaOfSunAndShepard) {
  const auto& row = GetParam();
  const double sunShepardPct =
      100 * (row.treatedMortalityPct + row.controlChangePct) / (100 + row.controlChangePct);
  const auto efficacy = hendersonTiltonEfficacy(
      row.controlBefore, row.controlAfter, row.treatedBefore, row.treatedAfter);
  ASSERT_THAT(efficacy, isOk());
  EXPECT_NEAR(efficacy->pct, sunShepardPct, 1e-7);
  EXPECT_THAT(abbottEfficacyPct(row.treatedAfter, row.controlAfter),
              isOkAnd(::testing::DoubleNear(row.abbottPct, 5e-8)));
}

TEST(HendersonTilton, HasNoIntervalWhenNoInsectIsLeft) {
  const auto efficacy = hendersonTiltonEfficacy(200, 250, 180, 0);
  ASSERT_THAT(efficacy, isOk());
  EXPECT_DOUBLE_EQ(efficacy->pct, 100.0);
  EXPECT_FALSE(efficacy->interval.has_value());
}

TEST(HendersonTilton, CannotBeSaidWithoutInsectsToStartFrom) {
  EXPECT_THAT(hendersonTiltonEfficacy(0, 10, 10, 5), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(hendersonTiltonEfficacy(10, 0, 10, 5), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(hendersonTiltonEfficacy(10, 10, 0, 5), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(hendersonTiltonEfficacy(10, 10, 10, -5), failsWith(ErrorCode::InvalidArgument));
}

struct PoissonCase {
  int count;
  double low, high;
};
class Poisson : public ::testing::TestWithParam<PoissonCase> {};

// Exact limits (Garwood 1936, Biometrika 28:437; the chi-square form also in Ulm 1990, Am. J.
// Epidemiol. 131:373), as R 4.2.2 gives them: qchisq(0.025, 2k)/2 and qchisq(0.975, 2k+2)/2.
// Printed tables have 3.689 for 0, 4.80 to 18.39 for 10, 16.18 to 36.90 for 25.
INSTANTIATE_TEST_SUITE_P(
    Exact,
    Poisson,
    ::testing::Values(PoissonCase{0, 0, 3.688879454},
                      PoissonCase{1, 0.025317808, 5.571643391},
                      PoissonCase{2, 0.242209279, 7.224687668},
                      PoissonCase{3, 0.618672123, 8.767273070},
                      PoissonCase{4, 1.089865374, 10.241588675},
                      PoissonCase{5, 1.623486390, 11.668332079},
                      PoissonCase{6, 2.201894253, 13.059474023},
                      PoissonCase{7, 2.814363052, 14.422675362},
                      PoissonCase{8, 3.453832177, 15.763189220},
                      PoissonCase{9, 4.115373097, 17.084803451},
                      PoissonCase{10, 4.795388696, 18.390356042},
                      PoissonCase{12, 6.200575109, 20.961585048},
                      PoissonCase{15, 8.395386133, 24.740218872},
                      PoissonCase{18, 10.667940780, 28.447760268},
                      PoissonCase{20, 12.216519585, 30.888377903},
                      PoissonCase{25, 16.178681848, 36.904931698},
                      PoissonCase{30, 20.240874021, 42.826865395},
                      PoissonCase{40, 28.576586442, 54.468646964},
                      PoissonCase{50, 37.110963738, 65.918766664},
                      PoissonCase{60, 45.786320950, 77.231893407},
                      PoissonCase{80, 63.435024591, 99.566924967},
                      PoissonCase{100, 81.363991251, 121.626793792},
                      // R 4.2.2, help page of poisson.test: 137 for an exposure of 24.19893.
                      PoissonCase{137, 4.753124805 * 24.19893, 6.692709334 * 24.19893}));

TEST_P(Poisson, HasTheExactLimits) {
  const auto limits = poissonInterval(GetParam().count);
  ASSERT_THAT(limits, isOk());
  EXPECT_DOUBLE_EQ(limits->value, GetParam().count);
  EXPECT_NEAR(limits->low, GetParam().low, 3e-8);
  EXPECT_NEAR(limits->high, GetParam().high, 3e-8);
}

TEST(Poisson, RefusesNegativeCounts) {
  EXPECT_THAT(poissonInterval(-1), failsWith(ErrorCode::InvalidArgument));
}

// Bounds: Horsfall & Barratt 1945, Phytopathology 35:655 (abstract). Which grade a bound itself
// belongs to is not said there; (lower, upper] is a choice that a textbook also makes.
TEST(HorsfallBarratt, HasTheBoundsOf1945) {
  const std::vector<std::pair<double, int>> rows = {
      {0, 1},  {0.0001, 2}, {3, 2},   {3.0001, 3}, {6, 3},      {6.1, 4},  {12, 4}, {12.1, 5},
      {25, 5}, {25.1, 6},   {50, 6},  {50.1, 7},   {75, 7},     {75.1, 8}, {87, 8}, {87.1, 9},
      {94, 9}, {94.1, 10},  {97, 10}, {97.1, 11},  {99.99, 11}, {100, 12}};
  for (const auto& [pct, grade] : rows) {
    EXPECT_THAT(horsfallBarrattGrade(pct), isOkAnd(grade)) << pct;
  }
  EXPECT_THAT(horsfallBarrattGrade(-0.1), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(horsfallBarrattGrade(100.1), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(horsfallBarrattGrade(kNotANumber), failsWith(ErrorCode::InvalidArgument));
}

// Eurostat, Statistics Explained, glossary "Degree of defoliation" (UNECE and EU classes).
TEST(Defoliation, HasTheClassesOfTheForestSurveys) {
  const std::vector<std::pair<double, int>> rows = {
      {0, 0}, {10, 0}, {10.01, 1}, {25, 1}, {25.01, 2}, {60, 2}, {60.01, 3}, {99.9, 3}, {100, 4}};
  for (const auto& [pct, expected] : rows) {
    EXPECT_THAT(defoliationClass(pct), isOkAnd(expected)) << pct;
  }
  EXPECT_THAT(defoliationClass(-1), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(defoliationClass(101), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(defoliationClass(kNotANumber), failsWith(ErrorCode::InvalidArgument));
  EXPECT_EQ(defoliationName(0), "none");
  EXPECT_EQ(defoliationName(1), "slight");
  EXPECT_EQ(defoliationName(2), "moderate");
  EXPECT_EQ(defoliationName(3), "severe");
  EXPECT_EQ(defoliationName(4), "dead");
  EXPECT_EQ(defoliationName(5), "unknown");
}

}  // namespace edamori::store
