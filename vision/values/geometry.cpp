// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/values/geometry.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <limits>

namespace edamori {
namespace {

double cross(PointPx origin, PointPx a, PointPx b) {
  return (a.x - origin.x) * (b.y - origin.y) - (a.y - origin.y) * (b.x - origin.x);
}

bool isWithinBox(PointPx from, PointPx to, PointPx point) {
  return std::min(from.x, to.x) <= point.x && point.x <= std::max(from.x, to.x) &&
         std::min(from.y, to.y) <= point.y && point.y <= std::max(from.y, to.y);
}

bool edgesTouch(PointPx a, PointPx b, PointPx c, PointPx d) {
  const double c1 = cross(a, b, c);
  const double c2 = cross(a, b, d);
  const double c3 = cross(c, d, a);
  const double c4 = cross(c, d, b);
  if (((c1 > 0 && c2 < 0) || (c1 < 0 && c2 > 0)) && ((c3 > 0 && c4 < 0) || (c3 < 0 && c4 > 0))) {
    return true;
  }
  return (c1 == 0 && isWithinBox(a, b, c)) || (c2 == 0 && isWithinBox(a, b, d)) ||
         (c3 == 0 && isWithinBox(c, d, a)) || (c4 == 0 && isWithinBox(c, d, b));
}

double signedAreaPx2(const Polygon& polygon) {
  double twice = 0.0;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const PointPx& a = polygon[i];
    const PointPx& b = polygon[(i + 1) % polygon.size()];
    twice += a.x * b.y - b.x * a.y;
  }
  return twice / 2.0;
}

PointPx meanOf(const Polygon& polygon) {
  PointPx mean;
  for (const PointPx& vertex : polygon) {
    mean.x += vertex.x / static_cast<double>(polygon.size());
    mean.y += vertex.y / static_cast<double>(polygon.size());
  }
  return mean;
}

double distanceToSegmentPx(PointPx a, PointPx b, PointPx point) {
  const double dx = b.x - a.x;
  const double dy = b.y - a.y;
  const double length2 = dx * dx + dy * dy;
  const double along =
      length2 > 0.0
          ? std::clamp(((point.x - a.x) * dx + (point.y - a.y) * dy) / length2, 0.0, 1.0)
          : 0.0;
  return std::hypot(point.x - a.x - along * dx, point.y - a.y - along * dy);
}

// Reads one finite number from the front of `text` and removes it.
bool takeNumber(std::string_view& text, double& number) {
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc{} || !std::isfinite(number)) {
    return false;
  }
  text.remove_prefix(static_cast<std::size_t>(end - text.data()));
  return true;
}

std::string shortNumber(double number) {
  char buffer[64];
  const auto [end, error] = std::to_chars(buffer, buffer + sizeof buffer, number,
                                          std::chars_format::fixed, 2);
  std::string text(buffer, error == std::errc{} ? end : buffer);
  while (text.find('.') != std::string::npos && (text.back() == '0' || text.back() == '.')) {
    const bool wasPoint = text.back() == '.';
    text.pop_back();
    if (wasPoint) {
      break;
    }
  }
  return text;
}

}  // namespace

double areaPx2(const Polygon& polygon) { return std::abs(signedAreaPx2(polygon)); }

double perimeterPx(const Polygon& polygon) {
  double length = 0.0;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const PointPx& a = polygon[i];
    const PointPx& b = polygon[(i + 1) % polygon.size()];
    length += std::hypot(b.x - a.x, b.y - a.y);
  }
  return length;
}

PointPx centroidPx(const Polygon& polygon) {
  const double area = signedAreaPx2(polygon);
  if (area == 0.0) {
    return meanOf(polygon);
  }
  PointPx sum;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const PointPx& a = polygon[i];
    const PointPx& b = polygon[(i + 1) % polygon.size()];
    const double weight = a.x * b.y - b.x * a.y;
    sum.x += (a.x + b.x) * weight;
    sum.y += (a.y + b.y) * weight;
  }
  return {.x = sum.x / (6.0 * area), .y = sum.y / (6.0 * area)};
}

