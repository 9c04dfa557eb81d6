// SPDX-License-Identifier: GPL-3.0-or-later
// Placing a branch by how it looks, along its epipolar lines and then a little across them. Px of the
// working photos.
#pragma once

#include "vision/align/depth_internal.h"
#include "vision/align/likeness_internal.h"
#include "vision/values/geometry.h"

#include <opencv2/core.hpp>

namespace edamori::vision {

struct LookRequest {
  const PlaneFamily& family;
  const PlaneReadings& readings;
  const LikenessWindows& windows;
  PointPx centre;
  double axisX = 1.0, axisY = 0.0;
  double extentPx = 1.0;
  double tolerancePx = 1.0;
  double reachPx = 1.0;
};

// The plane around `start` that details and looks agree on best, climbed by shift and tilts along the
// epipolar lines; then bent a little as a branch bends: moved, turned and stretched in the picture. After ← before.
[[nodiscard]] Homography placedByLook(const LookRequest& request, const cv::Vec3d& start);

}  // namespace edamori::vision
