// SPDX-License-Identifier: GPL-3.0-or-later
// Drawn pictures must be the same in every process that shares a set, and carry no other label.
#include "board.h"

#include <gtest/gtest.h>
#include <opencv2/core.hpp>

namespace edamori::scenes {
namespace {

TEST(Board, DrawsTheSamePictureAgain) {
  const DrawnPicture first = drawBoard(SceneSet::Tuning, 7, 160);
  drawBoard(SceneSet::Tuning, 8, 160);
  const DrawnPicture again = drawBoard(SceneSet::Tuning, 7, 160);
  ASSERT_EQ(first.picture.size(), again.picture.size());
  EXPECT_EQ(cv::norm(first.picture, again.picture, cv::NORM_INF), 0.0);
  EXPECT_EQ(cv::norm(first.labels, again.labels, cv::NORM_INF), 0.0);
}

TEST(Board, SetsDiffer) {
  const DrawnPicture tuning = drawBoard(SceneSet::Tuning, 3, 160);
  const DrawnPicture held = drawBoard(SceneSet::HeldOut, 3, 160);
  EXPECT_TRUE(tuning.picture.size() != held.picture.size() ||
              cv::norm(tuning.picture, held.picture, cv::NORM_L1) > 0.0);
}

TEST(Board, EveryLabelIsOneOfThree) {
  cv::Mat seen = cv::Mat::zeros(1, 256, CV_32S);
  for (std::uint64_t index = 0; index < 40; ++index) {
    const DrawnPicture drawn = drawBoard(SceneSet::Calibration, index, 128);
    EXPECT_EQ(drawn.picture.size(), drawn.labels.size());
    const int known = cv::countNonZero(drawn.labels == kNotFoliageLabel) +
                      cv::countNonZero(drawn.labels == kSoundLabel) +
                      cv::countNonZero(drawn.labels == kSpottedLabel);
    EXPECT_EQ(known, static_cast<int>(drawn.labels.total())) << index;
    for (const int label : {0, 128, 255}) {
      seen.at<int>(label) += cv::countNonZero(drawn.labels == label);
    }
  }
  EXPECT_GT(seen.at<int>(kNotFoliageLabel), 0);
  EXPECT_GT(seen.at<int>(kSoundLabel), 0);
  EXPECT_GT(seen.at<int>(kSpottedLabel), 0);
}

}  // namespace
}  // namespace edamori::scenes
