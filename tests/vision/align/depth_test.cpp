// SPDX-License-Identifier: GPL-3.0-or-later
// Against cameras written down: F = K⁻ᵀ [t]× R K⁻¹ and a plane's homography
// H = K (R − t nᵀ / d) K⁻¹ (Hartley & Zisserman 2004, sections 9.2 and 13.1).
#include "vision/align/depth_internal.h"

#include <cmath>
#include <random>

#include <gtest/gtest.h>

namespace edamori::vision {
namespace {

const cv::Matx33d kCamera(1000, 0, 450, 0, 1000, 300, 0, 0, 1);

// Seen from 15° to the side.
struct TwoViews {
  cv::Matx33d turn;
  cv::Vec3d shift{-380, 10, 60};
  TwoViews() {
    const double a = 15.0 * CV_PI / 180.0;
    turn = cv::Matx33d(std::cos(a), 0, std::sin(a), 0, 1, 0, -std::sin(a), 0, std::cos(a));
  }
  [[nodiscard]] cv::Matx33d fundamental() const {
    const cv::Matx33d cross(
        0, -shift[2], shift[1], shift[2], 0, -shift[0], -shift[1], shift[0], 0);
    return kCamera.inv().t() * cross * turn * kCamera.inv();
  }
  static cv::Point2d seen(const cv::Vec3d& p) {
    const cv::Vec3d x = kCamera * p;
    return {x[0] / x[2], x[1] / x[2]};
  }
  [[nodiscard]] cv::Point2d before(const cv::Vec3d& p) const { return seen(p); }
  [[nodiscard]] cv::Point2d after(const cv::Vec3d& p) const { return seen(turn * p + shift); }
};

double between(std::mt19937& random, double low, double high) {
  return low + (high - low) * static_cast<double>(random()) / 4294967296.0;
}

TEST(EpipolarFit, FindsTheLinesOfKnownCamerasAmongFalsePairs) {
  const TwoViews views;
  std::mt19937 random(7);
  std::vector<cv::Point2d> before, after;
  for (int i = 0; i < 150; ++i) {
    const cv::Vec3d p(
        between(random, -500, 500), between(random, -300, 300), between(random, 1200, 2200));
    before.push_back(views.before(p));
    after.push_back(i % 3 == 0 ? cv::Point2d(between(random, 0, 900), between(random, 0, 600))
                               : views.after(p));
  }
  const auto fit = epipolarFit(before, after);
  ASSERT_TRUE(fit);
  EXPECT_GE(fit->support.size(), 98U);
  for (int i = 0; i < 150; ++i) {
    const auto at = static_cast<std::size_t>(i);
    if (i % 3 != 0) {
      EXPECT_NEAR(lineDistance(fit->fundamental, before[at], after[at]), 0.0, 0.3);
    }
  }
  // Points that played no part: true lines of the cameras.
  const cv::Vec3d unseen(123, -77, 1500);
  EXPECT_NEAR(lineDistance(views.fundamental(), views.before(unseen), views.after(unseen)), 0, 1e-6);
  EXPECT_NEAR(lineDistance(fit->fundamental, views.before(unseen), views.after(unseen)), 0.0, 0.5);
}

TEST(EpipolarFit, NeedsEnoughPairs) {
  EXPECT_FALSE(epipolarFit({{1, 1}, {2, 2}}, {{1, 1}, {2, 2}}));
}

// A branch in the plane z = 1500 + 0.4 x − 0.2 y among points at other depths.
TEST(PlaneFit, IsTheHomographyOfThePlaneMostPointsLieIn) {
  const TwoViews views;
  std::mt19937 random(11);
  std::vector<cv::Point2d> before, after;
  for (int i = 0; i < 60; ++i) {
    const double x = between(random, -200, 200);
    const double y = between(random, -150, 150);
    const double z = i % 4 == 0 ? between(random, 1000, 2500) : 1500 + 0.4 * x - 0.2 * y;
    before.push_back(views.before({x, y, z}));
    after.push_back(views.after({x, y, z}));
  }
  // n·p = d with n = (−0.4, 0.2, 1), d = 1500; views map p to R p + t, hence + t nᵀ / d.
  const cv::Vec3d normal(-0.4, 0.2, 1.0);
  const cv::Matx33d truth =
      kCamera * (views.turn + views.shift * normal.t() * (1.0 / 1500.0)) * kCamera.inv();
  Homography reference{};
  const cv::Matx33d flat = kCamera *
                           (views.turn + views.shift * cv::Vec3d(0, 0, 1).t() * (1.0 / 1550.0)) *
                           kCamera.inv();
  std::copy_n(flat.val, 9, reference.begin());
  const auto fit = planeFit(PlaneFamily(views.fundamental()),
                            before,
                            after,
                            std::vector<double>(before.size(), 1.0),
                            reference,
                            8.0,
                            {{330, 200}, {570, 200}, {570, 400}, {330, 400}});
  ASSERT_TRUE(fit);
  EXPECT_GE(fit->support.size(), 45U);
  for (const PointPx p : {PointPx{350, 220}, PointPx{550, 380}, PointPx{450, 300}}) {
    const cv::Vec3d to = truth * cv::Vec3d(p.x, p.y, 1.0);
    const PointPx at = mapped(fit->afterFromBefore, p);
    // The prior on slopes gives way to 45 exact points, to about a pixel.
    EXPECT_NEAR(at.x, to[0] / to[2], 1.0);
    EXPECT_NEAR(at.y, to[1] / to[2], 1.0);
  }
}

TEST(PlaneChange, MovesTheMiddleByOnePixelAlongItsLine) {
  const TwoViews views;
  const PlaneFamily family(views.fundamental());
  const cv::Vec3d v(0.1, 0.05, 0.3);
  const PointPx middle{.x = 450, .y = 300};
  const cv::Vec3d step = planeChange(unitsPerPx(family, v, middle), middle, 0, 0, 0);
  const PointPx a = mapped(family.plane(v), middle);
  const PointPx b = mapped(family.plane(v + step), middle);
  EXPECT_NEAR(std::hypot(b.x - a.x, b.y - a.y), 1.0, 0.05);
  EXPECT_NEAR(lineDistance(views.fundamental(), {middle.x, middle.y}, {b.x, b.y}), 0.0, 1e-6);
}

// 40 pairs by one similarity, scale 1.25 and turned by 20°, among 60 at random.
TEST(VotedSimilarities, FindTheOneThatMostPairsShare) {
  std::mt19937 random(3);
  const double c = 1.25 * std::cos(20 * CV_PI / 180);
  const double s = 1.25 * std::sin(20 * CV_PI / 180);
  std::vector<PointPair> pairs;
  for (int i = 0; i < 100; ++i) {
    const cv::Point2d p(between(random, 0, 900), between(random, 0, 600));
    PointPair pair;
    pair.before = p;
    if (i < 40) {
      pair.after = {c * p.x - s * p.y + 30, s * p.x + c * p.y - 50};
      pair.scale = 1.25;
      pair.turnDeg = 20;
    } else {
      pair.after = {between(random, 0, 900), between(random, 0, 600)};
      pair.scale = std::exp(between(random, -1, 1));
      pair.turnDeg = between(random, -180, 180);
    }
    pairs.push_back(pair);
  }
  const auto found = votedSimilarities(pairs, std::vector<double>(100, 1.0), 900, 2);
  ASSERT_FALSE(found.empty());
  const PointPx at = mapped(found.front(), {.x = 450, .y = 300});
  EXPECT_NEAR(at.x, c * 450 - s * 300 + 30, 2.0);
  EXPECT_NEAR(at.y, s * 450 + c * 300 - 50, 2.0);
}

TEST(GuidedPairs, LookOnlyAroundTheExpectedPlaceAndLine) {
  Features before, after;
  before.points = {{100, 100}};
  before.sizes = {4};
  before.anglesDeg = {10};
  before.descriptors = cv::Mat::zeros(1, 128, CV_32F);
  before.descriptors.at<float>(0, 0) = 1.0F;
  // Equal descriptors at 10 px and, beyond reach, exactly on the place asked for.
  after.points = {{110, 100}, {300, 100}};
  after.sizes = {4, 4};
  after.anglesDeg = {10, 10};
  after.descriptors = cv::Mat::zeros(2, 128, CV_32F);
  after.descriptors.at<float>(0, 0) = after.descriptors.at<float>(1, 0) = 1.0F;
  after.descriptors.at<float>(0, 1) = 0.1F;
  after.descriptors.row(0) /= cv::norm(after.descriptors.row(0));
  const FeatureGrid grid(after, {400, 200});
  Guide guide;
  guide.reachPx = 30;
  const auto pairs = guidedPairs(before, after, grid, {0}, guide);
  ASSERT_EQ(pairs.size(), 1U);
  EXPECT_EQ(pairs[0].after, 0);
  // Both photos from one height: lines run level. Shifted aside, nothing lies on them.
  guide.fundamental = cv::Matx33d(0, 0, 0, 0, 0, -1, 0, 1, 0);
  EXPECT_EQ(guidedPairs(before, after, grid, {0}, guide).size(), 1U);
  guide.shiftPx = 10;
  EXPECT_TRUE(guidedPairs(before, after, grid, {0}, guide).empty());
  guide.shiftPx = 0;
  guide.turnDeg = 5;
  after.anglesDeg[0] = 30;
  EXPECT_TRUE(guidedPairs(before, after, grid, {0}, guide).empty());
}

}  // namespace
}  // namespace edamori::vision
