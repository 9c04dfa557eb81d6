// SPDX-License-Identifier: GPL-3.0-or-later
// Placing a branch by how it looks, along its epipolar lines. Px of the working photos.
#pragma once

#include "vision/align/depth_internal.h"
#include "vision/align/matches_internal.h"
#include "vision/values/geometry.h"

#include <opencv2/core.hpp>

namespace edamori::vision {

// Correlation of the outline's content with the after photo under any homography; both photos
// coarse, so that needles blur into the pads they form.
//
// Source: normalised cross-correlation over a mask, Lewis 1995, Vision Interface, 120–123.
class BranchLooks {
public:
  BranchLooks(const WorkingPhoto& before, const WorkingPhoto& after, const Outline& outline);
  // −1…1; −1 when most of the branch falls outside.
  [[nodiscard]] double correlation(const Homography& afterFromBefore) const;
  // How many independent patches the branch has at this coarseness.
  [[nodiscard]] double patches() const { return m_patches; }

private:
  cv::Mat m_content, m_mask, m_after;  // float; the mask 0 or 1
  Homography m_beforeFromContent{}, m_coarseFromAfter{};
  double m_patches = 0.0;
};

struct LookRequest {
  const PlaneFamily& family;
  const PlaneReadings& readings;
  const BranchLooks& looks;
  PointPx centre;
  double axisX = 1.0, axisY = 0.0;
  double extentPx = 1.0;
  double tolerancePx = 1.0;
  double reachPx = 1.0;
};
struct PlacedByLook {
  cv::Vec3d v{0, 0, 0};
  double look = -1.0;
};

// The plane around `start` that details and looks agree on best: the sum of what both are
// worth as log likelihoods, climbed by shift and tilts along the epipolar lines.
[[nodiscard]] PlacedByLook placedByLook(const LookRequest& request, const cv::Vec3d& start);

}  // namespace edamori::vision
