// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/plane.h"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace edamori::vision {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;

constexpr FrameSize kFrame{.widthPx = 400, .heightPx = 300};
constexpr Homography kIdentity{1, 0, 0, 0, 1, 0, 0, 0, 1};

// Exact in rationals: the unit square onto (0,0) (4,0) (3,2) (1,2).
constexpr Homography kSquareToTrapezium{4, 2, 0, 0, 4, 0, 0, 1, 1};
// A card of 100 × 60 mm whose corners lie at px (120,80) (520,110) (560,420) (90,380);
// computed with OpenCV 4.6.0 (getPerspectiveTransform).
constexpr Homography kMmFromPx{0.2632999924,
                               0.0263299992,
                               -33.7023990334,
                               -0.0182937747,
                               0.2439169963,
                               -17.3181067346,
                               -0.0000103511,
                               0.0006043775,
                               1};

void expectNear(PointPx actual, PointPx expected, double tolerance) {
  EXPECT_NEAR(actual.x, expected.x, tolerance);
  EXPECT_NEAR(actual.y, expected.y, tolerance);
}

TEST(Homographies, MapAndReturn) {
  const auto back = inverted(kSquareToTrapezium);
  ASSERT_TRUE(back);
  expectNear(mapped(kSquareToTrapezium, {0.5, 0.5}), {2.0, 4.0 / 3.0}, 1e-12);
  expectNear(mapped(*back, {2.0, 4.0 / 3.0}), {0.5, 0.5}, 1e-12);
  expectNear(mapped(*back, {3.0, 2.0}), {1.0, 1.0}, 1e-12);
  const auto pxFromMm = inverted(kMmFromPx);
  ASSERT_TRUE(pxFromMm);
  expectNear(mapped(*pxFromMm, {0, 0}), {120, 80}, 1e-4);
  expectNear(mapped(*pxFromMm, {100, 0}), {520, 110}, 1e-4);
  expectNear(mapped(*pxFromMm, {100, 60}), {560, 420}, 1e-4);
  expectNear(mapped(*pxFromMm, {0, 60}), {90, 380}, 1e-4);
  expectNear(mapped(*pxFromMm, {49.779571675, 32.939297777}), {320, 250}, 1e-4);
}

TEST(Homographies, ComposeInOrder) {
  const auto pxFromMm = inverted(kMmFromPx);
  ASSERT_TRUE(pxFromMm);
  const Homography there = composed(kMmFromPx, *pxFromMm);
  expectNear(mapped(there, {12, 34}), {12, 34}, 1e-9);
  const Homography shift{1, 0, 10, 0, 1, 20, 0, 0, 1};
  const Homography twice{2, 0, 0, 0, 2, 0, 0, 0, 1};
  expectNear(mapped(composed(twice, shift), {1, 2}), {22, 44}, 1e-12);
  expectNear(mapped(composed(shift, twice), {1, 2}), {12, 24}, 1e-12);
}

TEST(Homographies, OfOneLineHaveNoInverse) { EXPECT_FALSE(inverted({1, 2, 0, 2, 4, 0, 0, 0, 1})); }

TEST(Clipping, KeepsWhatLiesInside) {
  const Outline square{.polygon = {{-50, -50}, {50, -50}, {50, 50}, {-50, 50}}, .holes = {}};
  EXPECT_NEAR(areaPx2(clippedToFrame(square, kFrame)), 2500.0, 1e-9);
  const Outline outside{.polygon = {{500, 0}, {600, 0}, {600, 100}}, .holes = {}};
  EXPECT_THAT(clippedToFrame(outside, kFrame).polygon, IsEmpty());
  const Outline inside{.polygon = {{10, 10}, {20, 10}, {20, 30}}, .holes = {}};
  EXPECT_EQ(clippedToFrame(inside, kFrame), inside);
}

// A U whose bottom lies outside: two legs of 20 × 40 px remain.
TEST(Clipping, OfAConcaveOutlineKeepsItsArea) {
  const Outline u{
      .polygon =
          {{10, 260}, {30, 260}, {30, 320}, {70, 320}, {70, 260}, {90, 260}, {90, 340}, {10, 340}},
      .holes = {}};
  EXPECT_NEAR(areaPx2(clippedToFrame(u, kFrame)), 2 * 20 * 40, 1e-9);
}

TEST(Clipping, CutsHolesToo) {
  const Outline ring{.polygon = {{-20, 0}, {80, 0}, {80, 100}, {-20, 100}},
                     .holes = {{{-10, 40}, {10, 40}, {10, 60}, {-10, 60}}}};
  EXPECT_NEAR(areaPx2(clippedToFrame(ring, kFrame)), 80 * 100 - 10 * 20, 1e-9);
}

