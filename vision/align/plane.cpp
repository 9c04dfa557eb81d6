// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/plane.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace edamori::vision {

namespace {

// One straight border of the frame: inside where sign · (coordinate − limit) ≥ 0.
struct Border {
  bool isVertical;
  double limit;
  double sign;
  [[nodiscard]] double depth(PointPx p) const { return sign * ((isVertical ? p.x : p.y) - limit); }
};

Polygon clippedTo(const Polygon& polygon, const Border& border) {
  Polygon kept;
  kept.reserve(polygon.size() + 4);
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const PointPx from = polygon[i];
    const PointPx to = polygon[(i + 1) % polygon.size()];
    const double depthFrom = border.depth(from);
    const double depthTo = border.depth(to);
    if (depthFrom >= 0.0) {
      kept.push_back(from);
    }
    if ((depthFrom > 0.0 && depthTo < 0.0) || (depthFrom < 0.0 && depthTo > 0.0)) {
      const double t = depthFrom / (depthFrom - depthTo);
      kept.push_back({.x = from.x + t * (to.x - from.x), .y = from.y + t * (to.y - from.y)});
    }
  }
  return kept;
}

Polygon clippedTo(Polygon polygon, FrameSize frame) {
  const std::array<Border, 4> borders{Border{true, 0.0, 1.0},
                                      Border{true, static_cast<double>(frame.widthPx), -1.0},
                                      Border{false, 0.0, 1.0},
                                      Border{false, static_cast<double>(frame.heightPx), -1.0}};
  for (const Border& border : borders) {
    polygon = clippedTo(polygon, border);
  }
  return polygon.size() < 3 ? Polygon{} : polygon;
}

double depthOfHorizon(const Homography& h, PointPx p) { return h[6] * p.x + h[7] * p.y + h[8]; }

// Twice the signed area of the turn a → b → c.
double turn(PointPx a, PointPx b, PointPx c) {
  return (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x);
}

bool crossesHorizon(const Homography& h, const Polygon& polygon) {
  const bool isPositive = depthOfHorizon(h, polygon.front()) > 0.0;
  return std::any_of(polygon.begin(), polygon.end(), [&](PointPx p) {
    const double depth = depthOfHorizon(h, p);
    return !std::isfinite(depth) || std::abs(depth) < 1e-9 || (depth > 0.0) != isPositive;
  });
}

bool isConvex(const Polygon& quad) {
  const std::size_t n = quad.size();
  for (std::size_t i = 0; i < n; ++i) {
    if (!(turn(quad[i], quad[(i + 1) % n], quad[(i + 2) % n]) > 0.0)) {
      return false;
    }
  }
  return true;
}

}  // namespace

Outline frameOutline(FrameSize frame) {
  const double w = frame.widthPx;
  const double h = frame.heightPx;
  return {.polygon = {{0.0, 0.0}, {w, 0.0}, {w, h}, {0.0, h}}, .holes = {}};
}

std::optional<Homography> inverted(const Homography& m) {
  const Homography adjugate{m[4] * m[8] - m[5] * m[7],
                            m[2] * m[7] - m[1] * m[8],
                            m[1] * m[5] - m[2] * m[4],
                            m[5] * m[6] - m[3] * m[8],
                            m[0] * m[8] - m[2] * m[6],
                            m[2] * m[3] - m[0] * m[5],
                            m[3] * m[7] - m[4] * m[6],
                            m[1] * m[6] - m[0] * m[7],
                            m[0] * m[4] - m[1] * m[3]};
  const double determinant = m[0] * adjugate[0] + m[1] * adjugate[3] + m[2] * adjugate[6];
  if (!std::isfinite(determinant) || determinant == 0.0 || adjugate[8] == 0.0) {
    return std::nullopt;
  }
  Homography inverse{};
  std::transform(adjugate.begin(), adjugate.end(), inverse.begin(), [&](double element) {
    return element / adjugate[8];
  });
  return inverse;
}

Homography composed(const Homography& second, const Homography& first) {
  Homography product{};
  for (std::size_t row = 0; row < 3; ++row) {
    for (std::size_t column = 0; column < 3; ++column) {
      for (std::size_t k = 0; k < 3; ++k) {
        product[row * 3 + column] += second[row * 3 + k] * first[k * 3 + column];
      }
    }
  }
  return product;
}

