// SPDX-License-Identifier: GPL-3.0-or-later
#include "statistics.h"

#include <array>
#include <cstddef>
#include <vector>

#include <gtest/gtest.h>

namespace edamori::accuracy {
namespace {

// Bland and Altman 1986, Lancet i:307–310: peak expiratory flow of 17 people, l/min,
// first reading with each meter.
constexpr std::array kLarge1{494.,
                             395.,
                             516.,
                             434.,
                             476.,
                             557.,
                             413.,
                             442.,
                             650.,
                             433.,
                             417.,
                             656.,
                             267.,
                             478.,
                             178.,
                             423.,
                             427.};
constexpr std::array kMini1{512.,
                            430.,
                            520.,
                            428.,
                            500.,
                            600.,
                            364.,
                            380.,
                            658.,
                            445.,
                            432.,
                            626.,
                            260.,
                            477.,
                            259.,
                            350.,
                            451.};

// 20 soybean leaves, % diseased, and four raters (data of doi 10.1111/ppa.13148).
constexpr std::array kActual{0.25, 2.5,  7.24,  7.31,  9.07,  11.6,  12.46, 13.1,  14.61, 16.06,
                             16.7, 19.5, 20.75, 23.56, 23.77, 24.45, 25.78, 26.03, 26.42, 28.89};
constexpr std::array kRater1{.6, 2., 5.,  2.,  6.,  5.,  10., 15., 7.,  6.,
                             7., 6., 10., 19., 15., 17., 19., 17., 15., 18.};
constexpr std::array kRater2{.6, .7,  5.,  4.,  14., 6.,  18., 30., 2.,  9.,
                             7., 23., 35., 10., 20., 30., 53., 6.8, 20., 22.};
constexpr std::array kRater4{.6, 1.,  5.,  2.,  7.,  5.,  12., 10., 8.,  8.,
                             9., 14., 20., 10., 20., 13., 38., 9.,  16., 15.};

// The published values carry 9 decimals.
constexpr double kLastDigit = 1e-8;

std::vector<double> differencesOf(std::span<const double> a, std::span<const double> b) {
  std::vector<double> differences;
  for (std::size_t i = 0; i < a.size(); ++i) {
    differences.push_back(a[i] - b[i]);
  }
  return differences;
}

struct Expected {
  double value, low, high, correlation, biasCorrection, scaleShift, locationShift;
};

void expectConcordance(std::span<const double> x,
                       std::span<const double> y,
                       const Expected& expected) {
  const auto result = concordance(x, y);
  ASSERT_TRUE(result.has_value());
  EXPECT_NEAR(result->value, expected.value, kLastDigit);
  EXPECT_NEAR(result->correlation, expected.correlation, kLastDigit);
  EXPECT_NEAR(result->biasCorrection, expected.biasCorrection, kLastDigit);
  EXPECT_NEAR(result->scaleShift, expected.scaleShift, kLastDigit);
  EXPECT_NEAR(result->locationShift, expected.locationShift, kLastDigit);
  ASSERT_TRUE(result->interval95.has_value());
  EXPECT_NEAR(result->interval95->low, expected.low, kLastDigit);
  EXPECT_NEAR(result->interval95->high, expected.high, kLastDigit);
}

// Expected values of the concordances: R 4.2.2 with epiR 2.0.57, epi.ccc(…, "z-transform").
TEST(Concordance, IsThatOfThePeakFlowMeters) {
  expectConcordance(
      kLarge1,
      kMini1,
      {0.942742431, 0.850491873, 0.978726279, 0.943279447, 0.999430693, 0.972509121, 0.019030250});
}

TEST(Concordance, IsThatOfTheLeafRaters) {
  expectConcordance(
      kActual,
      kRater1,
      {0.596813561, 0.367931859, 0.757506102, 0.872564344, 0.683976563, 0.732456177, -0.909038631});
  expectConcordance(
      kActual,
      kRater2,
      {0.523065570, 0.184343712, 0.750730061, 0.584529134, 0.894849443, 1.609117837, -0.066606918});
  expectConcordance(
      kActual,
      kRater4,
      {0.586137148, 0.279063337, 0.784457654, 0.710825992, 0.824585981, 0.995527163, -0.652257252});
}

TEST(Concordance, FallsByAShiftAndByAScale) {
  constexpr std::array kCount{1., 2., 3., 4., 5.};
  expectConcordance(kCount,
                    std::array{2., 3., 4., 5., 6.},
                    {0.8, 0.369087359, 0.947817466, 1, 0.8, 1, 0.707106781});
  expectConcordance(kCount,
                    std::array{2., 4., 6., 8., 10.},
                    {8.0 / 19.0, -0.017288308, 0.723633807, 1, 0.421052632, 2, 1.5});
}

TEST(Concordance, HasNoValueWithoutSpreadAndNoIntervalWhenPerfectOrOfTwo) {
  constexpr std::array kCount{1., 2., 3.};
  EXPECT_FALSE(concordance({}, {}).has_value());
  EXPECT_FALSE(concordance(std::array{4., 4., 4.}, kCount).has_value());
  EXPECT_FALSE(concordance(kCount, std::array{4., 4., 4.}).has_value());
  const auto perfect = concordance(kCount, kCount);
  ASSERT_TRUE(perfect.has_value());
  EXPECT_DOUBLE_EQ(perfect->value, 1.0);
  EXPECT_FALSE(perfect->interval95.has_value());
  const auto two = concordance(std::array{1., 2.}, std::array{1., 3.});
  ASSERT_TRUE(two.has_value());
  EXPECT_FALSE(two->interval95.has_value());
}

// Expected values: R 4.2.2 on the paper's data; the paper itself prints −2.1 and 38.8.
TEST(LimitsOfAgreement, AreThoseOfThePeakFlowMeters) {
  const auto result = limitsOfAgreement(differencesOf(kLarge1, kMini1));
  ASSERT_TRUE(result.has_value());
  EXPECT_NEAR(result->mean, -2.117647059, kLastDigit);
  EXPECT_NEAR(result->standardDeviation, 38.765129874, kLastDigit);
  EXPECT_NEAR(result->limits95.low, -78.097301611, kLastDigit);
  EXPECT_NEAR(result->limits95.high, 73.862007493, kLastDigit);
}

// Expected values: R 4.2.2; the limits carry 6 decimals.
TEST(LimitsOfAgreement, AreThoseOfALeafRater) {
  const auto differences = differencesOf(kRater1, kActual);
  const auto result = limitsOfAgreement(differences);
  ASSERT_TRUE(result.has_value());
  EXPECT_NEAR(result->mean, -6.4225, kLastDigit);
  EXPECT_NEAR(result->standardDeviation, 4.304267008, kLastDigit);
  EXPECT_NEAR(result->limits95.low, -14.858863, 1e-6);
  EXPECT_NEAR(result->limits95.high, 2.013863, 1e-6);
  EXPECT_NEAR(meanAbsolute(differences), 6.6475, kLastDigit);
}

TEST(LimitsOfAgreement, HaveNoValueWithoutADifference) {
  EXPECT_FALSE(limitsOfAgreement({}).has_value());
}

// Type 7 by its definition: rank 1 + (n − 1)·share, straight between ranks.
TEST(Quantile, LiesOnTheLineBetweenRanks) {
  constexpr std::array kShuffled{3., -10., 7., 1., 5., 9., 2., 8., 4., 6.};
  EXPECT_NEAR(quantileOfAbsolute(kShuffled, 0.95), 9.55, 1e-12);
  EXPECT_NEAR(quantileOf(kShuffled, 0.5), 4.5, 1e-12);
  EXPECT_DOUBLE_EQ(quantileOf(kShuffled, 0.0), -10.0);
  EXPECT_DOUBLE_EQ(quantileOf(kShuffled, 1.0), 9.0);
  EXPECT_DOUBLE_EQ(quantileOf(std::array{2.5}, 0.95), 2.5);
}

}  // namespace
}  // namespace edamori::accuracy
