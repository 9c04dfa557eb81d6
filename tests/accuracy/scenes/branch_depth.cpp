// SPDX-License-Identifier: GPL-3.0-or-later
#include "branch_depth.h"

#include "generator/render.h"
#include "generator/skeleton.h"

#include <algorithm>
#include <cmath>

namespace edamori::scenes {
namespace {

bool bearsLeaves(FoliageKind kind) {
  return kind == FoliageKind::PalmateLeaf || kind == FoliageKind::SerrateLeaf;
}

double diagonalOf(const std::vector<cv::Point2d>& corners) {
  cv::Point2d low = corners.front(), high = corners.front();
  for (const cv::Point2d& p : corners) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
  }
  return std::hypot(high.x - low.x, high.y - low.y);
}

}  // namespace

float soilHeightMm(const SceneDescription& scene) { return scene.pot.heightMm * 0.93F + 14.0F; }

BranchDepth::BranchDepth(const SceneDescription& scene) : m_view(cameraView(scene.camera, 1)) {
  const Skeleton skeleton = grow(scene.tree, soilHeightMm(scene));
  m_columns = m_view.width / kCellPx + 1;
  m_rows = m_view.height / kCellPx + 1;
  const auto cells = static_cast<std::size_t>(m_columns * m_rows);
  m_key.assign(cells, 0.0F);
  m_owner.assign(cells, kNothing);
  m_branches = skeleton.branchNames;
  for (const Limb& limb : skeleton.limbs) {
    if (limb.level == LimbLevel::Root) {
      continue;
    }
    constexpr int kSteps = 60;
    for (int i = 0; i <= kSteps; ++i) {
      const LimbPoint at = pointAt(limb, static_cast<float>(i) / static_cast<float>(kSteps));
      cover(at.position, at.radiusMm, limb.branch);
    }
  }
  const float reachMm = 0.35F * (bearsLeaves(scene.tree.foliage) ? scene.foliage.leafLengthMm
                                                                : scene.foliage.needleLengthMm);
  for (const Site& site : skeleton.sites) {
    cover(site.position + site.direction * reachMm, reachMm, site.branch);
  }
}

void BranchDepth::cover(Vec3 centre, float radiusMm, int branch) {
  const Vec3 front = centre + normalized(m_view.eye - centre) * radiusMm;
  const ScreenPoint p = m_view.project(front);
  if (p.key <= 0.0F) {
    return;
  }
  const float reach = std::max(radiusMm * m_view.pxPerMm(p.key) / kCellPx, 0.5F);
  const float x = p.x / kCellPx;
  const float y = p.y / kCellPx;
  const int left = std::max(static_cast<int>(x - reach), 0);
  const int right = std::min(static_cast<int>(x + reach), m_columns - 1);
  const int top = std::max(static_cast<int>(y - reach), 0);
  const int bottom = std::min(static_cast<int>(y + reach), m_rows - 1);
  for (int row = top; row <= bottom; ++row) {
    for (int column = left; column <= right; ++column) {
      const auto at = static_cast<std::size_t>(row * m_columns + column);
      if (p.key > m_key[at]) {
        m_key[at] = p.key;
        m_owner[at] = branch;
      }
    }
  }
}

void BranchDepth::takeDrawn(const cv::Mat& nearness) {
  constexpr float kFarthestOffMm = 60.0F;  // anything else lies in front, or nothing was drawn here
  for (std::size_t i = 0; i < m_key.size(); ++i) {
    if (m_owner[i] == kNothing) {
      continue;
    }
    const int column = static_cast<int>(i) % m_columns;
    const int row = static_cast<int>(i) / m_columns;
    const cv::Rect cell = cv::Rect(column * kCellPx, row * kCellPx, kCellPx, kCellPx) & cv::Rect({0, 0}, nearness.size());
    float count = 0.0F;
    float distances = 0.0F;
    for (int y = cell.y; y < cell.y + cell.height; ++y) {
      for (int x = cell.x; x < cell.x + cell.width; ++x) {
        const float near = nearness.at<float>(y, x);
        if (near > 0.0F && std::abs(1.0F / near - 1.0F / m_key[i]) < kFarthestOffMm) {
          count += 1.0F;
          distances += 1.0F / near;
        }
      }
    }
    if (count > 0.0F) {
      m_key[i] = count / distances;
    } else {
      m_owner[i] = kNothing;
    }
  }
}

int BranchDepth::branchNamed(const std::string& name) const {
  const auto at = std::find(m_branches.begin(), m_branches.end(), name);
  return at == m_branches.end() ? -1 : static_cast<int>(at - m_branches.begin());
}

float BranchDepth::keyNear(int branch, const cv::Point2d& corner, double reachPx) const {
  double weights = 0.0;
  double depths = 0.0;
  for (std::size_t i = 0; i < m_key.size(); ++i) {
    if (m_owner[i] != branch) {
      continue;
    }
    const int column = static_cast<int>(i) % m_columns;
    const int row = static_cast<int>(i) / m_columns;
    const double d = std::hypot((column + 0.5) * kCellPx - corner.x, (row + 0.5) * kCellPx - corner.y);
    const double weight = std::exp(-0.5 * d * d / (reachPx * reachPx)) + 1e-12;
    weights += weight;
    depths += weight / static_cast<double>(m_key[i]);
  }
  return weights > 0.0 ? static_cast<float>(weights / depths) : 0.0F;
}

std::vector<cv::Point2d> BranchDepth::carried(int branch, const std::vector<cv::Point2d>& corners,
                                              const CameraLook& other) const {
  if (corners.empty()) {
    return {};
  }
  const View otherView = cameraView(other, 1);
  const double reachPx = 0.12 * diagonalOf(corners);
  std::vector<cv::Point2d> places;
  for (const cv::Point2d& corner : corners) {
    const float key = keyNear(branch, corner, reachPx);
    if (!(key > 0.0F)) {
      return {};
    }
    const Vec3 at = m_view.unproject(static_cast<float>(corner.x), static_cast<float>(corner.y), key);
    const ScreenPoint seen = otherView.project(at);
    places.emplace_back(static_cast<double>(seen.x), static_cast<double>(seen.y));
  }
  return places;
}

}  // namespace edamori::scenes
