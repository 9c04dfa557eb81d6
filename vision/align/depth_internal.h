// SPDX-License-Identifier: GPL-3.0-or-later
// A tree is no plane: its branches lie at different depths. Two views of a rigid scene are
// bound by one epipolar geometry, which the pot, the bench and the backdrop help to find; a
// branch then has only the three numbers of its depth plane left. Px of the working photos.
#pragma once

#include "vision/align/matches_internal.h"
#include "vision/values/geometry.h"

#include <cmath>
#include <cstddef>
#include <numbers>
#include <optional>
#include <vector>

#include <opencv2/core.hpp>

namespace edamori::vision {

// Features by place, to ask for those around a point.
class FeatureGrid {
public:
  FeatureGrid(const Features& features, cv::Size frame);
  // Those of all cells that reach into the square around the centre and, when a line is given, come within
  // `widthPx` of it: unit normal and offset.
  template <typename Visit>
  void around(cv::Point2d centre, double reachPx, const std::optional<cv::Vec3d>& line, double widthPx,
              const Visit& visit) const {
    const int left = std::max(0, static_cast<int>((centre.x - reachPx) / kCellPx));
    const int right = std::min(m_columns - 1, static_cast<int>((centre.x + reachPx) / kCellPx));
    const int top = std::max(0, static_cast<int>((centre.y - reachPx) / kCellPx));
    const int bottom = std::min(m_rows - 1, static_cast<int>((centre.y + reachPx) / kCellPx));
    const double farthest = widthPx + 0.5 * std::numbers::sqrt2 * kCellPx;
    for (int row = top; row <= bottom; ++row) {
      for (int column = left; column <= right; ++column) {
        if (line && std::abs((*line)[0] * (column + 0.5) * kCellPx + (*line)[1] * (row + 0.5) * kCellPx +
                             (*line)[2]) > farthest) {
          continue;
        }
        for (const int index : m_cells[static_cast<std::size_t>(row * m_columns + column)]) {
          visit(index);
        }
      }
    }
  }

private:
  static constexpr double kCellPx = 16.0;
  int m_columns, m_rows;
  std::vector<std::vector<int>> m_cells;
};

// A feature of before and the one of after that it is taken for.
struct GuidedPair {
  int before = 0, after = 0;  // indices of the features
  double distance = 0.0;      // of the descriptors
};

// Where to look for the partners of features.
struct Guide {
  Homography reference{1, 0, 0, 0, 1, 0, 0, 0, 1};  // after ← before, roughly
  double reachPx = 50.0;                            // around where the reference puts a feature
  double sizeFactor = 1.6;                          // how far a feature's size may be off
  double turnDeg = 30.0;
  double ratio = 0.85;  // of the best descriptor distance to the next best
  // Partners lie this close to the epipolar line, shifted across itself by so many px.
  std::optional<cv::Matx33d> fundamental;
  double widthPx = 2.5;
  double shiftPx = 0.0;
};

// Best partners, each feature of after taken once. `chosen` are indices into `before`.
[[nodiscard]] std::vector<GuidedPair> guidedPairs(const Features& before,
                                                  const Features& after,
                                                  const FeatureGrid& gridAfter,
                                                  const std::vector<int>& chosen,
                                                  const Guide& guide);

// Similarities that many pairs vote for by place, size and direction, most votes first.
//
// Each pair proposes one (its features' own size and direction), all pairs vote, and the
// least-squares similarity of the voters counts. Source of the idea: Lowe 2004, section 7.3.
[[nodiscard]] std::vector<Homography> votedSimilarities(const std::vector<PointPair>& pairs,
                                                        const std::vector<double>& weights,
                                                        int longSidePx,
                                                        std::size_t most);

// x₂ᵀ F x₁ = 0 for most of the pairs, refined on those that agree; absent when too few do.
//
// Source: MAGSAC++ (Barath et al. 2020, CVPR), normalised eight-point algorithm (Hartley
//         1997, IEEE Trans. PAMI 19, 580–593).
struct EpipolarFit {
  cv::Matx33d fundamental;
  std::vector<std::size_t> support;
};
[[nodiscard]] std::optional<EpipolarFit> epipolarFit(const std::vector<cv::Point2d>& before,
                                                     const std::vector<cv::Point2d>& after);

// Distance in px of after from the epipolar line of before, signed.
[[nodiscard]] double lineDistance(const cv::Matx33d& fundamental,
                                  cv::Point2d before,
                                  cv::Point2d after);

// All homographies of planes that agree with F: H = [e]×F + e vᵀ.
//
// Source: Hartley & Zisserman 2004, Multiple View Geometry, results 13.1 and 13.6.
struct PlaneFamily {
  cv::Matx33d base;     // [e]×F
  cv::Vec3d epipole;    // of before's camera in after
  explicit PlaneFamily(const cv::Matx33d& fundamental);
  [[nodiscard]] Homography plane(const cv::Vec3d& v) const;
};

struct PlaneFit {
  cv::Vec3d v{0, 0, 0};
  Homography afterFromBefore{1, 0, 0, 0, 1, 0, 0, 0, 1};
  std::vector<std::size_t> support;
  double weight = 0.0;          // sum over the support
  double medianResidual = 0.0;  // px, whole distance
  double cornerError = 0.0;     // standard error of the worst corner, px
};

// The plane of the family that most of the weight agrees with, within `tolerancePx` along the
// lines. Slopes are held near those of `reference` unless the pairs speak against.
[[nodiscard]] std::optional<PlaneFit> planeFit(const PlaneFamily& family,
                                               const std::vector<cv::Point2d>& before,
                                               const std::vector<cv::Point2d>& after,
                                               const std::vector<double>& weights,
                                               const Homography& reference,
                                               double tolerancePx,
                                               const std::vector<PointPx>& corners);

// Where each pair stands against planes of the family.
class PlaneReadings {
public:
  PlaneReadings(const PlaneFamily& family,
                const std::vector<cv::Point2d>& before,
                const std::vector<cv::Point2d>& after,
                const std::vector<double>& weights);
  // Sum of weight · (1 − (distance along the line / tolerance)²) over those within.
  [[nodiscard]] double score(const cv::Vec3d& v, double tolerancePx) const;

private:
  struct One {
    cv::Vec3d from;
    double u, pxPerU, weight;
  };
  std::vector<One> m_all;
};

// Change of v that moves a point by one px along its epipolar line.
[[nodiscard]] double unitsPerPx(const PlaneFamily& family, const cv::Vec3d& v, PointPx at);
// Direction of change of v: `alongPx` at distance `extentPx` from `centre` in direction
// (directionX, directionY), none at the centre; or the same everywhere when extentPx is 0.
[[nodiscard]] cv::Vec3d planeChange(double units,
                                    PointPx centre,
                                    double directionX,
                                    double directionY,
                                    double extentPx);

}  // namespace edamori::vision
