// SPDX-License-Identifier: GPL-3.0-or-later
// Points, polygons and outlines in pixels of the upright photo: origin at the
// top left, x right, y down, pixel centres at (+0.5, +0.5).
#pragma once

#include "vision/values/result.h"

#include <array>
#include <string>
#include <string_view>
#include <vector>

namespace edamori {

struct PointPx {
  double x = 0.0;  // px, to the right
  double y = 0.0;  // px, downwards
  friend bool operator==(const PointPx&, const PointPx&) = default;
};

// Closed polygon; the last vertex joins the first and is not repeated.
using Polygon = std::vector<PointPx>;

// Region of one branch on one photo: a polygon less its holes.
struct Outline {
  Polygon polygon;             // at least 3 vertices
  std::vector<Polygon> holes;  // each at least 3 vertices; may be empty
  friend bool operator==(const Outline&, const Outline&) = default;
};

struct BoundsPx {
  double left = 0.0, top = 0.0, right = 0.0, bottom = 0.0;  // px
  [[nodiscard]] double width() const { return right - left; }
  [[nodiscard]] double height() const { return bottom - top; }
};

// Row-major 3 × 3 plane homography: [x', y', w'] = H · [x, y, 1].
using Homography = std::array<double, 9>;

// Enclosed area in px², by the shoelace formula; independent of direction.
[[nodiscard]] double areaPx2(const Polygon& polygon);
// Length of the closed boundary in px.
[[nodiscard]] double perimeterPx(const Polygon& polygon);
// Centroid of the enclosed area; mean of the vertices when the area is 0.
[[nodiscard]] PointPx centroidPx(const Polygon& polygon);
// Smallest upright box around the vertices; all 0 for an empty polygon.
[[nodiscard]] BoundsPx boundsPx(const Polygon& polygon);
// True when `point` lies inside (even-odd rule).
[[nodiscard]] bool contains(const Polygon& polygon, PointPx point);
[[nodiscard]] bool contains(const Outline& outline, PointPx point);
// True when two edges that are not neighbours touch: such a polygon has no area to speak of.
[[nodiscard]] bool crossesItself(const Polygon& polygon);
// Distance from `point` to the nearest edge, in px; infinite for an empty polygon.
[[nodiscard]] double distanceToEdgePx(const Polygon& polygon, PointPx point);

// Maps a point, or each vertex. Points on the horizon line map to infinity.
[[nodiscard]] PointPx mapped(const Homography& homography, PointPx point);
[[nodiscard]] Outline mapped(const Homography& homography, const Outline& outline);

// Reads "x,y x,y x,y …".
//
// Errors: InvalidArgument when a number is missing, when there are fewer than 3
//         vertices, or when the polygon crosses itself; the message says which.
Result<Polygon> parsePolygon(std::string_view text);
// Writes "x,y x,y …" with at most 2 decimals.
[[nodiscard]] std::string toText(const Polygon& polygon);

}  // namespace edamori
