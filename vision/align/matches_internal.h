// SPDX-License-Identifier: GPL-3.0-or-later
// From two photos to pairs of points that look alike. Points are in px of the
// working photo (see WorkingPhoto), pixel centres at (+0.5, +0.5).
#pragma once

#include "vision/align/nearest_internal.h"
#include "vision/values/raster.h"

#include <vector>

#include <opencv2/core.hpp>

namespace edamori::vision {

// Reduced so that the longer side is at most kWorkingLongSidePx; never enlarged.
struct WorkingPhoto {
  cv::Mat grey;                // 8 bits
  cv::Mat rgb;                 // 8 bits, of the same size
  double pxPerWorkingX = 1.0;  // full-size px per working px
  double pxPerWorkingY = 1.0;
};
inline constexpr int kWorkingLongSidePx = 1600;

[[nodiscard]] WorkingPhoto workingPhoto(const RgbImage& photo);
[[nodiscard]] WorkingPhoto mirrored(const WorkingPhoto& photo);

// Scale-invariant features: one row of `descriptors` a feature.
struct Features {
  std::vector<cv::Point2d> points;
  std::vector<double> sizes;      // px
  std::vector<double> anglesDeg;  // 0…360
  cv::Mat descriptors;            // float, unit length
};

// Source: Lowe 2004, Int. J. Computer Vision 60, 91–110; descriptors compared by the
//         Hellinger kernel, Arandjelović & Zisserman 2012, CVPR.
[[nodiscard]] Features featuresOf(const WorkingPhoto& photo);

// A feature of before and the feature of after that looks most like it.
struct PointPair {
  cv::Point2d before;
  cv::Point2d after;
  double scale = 1.0;    // size after / size before, as the features themselves tell it
  double sizePx = 1.0;   // of the feature in before; details in focus are small
  double turnDeg = 0.0;  // angle after − angle before, −180…180
};

// Lowe 2004, section 7.1.
inline constexpr float kClearRatio = 0.8F;
// The two features of after that look most like each feature of before; exhaustive, so that the
// same photos give the same pairs on every run. Searched once, as that takes most of the time,
// and read with as many ratios as wanted. Keeps references to both.
class Matching {
public:
  Matching(const Features& before, const Features& after);
  // Pairs that are each other's best match and clearly better than the second best (by `ratio`).
  [[nodiscard]] std::vector<PointPair> pairs(float ratio = kClearRatio) const;

private:
  const Features& m_before;
  const Features& m_after;
  NearestBothWays m_nearest;
};

}  // namespace edamori::vision
