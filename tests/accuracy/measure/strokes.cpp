// SPDX-License-Identifier: GPL-3.0-or-later
#include "strokes.h"

#include "vision/figures/region.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <numbers>
#include <utility>
#include <vector>

#include <opencv2/imgproc.hpp>

namespace edamori::accuracy {
namespace {

constexpr int kStrokes = 3;
constexpr double kLengthPx = 60.0;         // at working scale
constexpr double kWidthPx = 7.0;           // at working scale
constexpr double kWorkingSidePx = 1600.0;  // as in vision/figures/measure.cpp
constexpr int kDirections = 36;            // tried for the longest stroke

cv::Mat viewOf(const Raster<1>& raster) {
  return {raster.height(), raster.width(), CV_8UC1, const_cast<std::uint8_t*>(raster.data())};
}

Hint hintFor(Label label) {
  switch (label) {
    case Label::NotFoliage:
      return Hint::NotFoliage;
    case Label::SoundFoliage:
      return Hint::SoundFoliage;
    case Label::Spotted:
      return Hint::Spot;
  }
  return Hint::None;
}

struct WrongRegion {
  cv::Mat mask;  // 255 in the region, within `box`
  cv::Rect box;
  int areaPx = 0;
  Label right = Label::NotFoliage;
};

cv::Mat wrongOf(const LabelImage& found, const LabelImage& truth, const Mask& inside, Label right) {
  const cv::Mat isRight = viewOf(truth) == static_cast<int>(right);
  cv::Mat wrong = isRight & (viewOf(found) != static_cast<int>(right)) & viewOf(inside);
  cv::morphologyEx(wrong, wrong, cv::MORPH_OPEN, cv::getStructuringElement(cv::MORPH_RECT, {3, 3}));
  return wrong;
}

void addRegions(const cv::Mat& wrong, Label right, std::vector<WrongRegion>& regions) {
  cv::Mat numbers;
  cv::Mat statistics;
  cv::Mat centres;
  const int count = cv::connectedComponentsWithStats(wrong, numbers, statistics, centres, 8);
  for (int i = 1; i < count; ++i) {
    const int* const row = statistics.ptr<int>(i);
    const cv::Rect box(row[cv::CC_STAT_LEFT],
                       row[cv::CC_STAT_TOP],
                       row[cv::CC_STAT_WIDTH],
                       row[cv::CC_STAT_HEIGHT]);
    regions.push_back({.mask = cv::Mat(numbers(box) == i),
                       .box = box,
                       .areaPx = row[cv::CC_STAT_AREA],
                       .right = right});
  }
}

std::vector<WrongRegion> largestRegions(const LabelImage& found,
                                        const LabelImage& truth,
                                        const Mask& inside) {
  std::vector<WrongRegion> regions;
  for (const Label right : {Label::NotFoliage, Label::SoundFoliage, Label::Spotted}) {
    addRegions(wrongOf(found, truth, inside, right), right, regions);
  }
  std::ranges::stable_sort(regions, std::ranges::greater{}, &WrongRegion::areaPx);
  if (regions.size() > kStrokes) {
    regions.resize(kStrokes);
  }
  return regions;
}

cv::Point innermostPoint(const cv::Mat& region) {
  cv::Mat padded;
  cv::copyMakeBorder(region, padded, 1, 1, 1, 1, cv::BORDER_CONSTANT, cv::Scalar(0));
  cv::Mat distance;
  cv::distanceTransform(padded, distance, cv::DIST_L2, cv::DIST_MASK_PRECISE);
  cv::Point place;
  cv::minMaxLoc(distance, nullptr, nullptr, nullptr, &place);
  return place - cv::Point(1, 1);
}

cv::Point pointFrom(cv::Point start, double angle, double distancePx) {
  return {start.x + static_cast<int>(std::lround(distancePx * std::cos(angle))),
          start.y + static_cast<int>(std::lround(distancePx * std::sin(angle)))};
}

// How far, in px, one can go from `start` without leaving the region.
double reachWithin(const cv::Mat& region, cv::Point start, double angle, double mostPx) {
  const cv::Rect frame(0, 0, region.cols, region.rows);
  double reach = 0.0;
  while (reach + 1.0 <= mostPx) {
    const cv::Point next = pointFrom(start, angle, reach + 1.0);
    if (!frame.contains(next) || region.at<std::uint8_t>(next) == 0) {
      break;
    }
    reach += 1.0;
  }
  return reach;
}

// Through the innermost point, in its middle where there is room on both sides.
std::pair<cv::Point, cv::Point> longestStroke(const cv::Mat& region, double lengthPx) {
  const cv::Point middle = innermostPoint(region);
  std::pair<cv::Point, cv::Point> longest{middle, middle};
  double longestPx = 0.0;
  for (int i = 0; i < kDirections; ++i) {
    const double angle = std::numbers::pi * i / kDirections;
    const double ahead = reachWithin(region, middle, angle, lengthPx);
    const double behind = reachWithin(region, middle, angle + std::numbers::pi, lengthPx);
    const double back = std::min(behind, std::max(lengthPx / 2, lengthPx - ahead));
    const double forth = std::min(ahead, lengthPx - back);
    if (back + forth > longestPx) {
      longest = {pointFrom(middle, angle + std::numbers::pi, back),
                 pointFrom(middle, angle, forth)};
      longestPx = back + forth;
    }
  }
  return longest;
}

// Largest odd number of px that is at most `widthPx`, so that a stroke has a middle line.
int oddWidth(double widthPx) { return 2 * static_cast<int>((widthPx - 1.0) / 2.0) + 1; }

// Not cv::line's own thickness: its round ends are wider than the line.
void paint(const WrongRegion& region, double scale, cv::Mat hints) {
  const int widthPx = oddWidth(kWidthPx * scale);
  const auto [from, to] = longestStroke(region.mask, kLengthPx * scale - widthPx);
  cv::Mat stroke = cv::Mat::zeros(region.mask.size(), CV_8UC1);
  cv::line(stroke, from, to, cv::Scalar(255));
  cv::dilate(stroke, stroke, cv::getStructuringElement(cv::MORPH_ELLIPSE, {widthPx, widthPx}));
  hints(region.box)
      .setTo(cv::Scalar(static_cast<double>(hintFor(region.right))), stroke & region.mask);
}

}  // namespace

PaintedStrokes simulateStrokes(const LabelImage& found,
                               const LabelImage& truth,
                               const Mask& inside) {
  const PixelBox box = vision::boxAround(inside);
  const double scale = std::max(1.0, std::max(box.width, box.height) / kWorkingSidePx);
  PaintedStrokes painted{.hints = LabelImage(found.width(), found.height(), 0)};
  for (const WrongRegion& region : largestRegions(found, truth, inside)) {
    paint(region, scale, viewOf(painted.hints));
    ++painted.count;
  }
  return painted;
}

}  // namespace edamori::accuracy
