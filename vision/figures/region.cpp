// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/figures/region.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstring>
#include <vector>

#include <opencv2/core.hpp>

namespace edamori::vision {
namespace {

bool isUsable(const Polygon& polygon) {
  return polygon.size() >= 3 && std::all_of(polygon.begin(), polygon.end(), [](PointPx p) {
           return std::isfinite(p.x) && std::isfinite(p.y);
         });
}

// Where the row through the pixel centres at `y` enters and leaves the polygon, sorted.
void crossingsOf(const Polygon& polygon, double y, std::vector<double>& crossings) {
  crossings.clear();
  for (std::size_t i = 0, j = polygon.size() - 1; i < polygon.size(); j = i++) {
    const PointPx& a = polygon[i];
    const PointPx& b = polygon[j];
    if ((a.y > y) != (b.y > y)) {
      crossings.push_back((b.x - a.x) * (y - a.y) / (b.y - a.y) + a.x);
    }
  }
  std::sort(crossings.begin(), crossings.end());
}

// First pixel whose centre is at or right of `x`, within 0…width.
int firstCentreFrom(double x, int width) {
  return static_cast<int>(std::clamp(std::ceil(x - 0.5), 0.0, static_cast<double>(width)));
}

// `mask` shows the photo from `left`, `top` on.
void paint(const Polygon& polygon, std::uint8_t value, int left, int top, Mask& mask) {
  const BoundsPx box = boundsPx(polygon);
  const int first = firstCentreFrom(box.top - top, mask.height());
  const int end = firstCentreFrom(box.bottom - top, mask.height());
  std::vector<double> crossings;
  for (int y = first; y < end; ++y) {
    crossingsOf(polygon, top + y + 0.5, crossings);
    for (std::size_t i = 0; i + 1 < crossings.size(); i += 2) {
      const int from = firstCentreFrom(crossings[i] - left, mask.width());
      const int to = firstCentreFrom(crossings[i + 1] - left, mask.width());
      if (to > from) {
        std::memset(mask.row(y) + from, value, static_cast<std::size_t>(to - from));
      }
    }
  }
}

}  // namespace

Result<Mask> maskOf(const Outline& outline, int widthPx, int heightPx) {
  return maskOf(outline, {.left = 0, .top = 0, .width = widthPx, .height = heightPx});
}

Result<Mask> maskOf(const Outline& outline, const PixelBox& frame) {
  if (frame.width < 1 || frame.height < 1) {
    return fail(ErrorCode::InvalidArgument, "the photo is empty; choose another one");
  }
  if (!isUsable(outline.polygon) ||
      !std::all_of(outline.holes.begin(), outline.holes.end(), isUsable)) {
    return fail(ErrorCode::InvalidArgument,
                "an outline and each of its holes needs at least 3 points; draw it again");
  }
  Mask mask(frame.width, frame.height, 0);
  paint(outline.polygon, 255, frame.left, frame.top, mask);
  for (const Polygon& hole : outline.holes) {
    paint(hole, 0, frame.left, frame.top, mask);
  }
  return mask;
}

Result<Mask> maskOf(const std::optional<Outline>& outline, int widthPx, int heightPx) {
  if (outline) {
    return maskOf(*outline, widthPx, heightPx);
  }
  if (widthPx < 1 || heightPx < 1) {
    return fail(ErrorCode::InvalidArgument, "the photo is empty; choose another one");
  }
  return Mask(widthPx, heightPx, 255);
}

Mask unionOf(const Mask& a, const Mask& b) {
  assert(a.width() == b.width() && a.height() == b.height());
  Mask result = a;
  for (std::size_t i = 0; i < result.byteCount(); ++i) {
    result.data()[i] = static_cast<std::uint8_t>(result.data()[i] | b.data()[i]);
  }
  return result;
}

std::int64_t countInside(const Mask& mask) {
  const cv::Mat view(mask.height(), mask.width(), CV_8UC1, const_cast<std::uint8_t*>(mask.data()));
  return mask.isEmpty() ? 0 : cv::countNonZero(view);
}

PixelBox boxAround(const Mask& mask) {
  int left = mask.width();
  int right = -1;
  int top = -1;
  int bottom = -1;
  const auto isSet = [](std::uint8_t value) { return value != 0; };
  for (int y = 0; y < mask.height(); ++y) {
    const std::uint8_t* const begin = mask.row(y);
    const std::uint8_t* const end = begin + mask.width();
    const std::uint8_t* const first = std::find_if(begin, end, isSet);
    if (first == end) {
      continue;
    }
    const auto last = std::find_if(std::make_reverse_iterator(end),
                                   std::make_reverse_iterator(first), isSet);
    left = std::min(left, static_cast<int>(first - begin));
    right = std::max(right, static_cast<int>(last.base() - begin) - 1);
    top = top < 0 ? y : top;
    bottom = y;
  }
  return bottom < 0 ? PixelBox{}
                    : PixelBox{.left = left,
                               .top = top,
                               .width = right - left + 1,
                               .height = bottom - top + 1};
}

}  // namespace edamori::vision
