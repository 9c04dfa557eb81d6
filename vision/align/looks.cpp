// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/looks_internal.h"
#include "vision/align/plane.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <opencv2/imgproc.hpp>

namespace edamori::vision {

namespace {

constexpr double kCoarseLongSidePx = 480.0;
constexpr double kBlurPx = 1.0;
constexpr double kLocalPx = 6.0;
// Px² of a coarse photo that go into one independent value; chosen on the tuning set.
constexpr double kPatchPx2 = 40.0;
constexpr double kMaxPatches = 150.0;

cv::Mat coarseOf(const WorkingPhoto& photo) {
  const double factor =
      std::min(1.0, kCoarseLongSidePx / std::max(photo.grey.cols, photo.grey.rows));
  cv::Mat reduced, result;
  cv::resize(photo.grey, reduced, cv::Size(), factor, factor, cv::INTER_AREA);
  reduced.convertTo(result, CV_32F);
  cv::GaussianBlur(result, result, cv::Size(), kBlurPx);
  // Contrast against the surroundings only: light from another side changes all else.
  cv::Mat mean, spread;
  cv::GaussianBlur(result, mean, cv::Size(), kLocalPx);
  result -= mean;
  cv::GaussianBlur(result.mul(result), spread, cv::Size(), kLocalPx);
  cv::sqrt(spread, spread);
  constexpr double kLeastSpread = 3.0;  // grey levels: noise is no contrast
  spread += kLeastSpread;
  cv::divide(result, spread, result);
  return result;
}

}  // namespace

BranchLooks::BranchLooks(const WorkingPhoto& before,
                         const WorkingPhoto& after,
                         const Outline& outline) {
  const cv::Mat coarse = coarseOf(before);
  m_after = coarseOf(after);
  const double perX = static_cast<double>(before.grey.cols) / coarse.cols;
  const double perY = static_cast<double>(before.grey.rows) / coarse.rows;
  m_coarseFromAfter = {static_cast<double>(m_after.cols) / after.grey.cols, 0, 0, 0,
                       static_cast<double>(m_after.rows) / after.grey.rows, 0, 0, 0, 1};
  const BoundsPx b = boundsPx(outline.polygon);
  const cv::Rect wanted(cv::Point(static_cast<int>(b.left / perX), static_cast<int>(b.top / perY)),
                        cv::Point(static_cast<int>(b.right / perX) + 1,
                                  static_cast<int>(b.bottom / perY) + 1));
  const cv::Rect box = wanted & cv::Rect({0, 0}, coarse.size());
  if (box.width < 4 || box.height < 4) {
    return;
  }
  m_content = coarse(box).clone();
  m_beforeFromContent = {perX, 0, box.x * perX, 0, perY, box.y * perY, 0, 0, 1};
  std::vector<cv::Point> ring;
  for (const PointPx& p : outline.polygon) {
    ring.emplace_back(cvRound(p.x / perX - 0.5) - box.x, cvRound(p.y / perY - 0.5) - box.y);
  }
  m_mask = cv::Mat::zeros(box.size(), CV_32F);
  cv::fillPoly(m_mask, std::vector<std::vector<cv::Point>>{ring}, cv::Scalar(1.0));
  m_patches = std::min(cv::sum(m_mask)[0] / kPatchPx2, kMaxPatches);
}

double BranchLooks::correlation(const Homography& afterFromBefore) const {
  if (m_content.empty()) {
    return -1.0;
  }
  constexpr float kOutside = -1e6F;
  const Homography centres =
      composed({1, 0, -0.5, 0, 1, -0.5, 0, 0, 1},
               composed(m_coarseFromAfter,
                        composed(afterFromBefore,
                                 composed(m_beforeFromContent, {1, 0, 0.5, 0, 1, 0.5, 0, 0, 1}))));
  cv::Mat moved;
  cv::warpPerspective(m_after, moved, cv::Matx33d(centres.data()), m_content.size(),
                      cv::INTER_LINEAR | cv::WARP_INVERSE_MAP, cv::BORDER_CONSTANT,
                      cv::Scalar(kOutside));
  double n = 0, inside = 0, a = 0, b = 0, aa = 0, bb = 0, ab = 0;
  for (int y = 0; y < moved.rows; ++y) {
    const auto* mask = m_mask.ptr<float>(y);
    const auto* from = m_content.ptr<float>(y);
    const auto* to = moved.ptr<float>(y);
    for (int x = 0; x < moved.cols; ++x) {
      inside += static_cast<double>(mask[x]);
      if (mask[x] > 0.0F && to[x] > -100.0F) {
        const auto p = static_cast<double>(from[x]);
        const auto q = static_cast<double>(to[x]);
        n += 1.0;
        a += p;
        b += q;
        aa += p * p;
        bb += q * q;
        ab += p * q;
      }
    }
  }
  constexpr double kLeastShare = 0.5;
  const double spread = (n * aa - a * a) * (n * bb - b * b);
  return n < kLeastShare * inside || spread <= 0.0 ? -1.0 : (n * ab - a * b) / std::sqrt(spread);
}

PlacedByLook placedByLook(const LookRequest& request, const cv::Vec3d& start) {
  const double units = unitsPerPx(request.family, start, request.centre);
  const std::array<cv::Vec3d, 3> ways{
      planeChange(units, request.centre, 0.0, 0.0, 0.0),
      planeChange(units, request.centre, request.axisX, request.axisY, request.extentPx),
      planeChange(units, request.centre, -request.axisY, request.axisX, request.extentPx)};
  const auto worth = [&](const cv::Vec3d& v, double& look) {
    look = request.looks.correlation(request.family.plane(v));
    const double r = std::clamp(look, 0.0, 0.99);
    const cv::Vec3d tilt = v - start;
    const double tiltPx =
        std::hypot(tilt[0], tilt[1]) / std::max(cv::norm(cv::Vec2d(ways[1][0], ways[1][1])), 1e-12);
    const double off = tiltPx / (2.5 * request.tolerancePx);
    return -0.5 * request.looks.patches() * std::log(1.0 - r * r) +
           request.readings.score(v, request.tolerancePx) - 0.5 * off * off;
  };
  PlacedByLook best{.v = start};
  double bestWorth = worth(start, best.look);
  const auto attempt = [&](const cv::Vec3d& v) {
    double look = 0.0;
    const double w = worth(v, look);
    if (w > bestWorth) {
      bestWorth = w;
      best = {.v = v, .look = look};
      return true;
    }
    return false;
  };
  constexpr int kSteps = 14;
  for (int i = -kSteps; i <= kSteps; ++i) {
    attempt(start + ways[0] * (request.reachPx * i / kSteps));
  }
  for (double stepPx = request.reachPx / kSteps; stepPx > 0.3; stepPx *= 0.6) {
    for (int round = 0; round < 4; ++round) {
      bool isBetter = false;
      for (const cv::Vec3d& way : ways) {
        isBetter = attempt(best.v + way * stepPx) || attempt(best.v - way * stepPx) || isBetter;
      }
      if (!isBetter) {
        break;
      }
    }
  }
  return best;
}

}  // namespace edamori::vision
