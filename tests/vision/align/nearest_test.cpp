// SPDX-License-Identifier: GPL-3.0-or-later
// Reference: cv::BFMatcher of OpenCV, which searches as exhaustively.
#include "vision/align/nearest_internal.h"

#include <cmath>

#include <gtest/gtest.h>

#include <opencv2/features2d.hpp>

namespace edamori::vision::test {
namespace {

// Rows of unit length.
cv::Mat drawnRows(int count, std::uint64_t seed) {
  cv::Mat rows(count, 128, CV_32F);
  cv::RNG(seed).fill(rows, cv::RNG::UNIFORM, 0.0, 1.0);
  for (int i = 0; i < count; ++i) {
    rows.row(i) /= cv::norm(rows.row(i));
  }
  return rows;
}

// Sizes around those of a block, where the last one is full, begun or alone.
class NearestRows : public testing::TestWithParam<std::pair<int, int>> {};

TEST_P(NearestRows, AreThoseOfOpenCvBothWays) {
  const cv::Mat a = drawnRows(GetParam().first, 1);
  const cv::Mat b = drawnRows(GetParam().second, 2);
  const NearestBothWays nearest = nearestBothWays(a, b);
  std::vector<std::vector<cv::DMatch>> there;
  std::vector<cv::DMatch> back;
  cv::BFMatcher(cv::NORM_L2).knnMatch(a, b, there, 2);
  cv::BFMatcher(cv::NORM_L2).match(b, a, back);
  ASSERT_EQ(nearest.inB.size(), there.size());
  for (std::size_t i = 0; i < there.size(); ++i) {
    EXPECT_EQ(nearest.inB[i].index, there[i].at(0).trainIdx);
    EXPECT_NEAR(nearest.inB[i].distance, there[i].at(0).distance, 1e-4);
    EXPECT_NEAR(nearest.inB[i].nextDistance, there[i].at(1).distance, 1e-4);
  }
  ASSERT_EQ(nearest.inA.size(), back.size());
  for (std::size_t i = 0; i < back.size(); ++i) {
    EXPECT_EQ(nearest.inA[i], back[i].trainIdx);
  }
}

INSTANTIATE_TEST_SUITE_P(Sizes, NearestRows,
                         testing::Values(std::pair(1, 2), std::pair(4, 24), std::pair(5, 25), std::pair(203, 47)));

TEST(NearestRows, HaveNoSecondWhereThereIsOne) {
  const cv::Mat one = drawnRows(1, 3);
  const NearestBothWays nearest = nearestBothWays(drawnRows(3, 4), one);
  for (const NearestTwo& row : nearest.inB) {
    EXPECT_EQ(row.index, 0);
    EXPECT_EQ(row.nextDistance, 0.0F);
  }
}

TEST(NearestRows, OfNothingAreNone) {
  const cv::Mat none(0, 128, CV_32F);
  const NearestBothWays nearest = nearestBothWays(drawnRows(2, 5), none);
  ASSERT_EQ(nearest.inB.size(), 2U);
  EXPECT_EQ(nearest.inB[0].index, -1);
  EXPECT_TRUE(nearest.inA.empty());
  EXPECT_TRUE(nearestBothWays(none, none).inB.empty());
}

TEST(NearestRows, ThatAreEqualCountInTheirOrder) {
  cv::Mat twice;
  cv::vconcat(drawnRows(1, 6), drawnRows(1, 6), twice);
  EXPECT_EQ(nearestBothWays(twice, twice).inB[1].index, 0);
  EXPECT_EQ(nearestBothWays(twice, twice).inA[1], 0);
}

}  // namespace
}  // namespace edamori::vision::test
