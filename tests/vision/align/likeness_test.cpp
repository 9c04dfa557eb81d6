// SPDX-License-Identifier: GPL-3.0-or-later
// Against places that are known because the second photo is made from the first (pair_maker.h).
#include "vision/align/likeness_internal.h"

#include "tests/vision/align/pair_maker.h"
#include "vision/align/plane.h"
#include "vision/load/load.h"

#include <filesystem>

#include <gtest/gtest.h>

namespace edamori::vision {
namespace {

RgbImage samplePhoto(const char* name) {
  const auto photo = loadPhoto(std::filesystem::path(EDAMORI_SAMPLE_IMAGES) / "photos" / name);
  return photo ? reducedToFit(photo->image, 1200) : RgbImage();
}

Outline middleOf(const RgbImage& photo) {
  const double w = photo.width();
  const double h = photo.height();
  return {.polygon = {{0.3 * w, 0.35 * h}, {0.65 * w, 0.35 * h}, {0.65 * w, 0.65 * h}, {0.3 * w, 0.65 * h}}, .holes = {}};
}

struct KnownViews {
  RgbImage before = samplePhoto("ED-04_2026-04-25_first-right-before.jpg");
  Homography truth = test::homographyOf({.rollDeg = 14.0, .scale = 0.85, .tiltX = 0.08, .shiftX = 0.03}, before.width(),
                                        before.height());
  RgbImage after = test::photographedAgain(before, truth, {.gain = 0.75, .cast = 0.1, .noise = 4, .seed = 3});
  Outline outline = middleOf(before);

  // With the branch moved aside from where it belongs, px of the after photo.
  [[nodiscard]] double meanAside(double x, double y) const {
    return likenessOf(workingPhoto(before), workingPhoto(after), outline, composed({1, 0, x, 0, 1, y, 0, 0, 1}, truth)).mean();
  }
};

TEST(Likeness, IsHighWhereTheBranchBelongs) {
  const KnownViews views;
  ASSERT_FALSE(views.before.isEmpty());
  EXPECT_GT(views.meanAside(0, 0), 1.5);
}

TEST(Likeness, FallsOffBeside) {
  const KnownViews views;
  ASSERT_FALSE(views.before.isEmpty());
  const double there = views.meanAside(0, 0);
  for (const auto& [x, y] : {std::pair(20.0, 0.0), std::pair(-20.0, 0.0), std::pair(0.0, 20.0), std::pair(0.0, -20.0)}) {
    EXPECT_LT(views.meanAside(x, y), there - 1.0) << x << ' ' << y;
  }
}

TEST(Likeness, FindsThePlaceAgainFromARoughOne) {
  const KnownViews views;
  ASSERT_FALSE(views.before.isEmpty());
  const WorkingPhoto before = workingPhoto(views.before);
  const WorkingPhoto after = workingPhoto(views.after);
  const Homography rough = composed({1, 0, 14, 0, 1, -10, 0, 0, 1}, views.truth);
  const LikenessWindows windows =
      BranchLikeness(before, after, views.outline, centroidPx(views.outline.polygon), {1.0, 0.0}).around(rough);
  double best = -1e9;
  cv::Point2d at;
  for (double y = -30; y <= 30; y += 2) {
    for (double x = -30; x <= 30; x += 2) {
      const double mean = windows.at(composed({1, 0, x, 0, 1, y, 0, 0, 1}, rough)).mean();
      if (mean > best) {
        best = mean;
        at = {x, y};
      }
    }
  }
  EXPECT_NEAR(at.x, -14, 3);
  EXPECT_NEAR(at.y, 10, 3);
}

TEST(Likeness, MovesFarAsideToWhereTheBranchIs) {
  const KnownViews views;
  ASSERT_FALSE(views.before.isEmpty());
  const WorkingPhoto before = workingPhoto(views.before);
  const WorkingPhoto after = workingPhoto(views.after);
  const PointPx centre = centroidPx(views.outline.polygon);
  const BranchLikeness branch(before, after, views.outline, centre, {1.0, 0.0});
  const PointPx truth = mapped(views.truth, centre);
  for (const auto& [x, y] : {std::pair(0.0, 0.0), std::pair(110.0, -70.0), std::pair(-60.0, 100.0)}) {
    const auto moved = branch.moved(composed({1, 0, x, 0, 1, y, 0, 0, 1}, views.truth));
    ASSERT_TRUE(moved.has_value());
    EXPECT_NEAR(mapped(*moved, centre).x, truth.x, 6.0) << x << ' ' << y;
    EXPECT_NEAR(mapped(*moved, centre).y, truth.y, 6.0) << x << ' ' << y;
  }
  EXPECT_FALSE(branch.moved({1e-4, 0, 10, 0, 1e-4, 10, 0, 0, 1}).has_value());
}

TEST(Likeness, IsLowOnAnotherTree) {
  const KnownViews views;
  const RgbImage other = samplePhoto("ED-07_2026-04-04_front.jpg");
  ASSERT_FALSE(other.isEmpty());
  const Likeness likeness =
      likenessOf(workingPhoto(views.before), workingPhoto(other), views.outline, {1, 0, 0, 0, 1, 0, 0, 0, 1});
  EXPECT_LT(likeness.mean(), 0.3);
}

TEST(Likeness, IsNoneWhereThePhotoShrinksToAPoint) {
  const KnownViews views;
  ASSERT_FALSE(views.before.isEmpty());
  const WorkingPhoto photo = workingPhoto(views.before);
  EXPECT_EQ(likenessOf(photo, photo, views.outline, {1e-4, 0, 10, 0, 1e-4, 10, 0, 0, 1}).mean(), 0.0);
  EXPECT_EQ(likenessOf(photo, photo, views.outline, {0, 0, 0, 0, 0, 0, 0, 0, 0}).mean(), 0.0);
}

TEST(WorkingPhoto, IsLeftAloneWhenMirrored) {
  const WorkingPhoto photo = workingPhoto(samplePhoto("ED-07_2026-04-04_front.jpg"));
  const cv::Mat grey = photo.grey.clone();
  const cv::Mat rgb = photo.rgb.clone();
  const WorkingPhoto flipped = mirrored(photo);
  EXPECT_EQ(cv::norm(photo.grey, grey, cv::NORM_INF), 0.0);
  EXPECT_EQ(cv::norm(photo.rgb, rgb, cv::NORM_INF), 0.0);
  EXPECT_EQ(flipped.grey.at<unsigned char>(7, 0), grey.at<unsigned char>(7, grey.cols - 1));
}

TEST(Likeness, TellsTheWorseHalf) {
  Likeness likeness;
  likeness.halves = {Likeness::Half{.sum = 30.0, .cells = 20}, Likeness::Half{.sum = -4.0, .cells = 40}};
  EXPECT_DOUBLE_EQ(likeness.meanOfWorseHalf(), -0.1);
}

}  // namespace
}  // namespace edamori::vision