TEST(VisibleInBoth, IsTheOverlapInPixelsOfBefore) {
  const Homography shift{1, 0, 100, 0, 1, 0, 0, 0, 1};  // content moves 100 px right
  const Outline seen = visibleInBoth(frameOutline(kFrame), kFrame, kFrame, shift);
  EXPECT_NEAR(areaPx2(seen), 300.0 * 300.0, 1e-9);
  const BoundsPx bounds = boundsPx(seen.polygon);
  EXPECT_NEAR(bounds.left, 0.0, 1e-9);
  EXPECT_NEAR(bounds.right, 300.0, 1e-9);
}

TEST(Stretch, OfATurnAndScaleIsJustThat) {
  const double c = 1.5 * std::cos(0.3);
  const double s = 1.5 * std::sin(0.3);
  const LocalStretch stretch = stretchAt({c, -s, 7, s, c, 9, 0, 0, 1}, {50, 60});
  EXPECT_NEAR(stretch.scale, 1.5, 1e-12);
  EXPECT_NEAR(stretch.elongation, 1.0, 1e-12);
  EXPECT_NEAR(stretch.turnDeg, 17.188733854, 1e-8);  // 0.3 rad
}

// Derivatives by finite differences are the independent reference.
TEST(Stretch, AgreesWithFiniteDifferences) {
  const PointPx p{300, 200};
  constexpr double kStep = 1e-3;
  const PointPx left = mapped(kMmFromPx, {p.x - kStep, p.y});
  const PointPx right = mapped(kMmFromPx, {p.x + kStep, p.y});
  const PointPx up = mapped(kMmFromPx, {p.x, p.y - kStep});
  const PointPx down = mapped(kMmFromPx, {p.x, p.y + kStep});
  const double determinant =
      ((right.x - left.x) * (down.y - up.y) - (down.x - up.x) * (right.y - left.y)) /
      (4 * kStep * kStep);
  EXPECT_NEAR(stretchAt(kMmFromPx, p).determinant, determinant, 1e-7);
}

struct Case {
  const char* name;
  Homography homography;
  const char* reason;
};

class ImplausibleHomography : public ::testing::TestWithParam<Case> {};

TEST_P(ImplausibleHomography, IsRefusedWithItsReason) {
  const auto reason = implausibility(GetParam().homography, frameOutline(kFrame), kFrame, kFrame);
  ASSERT_TRUE(reason);
  EXPECT_THAT(*reason, HasSubstr(GetParam().reason));
}

INSTANTIATE_TEST_SUITE_P(
    Align,
    ImplausibleHomography,
    ::testing::Values(Case{"Mirrored", {-1, 0, 400, 0, 1, 0, 0, 0, 1}, "mirror"},
                      Case{"UpsideDownMirrored", {1, 0, 0, 0, -1, 300, 0, 0, 1}, "mirror"},
                      Case{"TooNear", {3.1, 0, 0, 0, 3.1, 0, 0, 0, 1}, "distances"},
                      Case{"TooFar", {0.29, 0, 0, 0, 0.29, 0, 0, 0, 1}, "distances"},
                      Case{"Horizon", {1, 0, 0, 0, 1, 0, -0.004, 0, 1}, "perspective"},
                      Case{"Squeezed", {1, 0, 0, 0, 0.45, 0, 0, 0, 1}, "viewpoints"},
                      Case{"SteepPerspective", {1, 0, 0, 0, 1, 0, 0.0035, 0, 1}, "viewpoints"},
                      Case{"NotANumber", {NAN, 0, 0, 0, 1, 0, 0, 0, 1}, "perspective"}),
    [](const auto& instance) { return std::string(instance.param.name); });

TEST(PlausibleHomography, PassesNearAndFarAndTurned) {
  for (const double scale : {0.31, 0.6, 1.0, 1.6, 2.9}) {
    const double c = scale * std::cos(0.4);
    const double s = scale * std::sin(0.4);
    EXPECT_FALSE(implausibility({c, -s, 5, s, c, 5, 0, 0, 1}, frameOutline(kFrame), kFrame, kFrame))
        << scale;
  }
}

TEST(PlausibleHomography, CountsScaleRelativeToTheFrames) {
  const FrameSize large{.widthPx = 2400, .heightPx = 1800};
  const Homography six{6, 0, 0, 0, 6, 0, 0, 0, 1};
  EXPECT_FALSE(implausibility(six, frameOutline(kFrame), kFrame, large));
  EXPECT_TRUE(implausibility(six, frameOutline(kFrame), kFrame, kFrame));
  EXPECT_TRUE(implausibility(kIdentity, frameOutline(kFrame), kFrame, large));
}

}  // namespace
}  // namespace edamori::vision
