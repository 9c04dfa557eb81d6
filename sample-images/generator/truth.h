// SPDX-License-Identifier: GPL-3.0-or-later
// Exact statements about a drawn picture, from the scene itself. Pixels upright, origin top left, x
// right, y down.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "generator/render.h"
#include <opencv2/core.hpp>

namespace edamori::scenes {

struct BranchOutline {
  std::string branch;
  std::vector<cv::Point> polygon;      // 8 to 20 corners, not self-intersecting
  double foliageFraction = 0.0;        // labelled foliage pixels / pixels inside
  std::optional<double> spotFraction;  // spotted / foliage; none without foliage
};

enum class MarkKind { Dot, Patch };

struct FindingMark {
  std::string finding;  // "scale insect", "aphids", "needle blight", "leaf spot"
  MarkKind kind = MarkKind::Dot;
  std::string branch;
  cv::Point2d centre;
  double radiusPx = 1.0;
  std::vector<cv::Point> polygon;  // patches only
  int count = 1;
};

// Outlines as a grower would draw them, of the branches and the trunk parts that are in the frame.
std::vector<BranchOutline> outlineBranches(const SceneDescription& scene,
                                           const RenderedScene& rendered);

// Insects that can be seen (at least a third of their visible side), colonies, and the worst
// patches of disease.
std::vector<FindingMark> findMarks(const SceneDescription& scene, const RenderedScene& rendered);

// Homography from (x mm, y mm) on the tree's main plane to pixels.
cv::Matx33d pixelFromPlane(const CameraLook& camera);

}  // namespace edamori::scenes
