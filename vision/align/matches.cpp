// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/matches_internal.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numeric>
#include <set>
#include <utility>

#include <opencv2/features2d.hpp>
#include <opencv2/imgproc.hpp>

namespace edamori::vision {

namespace {

// Enough to cover a photo full of foliage; more cost time without adding matches.
constexpr std::size_t kMaxFeatures = 7000;
// Features are thinned cell by cell, because the strongest of a tree photo all sit
// in the foliage, which changes, and none on bark, pot and bench, which stay.
constexpr int kCellsAcross = 10;
// Lower than Lowe's 0.04 (OpenCV's counting), since bark in the shade has little contrast.
constexpr double kContrastThreshold = 0.02;
// OpenCV finds the finest features on the photo enlarged twice and halves their
// coordinates without minding pixel centres: a quarter pixel too far right and down.
constexpr double kUpscaleShiftPx = 0.25;

std::vector<int> thinned(const std::vector<cv::KeyPoint>& keypoints, cv::Size size) {
  std::vector<int> order(keypoints.size());
  std::iota(order.begin(), order.end(), 0);
  if (keypoints.size() <= kMaxFeatures) {
    return order;
  }
  std::vector<std::vector<int>> cells(static_cast<std::size_t>(kCellsAcross * kCellsAcross));
  for (const int index : order) {
    const cv::Point2f at = keypoints[static_cast<std::size_t>(index)].pt;
    const int column = std::clamp(static_cast<int>(at.x) * kCellsAcross / size.width, 0, 9);
    const int row = std::clamp(static_cast<int>(at.y) * kCellsAcross / size.height, 0, 9);
    cells[static_cast<std::size_t>(row * kCellsAcross + column)].push_back(index);
  }
  for (auto& cell : cells) {
    std::stable_sort(cell.begin(), cell.end(), [&](int a, int b) {
      return keypoints[static_cast<std::size_t>(a)].response >
             keypoints[static_cast<std::size_t>(b)].response;
    });
  }
  std::vector<int> kept;
  kept.reserve(kMaxFeatures);
  for (std::size_t rank = 0; kept.size() < kMaxFeatures; ++rank) {
    for (const auto& cell : cells) {
      if (rank < cell.size() && kept.size() < kMaxFeatures) {
        kept.push_back(cell[rank]);
      }
    }
  }
  return kept;
}

// Square root of the descriptor divided by its sum: plain distances of the results
// are then Hellinger distances of the descriptors.
void toHellinger(cv::Mat descriptor) {
  const double sum = cv::norm(descriptor, cv::NORM_L1);
  if (sum > 0.0) {
    descriptor /= sum;
    cv::sqrt(descriptor, descriptor);
  }
}

double wrappedDeg(double angle) { return std::remainder(angle, 360.0); }

// The same spot carries several features when it has several directions; counted
// as several they would make an accident look like agreement.
std::vector<PointPair> withoutRepeats(const std::vector<PointPair>& pairs) {
  constexpr double kSpotPx = 2.0;
  const auto spot = [](cv::Point2d p) {
    return std::pair(std::lround(p.x / kSpotPx), std::lround(p.y / kSpotPx));
  };
  std::set<std::pair<std::pair<long, long>, std::pair<long, long>>> seen;
  std::vector<PointPair> kept;
  for (const PointPair& pair : pairs) {
    if (seen.insert({spot(pair.before), spot(pair.after)}).second) {
      kept.push_back(pair);
    }
  }
  return kept;
}

}  // namespace

WorkingPhoto workingPhoto(const RgbImage& photo) {
  // The header needs a non-const pointer; nothing is written through it.
  // NOLINTNEXTLINE(cppcoreguidelines-pro-type-const-cast)
  const cv::Mat full(
      photo.height(), photo.width(), CV_8UC3, const_cast<std::uint8_t*>(photo.data()));
  const int longSide = std::max(photo.width(), photo.height());
  cv::Mat reduced = full;
  if (longSide > kWorkingLongSidePx) {
    const double factor = static_cast<double>(kWorkingLongSidePx) / longSide;
    const cv::Size size(std::max(1, cvRound(photo.width() * factor)),
                        std::max(1, cvRound(photo.height() * factor)));
    cv::resize(full, reduced, size, 0.0, 0.0, cv::INTER_AREA);
  }
  WorkingPhoto result;
  cv::cvtColor(reduced, result.grey, cv::COLOR_RGB2GRAY);
  // Its own, as the grey one: the photo may be gone before the working photo is.
  result.rgb = reduced.data == full.data ? full.clone() : reduced;
  result.pxPerWorkingX = static_cast<double>(photo.width()) / result.grey.cols;
  result.pxPerWorkingY = static_cast<double>(photo.height()) / result.grey.rows;
  return result;
}

WorkingPhoto mirrored(const WorkingPhoto& photo) {
  WorkingPhoto result{.grey = {}, .rgb = {}, .pxPerWorkingX = photo.pxPerWorkingX, .pxPerWorkingY = photo.pxPerWorkingY};
  cv::flip(photo.grey, result.grey, 1);
  cv::flip(photo.rgb, result.rgb, 1);
  return result;
}

Features featuresOf(const WorkingPhoto& photo) {
  const auto sift = cv::SIFT::create(0, 3, kContrastThreshold, 10.0, 1.6);
  std::vector<cv::KeyPoint> keypoints;
  cv::Mat descriptors;
  sift->detectAndCompute(photo.grey, cv::noArray(), keypoints, descriptors);
  const std::vector<int> kept = thinned(keypoints, photo.grey.size());
  Features features;
  features.descriptors.create(static_cast<int>(kept.size()), 128, CV_32F);
  for (std::size_t i = 0; i < kept.size(); ++i) {
    const cv::KeyPoint& keypoint = keypoints[static_cast<std::size_t>(kept[i])];
    features.points.emplace_back(static_cast<double>(keypoint.pt.x) + 0.5 - kUpscaleShiftPx,
                                 static_cast<double>(keypoint.pt.y) + 0.5 - kUpscaleShiftPx);
    features.sizes.push_back(static_cast<double>(keypoint.size));
    features.anglesDeg.push_back(static_cast<double>(keypoint.angle));
    cv::Mat row = features.descriptors.row(static_cast<int>(i));
    descriptors.row(kept[i]).copyTo(row);
    toHellinger(row);
  }
  return features;
}

Matching::Matching(const Features& before, const Features& after)
    : m_before(before), m_after(after), m_nearest(nearestBothWays(before.descriptors, after.descriptors)) {}

std::vector<PointPair> Matching::pairs(float ratio) const {
  std::vector<PointPair> pairs;
  for (std::size_t from = 0; from < m_nearest.inB.size(); ++from) {
    const NearestTwo& nearest = m_nearest.inB[from];
    if (nearest.distance >= ratio * nearest.nextDistance) {
      continue;
    }
    const auto to = static_cast<std::size_t>(nearest.index);
    if (m_nearest.inA[to] != static_cast<int>(from)) {
      continue;
    }
    pairs.push_back({.before = m_before.points[from],
                     .after = m_after.points[to],
                     .scale = m_after.sizes[to] / m_before.sizes[from],
                     .sizePx = m_before.sizes[from],
                     .turnDeg = wrappedDeg(m_after.anglesDeg[to] - m_before.anglesDeg[from])});
  }
  return withoutRepeats(pairs);
}

}  // namespace edamori::vision