Outline clippedToFrame(const Outline& outline, FrameSize frame) {
  Outline clipped{.polygon = clippedTo(outline.polygon, frame), .holes = {}};
  if (clipped.polygon.empty()) {
    return clipped;
  }
  for (const Polygon& hole : outline.holes) {
    if (Polygon rest = clippedTo(hole, frame); !rest.empty()) {
      clipped.holes.push_back(std::move(rest));
    }
  }
  return clipped;
}

double areaPx2(const Outline& outline) {
  double area = areaPx2(outline.polygon);
  for (const Polygon& hole : outline.holes) {
    area -= areaPx2(hole);
  }
  return std::max(area, 0.0);
}

Outline visibleInBoth(const Outline& outlineBefore,
                      FrameSize before,
                      FrameSize after,
                      const Homography& afterFromBefore) {
  const Outline inBefore = clippedToFrame(outlineBefore, before);
  const auto beforeFromAfter = inverted(afterFromBefore);
  if (inBefore.polygon.empty() || !beforeFromAfter) {
    return {};
  }
  // Clipping happens in the after frame, because its corners seen from before may lie
  // beyond the horizon line, whereas the outline does not.
  const Outline inAfter = mapped(afterFromBefore, inBefore);
  const Outline clipped = clippedToFrame(inAfter, after);
  return clipped == inAfter ? inBefore : mapped(*beforeFromAfter, clipped);
}

double overlapShare(const Outline& outlineBefore, FrameSize before, FrameSize after, const Homography& afterFromBefore) {
  const Outline visible = visibleInBoth(outlineBefore, before, after, afterFromBefore);
  return std::clamp(areaPx2(visible) / areaPx2(outlineBefore), 0.0, 1.0);
}

LocalStretch stretchAt(const Homography& h, PointPx p) {
  const double w = depthOfHorizon(h, p);
  const PointPx image = mapped(h, p);
  const double a = (h[0] - image.x * h[6]) / w;
  const double b = (h[1] - image.x * h[7]) / w;
  const double c = (h[3] - image.y * h[6]) / w;
  const double d = (h[4] - image.y * h[7]) / w;
  const double determinant = a * d - b * c;
  // Singular values of a 2 × 2 matrix: half the sum and difference of two lengths.
  const double sum = std::hypot(a + d, c - b);
  const double difference = std::hypot(a - d, c + b);
  const double larger = (sum + difference) / 2.0;
  const double smaller = std::abs(sum - difference) / 2.0;
  return {.scale = std::sqrt(std::abs(determinant)),
          .elongation = larger / smaller,
          .determinant = determinant,
          .turnDeg = std::atan2(c - b, a + d) * 180.0 / std::numbers::pi};
}

std::optional<std::string> implausibility(const Homography& afterFromBefore,
                                          const Outline& outlineBefore,
                                          FrameSize before,
                                          FrameSize after) {
  const auto isFinite = [](double element) { return std::isfinite(element); };
  const Polygon frame = frameOutline(before).polygon;
  if (!std::all_of(afterFromBefore.begin(), afterFromBefore.end(), isFinite) ||
      crossesHorizon(afterFromBefore, frame) ||
      crossesHorizon(afterFromBefore, outlineBefore.polygon)) {
    return "the two photos only fit with an impossible perspective";
  }
  const LocalStretch centre = stretchAt(afterFromBefore, centroidPx(outlineBefore.polygon));
  if (!(centre.determinant > 0.0)) {
    return "one photo is the mirror image of the other";
  }
  if (!isConvex(mapped(afterFromBefore, Outline{.polygon = frame, .holes = {}}).polygon)) {
    return "the two photos only fit with an impossible perspective";
  }
  const double relativeScale = centre.scale * before.longSidePx() / after.longSidePx();
  if (!(relativeScale >= kMinScale && relativeScale <= kMaxScale)) {
    return "the photos were taken from too different distances";
  }
  const BoundsPx bounds = boundsPx(outlineBefore.polygon);
  double least = centre.scale;
  double most = centre.scale;
  double elongation = centre.elongation;
  for (const PointPx corner : {PointPx{bounds.left, bounds.top},
                               PointPx{bounds.right, bounds.top},
                               PointPx{bounds.right, bounds.bottom},
                               PointPx{bounds.left, bounds.bottom}}) {
    const LocalStretch there = stretchAt(afterFromBefore, corner);
    least = std::min(least, there.scale);
    most = std::max(most, there.scale);
    elongation = std::max(elongation, there.elongation);
  }
  if (!(elongation <= kMaxElongation) || !(most <= kMaxScaleSpread * least)) {
    return "the viewpoints are too different";
  }
  return std::nullopt;
}

}  // namespace edamori::vision
