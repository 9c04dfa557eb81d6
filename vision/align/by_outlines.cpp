// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/by_outlines.h"
#include "vision/align/align_internal.h"
#include "vision/align/plane.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>
#include <vector>

namespace edamori::vision {

namespace {

constexpr std::size_t kRimPoints = 120;
constexpr int kRounds = 12;
constexpr double kMostTurn = 40.0 / 180.0 * std::numbers::pi;  // of the camera between two photos
// Median distance of the rims over the root of the area, from which the shapes have too little in
// common. Chosen, no source.
constexpr double kMostApart = 0.12;
constexpr double kLeastErrorShare = 0.005;  // of the longer side: what redrawing an outline comes to

constexpr const char* kOutlinesDiffer =
    "cannot align: the outlines on the two photos differ too much in shape; draw both around the same part of the branch";

double signedArea(const std::vector<PointPx>& polygon) {
  double twice = 0.0;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const PointPx& a = polygon[i];
    const PointPx& b = polygon[(i + 1) % polygon.size()];
    twice += a.x * b.y - b.x * a.y;
  }
  return 0.5 * twice;
}

// Points at equal steps along the rim, all polygons in the same sense of rotation.
std::vector<PointPx> rimOf(std::vector<PointPx> polygon) {
  if (signedArea(polygon) < 0.0) {
    std::reverse(polygon.begin(), polygon.end());
  }
  double length = 0.0;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    length += apart(polygon[i], polygon[(i + 1) % polygon.size()]);
  }
  std::vector<PointPx> rim;
  const double step = length / static_cast<double>(kRimPoints);
  double wanted = 0.0;
  double walked = 0.0;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const PointPx& a = polygon[i];
    const PointPx& b = polygon[(i + 1) % polygon.size()];
    const double side = apart(a, b);
    while (wanted < walked + side && rim.size() < kRimPoints) {
      const double t = (wanted - walked) / side;
      rim.push_back({std::lerp(a.x, b.x, t), std::lerp(a.y, b.y, t)});
      wanted += step;
    }
    walked += side;
  }
  return rim;
}

double turnOf(const Homography& similarity) { return std::atan2(similarity[3], similarity[0]); }

double squaresOf(const Homography& similarity, const std::vector<PointPx>& from, const std::vector<PointPx>& to) {
  double sum = 0.0;
  for (std::size_t i = 0; i < from.size(); ++i) {
    const double d = apart(mapped(similarity, from[i]), to[i]);
    sum += d * d;
  }
  return sum;
}

// The best of all cyclic pairings that turn the photo by no more than a hand does.
std::optional<Homography> startOf(const std::vector<PointPx>& from, std::vector<PointPx> to) {
  std::optional<Homography> best;
  double least = std::numeric_limits<double>::max();
  for (std::size_t i = 0; i < to.size(); ++i) {
    std::rotate(to.begin(), to.begin() + 1, to.end());
    const Homography similarity = similarityThrough(from, to);
    const double squares = squaresOf(similarity, from, to);
    if (std::abs(turnOf(similarity)) <= kMostTurn && squares < least) {
      least = squares;
      best = similarity;
    }
  }
  return best;
}

// Of each mapped point the nearest of the other rim.
std::vector<PointPx> nearestTo(const Homography& similarity, const std::vector<PointPx>& from,
                               const std::vector<PointPx>& to) {
  std::vector<PointPx> nearest;
  for (const PointPx& p : from) {
    const PointPx at = mapped(similarity, p);
    nearest.push_back(*std::min_element(to.begin(), to.end(), [&at](const PointPx& a, const PointPx& b) {
      return apart(a, at) < apart(b, at);
    }));
  }
  return nearest;
}

std::vector<double> distancesOf(const Homography& similarity, const std::vector<PointPx>& from,
                                const std::vector<PointPx>& to) {
  std::vector<double> distances;
  const std::vector<PointPx> nearest = nearestTo(similarity, from, to);
  for (std::size_t i = 0; i < from.size(); ++i) {
    distances.push_back(apart(mapped(similarity, from[i]), nearest[i]));
  }
  std::sort(distances.begin(), distances.end());
  return distances;
}

}  // namespace

Result<Alignment> alignByOutlines(const RgbImage& before,
                                  const RgbImage& after,
                                  const Outline& outlineBefore,
                                  const Outline& outlineAfter) {
  for (const Outline* outline : {&outlineBefore, &outlineAfter}) {
    if (outline->polygon.size() < 3 || std::abs(signedArea(outline->polygon)) < 1.0) {
      return fail(ErrorCode::InvalidArgument, "an outline needs at least 3 points that are not in one line");
    }
  }
  const std::vector<PointPx> from = rimOf(outlineBefore.polygon);
  const std::vector<PointPx> to = rimOf(outlineAfter.polygon);
  auto similarity = startOf(from, to);
  if (!similarity) {
    return fail(ErrorCode::NotMeasurable, kOutlinesDiffer);
  }
  for (int round = 0; round < kRounds; ++round) {
    const Homography next = similarityThrough(from, nearestTo(*similarity, from, to));
    if (std::abs(turnOf(next)) > kMostTurn) {
      break;
    }
    similarity = next;
  }
  const std::vector<double> distances = distancesOf(*similarity, from, to);
  Alignment alignment;
  alignment.model = AlignmentModel::Similarity;
  alignment.afterFromBefore = *similarity;
  alignment.residualPx = distances[distances.size() / 2];
  alignment.errorPx = std::max(distances[distances.size() * 9 / 10],
                               kLeastErrorShare * std::max(after.width(), after.height()));
  if (alignment.residualPx > kMostApart * std::sqrt(std::abs(signedArea(outlineAfter.polygon)))) {
    return fail(ErrorCode::NotMeasurable, kOutlinesDiffer);
  }
  return checkedAlignment(alignment, before, after, outlineBefore);
}

}  // namespace edamori::vision