BoundsPx boundsPx(const Polygon& polygon) {
  if (polygon.empty()) {
    return {};
  }
  BoundsPx box{polygon[0].x, polygon[0].y, polygon[0].x, polygon[0].y};
  for (const PointPx& vertex : polygon) {
    box.left = std::min(box.left, vertex.x);
    box.top = std::min(box.top, vertex.y);
    box.right = std::max(box.right, vertex.x);
    box.bottom = std::max(box.bottom, vertex.y);
  }
  return box;
}

bool contains(const Polygon& polygon, PointPx point) {
  bool inside = false;
  for (std::size_t i = 0, j = polygon.size() - 1; i < polygon.size(); j = i++) {
    const PointPx& a = polygon[i];
    const PointPx& b = polygon[j];
    if ((a.y > point.y) != (b.y > point.y) &&
        point.x < (b.x - a.x) * (point.y - a.y) / (b.y - a.y) + a.x) {
      inside = !inside;
    }
  }
  return inside;
}

bool contains(const Outline& outline, PointPx point) {
  return contains(outline.polygon, point) &&
         std::none_of(outline.holes.begin(), outline.holes.end(),
                      [point](const Polygon& hole) { return contains(hole, point); });
}

bool crossesItself(const Polygon& polygon) {
  const std::size_t n = polygon.size();
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = i + 2; j < n; ++j) {
      const bool areNeighbours = i == 0 && j == n - 1;
      if (!areNeighbours &&
          edgesTouch(polygon[i], polygon[i + 1], polygon[j], polygon[(j + 1) % n])) {
        return true;
      }
    }
  }
  return false;
}

double distanceToEdgePx(const Polygon& polygon, PointPx point) {
  double nearest = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    nearest = std::min(
        nearest, distanceToSegmentPx(polygon[i], polygon[(i + 1) % polygon.size()], point));
  }
  return nearest;
}

PointPx mapped(const Homography& h, PointPx p) {
  const double w = h[6] * p.x + h[7] * p.y + h[8];
  return {.x = (h[0] * p.x + h[1] * p.y + h[2]) / w, .y = (h[3] * p.x + h[4] * p.y + h[5]) / w};
}

Outline mapped(const Homography& homography, const Outline& outline) {
  const auto mapAll = [&homography](const Polygon& polygon) {
    Polygon result;
    result.reserve(polygon.size());
    for (const PointPx& vertex : polygon) {
      result.push_back(mapped(homography, vertex));
    }
    return result;
  };
  Outline result{.polygon = mapAll(outline.polygon), .holes = {}};
  for (const Polygon& hole : outline.holes) {
    result.holes.push_back(mapAll(hole));
  }
  return result;
}

Result<Polygon> parsePolygon(std::string_view text) {
  const auto malformed = [] {
    return fail(ErrorCode::InvalidArgument,
                "the outline is not a list of points; write it as \"x,y x,y x,y …\" in pixels");
  };
  Polygon polygon;
  const auto skipSpaces = [&text] {
    while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) {
      text.remove_prefix(1);
    }
  };
  for (skipSpaces(); !text.empty(); skipSpaces()) {
    PointPx point;
    if (!takeNumber(text, point.x) || text.empty() || text.front() != ',') {
      return malformed();
    }
    text.remove_prefix(1);
    if (!takeNumber(text, point.y) ||
        (!text.empty() && text.front() != ' ' && text.front() != '\t')) {
      return malformed();
    }
    polygon.push_back(point);
  }
  if (polygon.size() < 3) {
    return fail(ErrorCode::InvalidArgument, "an outline needs at least 3 points; give them as \"x,y x,y x,y\"");
  }
  if (crossesItself(polygon)) {
    return fail(ErrorCode::InvalidArgument,
                "the outline crosses itself; list its points in order around the branch");
  }
  return polygon;
}

std::string toText(const Polygon& polygon) {
  std::string text;
  for (const PointPx& vertex : polygon) {
    text += (text.empty() ? "" : " ") + shortNumber(vertex.x) + "," + shortNumber(vertex.y);
  }
  return text;
}

}  // namespace edamori
