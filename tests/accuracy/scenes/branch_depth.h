// SPDX-License-Identifier: GPL-3.0-or-later
// Where a line around a branch belongs on another photo: known, because the scene is known in depth.
#pragma once

#include "generator/raster.h"
#include "generator/scene.h"

#include <string>
#include <vector>

#include <opencv2/core.hpp>

namespace edamori::scenes {

// What each cell of a coarse grid over a photo shows: the nearest surface of wood or foliage and
// the branch it belongs to.
class BranchDepth {
 public:
  explicit BranchDepth(const SceneDescription& scene);
  // Puts what was drawn, to the pixel, for what the skeleton says roughly. `nearness`: RenderedScene's of
  // the same scene.
  void takeDrawn(const cv::Mat& nearness);

  // Index of a branch; −1 for the trunk and for names that the tree has not.
  [[nodiscard]] int branchNamed(const std::string& name) const;
  [[nodiscard]] const std::vector<std::string>& branchNames() const { return m_branches; }

  // Each corner at the depth of what the photo shows of the branch around there, weighted by a
  // Gaussian, as `other` sees it. Pixels of either photo; corners may lie beyond the frame.
  // Empty when the branch is hidden behind others.
  [[nodiscard]] std::vector<cv::Point2d> carried(int branch, const std::vector<cv::Point2d>& corners,
                                                 const CameraLook& other) const;

 private:
  static constexpr int kCellPx = 6;
  static constexpr int kNothing = -2;  // no tree in a cell

  void cover(Vec3 centre, float radiusMm, int branch);
  [[nodiscard]] float keyNear(int branch, const cv::Point2d& corner, double reachPx) const;

  View m_view;
  int m_columns = 0, m_rows = 0;
  std::vector<float> m_key;  // as ScreenPoint; ≤ 0 where there is no tree
  std::vector<int> m_owner;
  std::vector<std::string> m_branches;
};

// Height of the soil at the trunk, as renderScene takes it.
[[nodiscard]] float soilHeightMm(const SceneDescription& scene);

}  // namespace edamori::scenes
