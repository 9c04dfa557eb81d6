// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/quality/colour.h"

#include <gtest/gtest.h>

namespace edamori::vision {
namespace {

struct LabRow {
  int r, g, b;
  double l, a, bStar;
};

class LabOf : public ::testing::TestWithParam<LabRow> {};

// Computed with the matrix of IEC 61966-2-1 and white (0.9505, 1, 1.0890); scikit-image
// 0.19.3, colormath 3.0 and farver 2.1.1 differ from it by up to 0.02 in L*, 0.03 in a*, b*.
TEST_P(LabOf, AgreesWithTheReferenceLibraries) {
  const LabRow& row = GetParam();
  const Lab lab = labOf(static_cast<std::uint8_t>(row.r), static_cast<std::uint8_t>(row.g),
                        static_cast<std::uint8_t>(row.b));
  EXPECT_NEAR(lab.l, row.l, 0.002);
  EXPECT_NEAR(lab.a, row.a, 0.005);
  EXPECT_NEAR(lab.b, row.bStar, 0.005);
}

INSTANTIATE_TEST_SUITE_P(Colours,
                         LabOf,
                         ::testing::Values(LabRow{255, 255, 255, 100, 0, 0},
                                           LabRow{0, 0, 0, 0, 0, 0},
                                           LabRow{255, 0, 0, 53.232882, 80.105327, 67.222782},
                                           LabRow{0, 255, 0, 87.737033, -86.188434, 83.186144},
                                           LabRow{0, 0, 255, 32.302587, 79.193638, -107.853734},
                                           LabRow{255, 255, 0, 97.138247, -21.560812, 94.487720},
                                           LabRow{128, 128, 128, 53.585013, 0, 0},
                                           LabRow{119, 119, 119, 50.034439, 0, 0},
                                           LabRow{60, 120, 40, 45.007116, -35.380530, 36.854281},
                                           LabRow{120, 80, 30, 37.524917, 11.826693, 35.045579},
                                           LabRow{165, 42, 42, 37.521830, 49.696833, 30.543480},
                                           LabRow{47, 79, 79, 31.256078, -11.719381, -3.722806}));

// IEC 61966-2-1, formula in double.
TEST(Linear, FollowsTheStandard) {
  EXPECT_NEAR(linearOf(0), 0.0, 0.0);
  EXPECT_NEAR(linearOf(10), 0.003035269835, 1e-12);
  EXPECT_NEAR(linearOf(11), 0.003346535764, 1e-12);  // the first on the power branch
  EXPECT_NEAR(linearOf(127), 0.212230757414, 1e-12);
  EXPECT_NEAR(linearOf(188), 0.502886458033, 1e-12);
  EXPECT_NEAR(linearOf(255), 1.0, 1e-12);
}

// Woebbecke et al. 1995; values computed from 2g − r − b with chromatic coordinates.
TEST(ExcessGreen, FollowsItsFormula) {
  EXPECT_NEAR(excessGreenOf(60, 120, 40), 0.63636364, 1e-8);
  EXPECT_NEAR(excessGreenOf(30, 60, 20), 0.63636364, 1e-8);  // free of brightness
  EXPECT_NEAR(excessGreenOf(120, 80, 30), 0.04347826, 1e-8);
  EXPECT_NEAR(excessGreenOf(139, 69, 19), -0.08810573, 1e-8);
  EXPECT_NEAR(excessGreenOf(200, 180, 60), 0.22727273, 1e-8);
  EXPECT_EQ(excessGreenOf(0, 255, 0), 2.0);
  EXPECT_EQ(excessGreenOf(255, 0, 0), -1.0);
  EXPECT_EQ(excessGreenOf(77, 77, 77), 0.0);
  EXPECT_EQ(excessGreenOf(0, 0, 0), 0.0);  // undefined: held for background
}

TEST(Hue, IsAnAngleFromRedOverYellowToGreen) {
  EXPECT_NEAR(hueDegOf({.l = 50, .a = 10, .b = 0}), 0.0, 1e-12);
  EXPECT_NEAR(hueDegOf({.l = 50, .a = 0, .b = 10}), 90.0, 1e-12);
  EXPECT_NEAR(hueDegOf({.l = 50, .a = -10, .b = 0}), 180.0, 1e-12);
  EXPECT_NEAR(hueDegOf({.l = 50, .a = 0, .b = -10}), 270.0, 1e-12);
  EXPECT_NEAR(chromaOf({.l = 50, .a = 3, .b = -4}), 5.0, 1e-12);
  EXPECT_EQ(hueDegOf({.l = 50, .a = 0, .b = 0}), 0.0);
}

TEST(Redness, OrdersTissueFromGreenToRed) {
  const double green = rednessOf(60, 120);
  const double yellow = rednessOf(190, 185);
  const double brown = rednessOf(120, 80);
  const double red = rednessOf(165, 42);
  EXPECT_LT(green, -1.0);
  EXPECT_LT(green, yellow);
  EXPECT_LT(yellow, brown);
  EXPECT_LT(brown, red);
  EXPECT_EQ(rednessOf(90, 90), 0.0);
}

TEST(Redness, HardlyChangesInHalfTheLight) {
  // sRGB 60, 120, 40 at half the linear light is 43, 87, 28.
  EXPECT_NEAR(rednessOf(43, 87), rednessOf(60, 120), 0.2);
}

}  // namespace
}  // namespace edamori::vision
