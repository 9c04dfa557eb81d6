// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/cover_shift.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

#include <opencv2/imgproc.hpp>

namespace edamori::vision {

namespace {

// The outline's bounds within the photo, with what was found there.
struct Window {
  cv::Mat inside;   // 255 inside the outline
  cv::Mat foliage;  // 255 where foliage
  cv::Mat spotted;  // 255 where spotted
};

cv::Rect pixelBounds(const Outline& outline, const LabelImage& labels) {
  const BoundsPx b = boundsPx(outline.polygon);
  const auto clamped = [](double value, int limit) {
    return static_cast<int>(std::clamp(value, 0.0, static_cast<double>(limit)));
  };
  const cv::Point from(clamped(std::floor(b.left), labels.width()),
                       clamped(std::floor(b.top), labels.height()));
  const cv::Point to(clamped(std::ceil(b.right), labels.width()),
                     clamped(std::ceil(b.bottom), labels.height()));
  return {from, to};
}

Window windowOf(const LabelImage& labels, const Outline& outline, const cv::Rect& bounds) {
  // Corners are drawn to 1/16 px; OpenCV counts from the centre of the first pixel.
  constexpr int kShift = 4;
  std::vector<std::vector<cv::Point>> rings;
  const auto addRing = [&](const Polygon& polygon) {
    std::vector<cv::Point> ring;
    for (const PointPx& p : polygon) {
      ring.emplace_back(cvRound((p.x - 0.5 - bounds.x) * (1 << kShift)),
                        cvRound((p.y - 0.5 - bounds.y) * (1 << kShift)));
    }
    rings.push_back(std::move(ring));
  };
  addRing(outline.polygon);
  std::for_each(outline.holes.begin(), outline.holes.end(), addRing);
  Window window;
  window.inside = cv::Mat::zeros(bounds.size(), CV_8U);
  cv::fillPoly(window.inside, rings, cv::Scalar(255), cv::LINE_8, kShift);
  // NOLINTNEXTLINE(cppcoreguidelines-pro-type-const-cast): read only.
  const cv::Mat all(
      labels.height(), labels.width(), CV_8U, const_cast<std::uint8_t*>(labels.data()));
  const cv::Mat found = all(bounds);
  window.foliage = (found != static_cast<int>(Label::NotFoliage)) & window.inside;
  window.spotted = (found == static_cast<int>(Label::Spotted)) & window.inside;
  return window;
}

// Pixels of `found` that stay inside when the outline moves by (x, y).
double kept(const cv::Mat& found, const cv::Mat& inside, int x, int y) {
  const cv::Rect whole({0, 0}, found.size());
  const cv::Rect there = whole & cv::Rect(cv::Point(x, y), found.size());
  if (there.empty()) {
    return 0.0;
  }
  const cv::Rect here = there - cv::Point(x, y);
  return cv::countNonZero(found(there) & inside(here));
}

CoverShift shiftedAlong(const Window& window, double outlineCount, int x, int y) {
  const auto change = [&](const cv::Mat& found) {
    return kept(found, window.inside, x, y) - kept(found, window.inside, -x, -y);
  };
  const double foliage = cv::countNonZero(window.foliage);
  const double spotted = cv::countNonZero(window.spotted);
  const double foliageChange = change(window.foliage);
  CoverShift shift{.foliage = std::abs(foliageChange) / outlineCount, .spot = 0.0};
  if (foliage > 0.0 && foliage + foliageChange > 0.0) {
    shift.spot = std::abs((spotted + change(window.spotted)) / (foliage + foliageChange) -
                          spotted / foliage);
  }
  return shift;
}

}  // namespace

CoverShift coverShift(const LabelImage& labels, const Outline& outline, double shiftPx) {
  const cv::Rect bounds = pixelBounds(outline, labels);
  if (bounds.empty() || !(shiftPx > 0.0)) {
    return {};
  }
  const Window window = windowOf(labels, outline, bounds);
  const double outlineCount = cv::countNonZero(window.inside);
  if (outlineCount == 0.0) {
    return {};
  }
  // Less than a pixel cannot be shifted; the change grows in proportion to the shift.
  const int whole = std::max(1, static_cast<int>(std::lround(shiftPx)));
  const double share = shiftPx / whole;
  const CoverShift across = shiftedAlong(window, outlineCount, whole, 0);
  const CoverShift down = shiftedAlong(window, outlineCount, 0, whole);
  return {.foliage = share * std::hypot(across.foliage, down.foliage),
          .spot = share * std::hypot(across.spot, down.spot)};
}

}  // namespace edamori::vision
