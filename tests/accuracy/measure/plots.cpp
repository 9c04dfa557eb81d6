// SPDX-License-Identifier: GPL-3.0-or-later
#include "plots.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "statistics.h"
#include <opencv2/imgproc.hpp>

namespace edamori::accuracy {
namespace {

constexpr int kSidePx = 760;
constexpr int kLeftPx = 90, kTopPx = 50, kRightPx = 30, kBottomPx = 70;
constexpr double kTextScale = 0.5;

// Okabe and Ito's colours, R, G, B.
const cv::Scalar kInk(40, 40, 40), kFaint(225, 225, 225), kInterval(150, 190, 220);
const cv::Scalar kBlue(0, 114, 178), kVermilion(213, 94, 0);

// Values of the axes' ends.
struct Axes {
  Limits x, y;
};

cv::Point placeOf(const Axes& axes, double x, double y) {
  const double width = kSidePx - kLeftPx - kRightPx;
  const double height = kSidePx - kTopPx - kBottomPx;
  const double right = (x - axes.x.low) / (axes.x.high - axes.x.low) * width;
  const double up = (y - axes.y.low) / (axes.y.high - axes.y.low) * height;
  return {kLeftPx + static_cast<int>(std::lround(right)),
          kTopPx + static_cast<int>(std::lround(height - up))};
}

// 1, 2 or 5 times a power of ten, so that about `count` steps fill the length.
double stepFor(double length, int count) {
  const double raw = length / count;
  const double power = std::pow(10.0, std::floor(std::log10(raw)));
  for (const double factor : {1.0, 2.0, 5.0}) {
    if (factor * power >= raw) {
      return factor * power;
    }
  }
  return 10.0 * power;
}

std::string shortNumber(double value) {
  char text[32];
  // Rounding may leave −0.
  std::snprintf(text, sizeof text, "%.4g", std::abs(value) < 1e-9 ? 0.0 : value);
  return text;
}

void write(cv::Mat& canvas, const std::string& text, cv::Point place, const cv::Scalar& colour) {
  cv::putText(canvas, text, place, cv::FONT_HERSHEY_SIMPLEX, kTextScale, colour, 1, cv::LINE_AA);
}

void drawGrid(cv::Mat& canvas, const Axes& axes) {
  constexpr int kSteps = 8;
  const double stepX = stepFor(axes.x.high - axes.x.low, kSteps);
  for (double x = std::ceil(axes.x.low / stepX) * stepX; x <= axes.x.high + 1e-9; x += stepX) {
    const cv::Point foot = placeOf(axes, x, axes.y.low);
    cv::line(canvas, foot, placeOf(axes, x, axes.y.high), kFaint);
    write(canvas, shortNumber(x), foot + cv::Point(-12, 20), kInk);
  }
  const double stepY = stepFor(axes.y.high - axes.y.low, kSteps);
  for (double y = std::ceil(axes.y.low / stepY) * stepY; y <= axes.y.high + 1e-9; y += stepY) {
    const cv::Point foot = placeOf(axes, axes.x.low, y);
    cv::line(canvas, foot, placeOf(axes, axes.x.high, y), kFaint);
    write(canvas, shortNumber(y), foot + cv::Point(-48, 5), kInk);
  }
  cv::rectangle(
      canvas, placeOf(axes, axes.x.low, axes.y.low), placeOf(axes, axes.x.high, axes.y.high), kInk);
}

// The canvas lies on the picture's bytes.
cv::Mat canvasOn(RgbImage& picture) {
  return {picture.height(), picture.width(), CV_8UC3, picture.data()};
}

void writeTitles(cv::Mat& canvas,
                 const std::string& title,
                 const std::string& x,
                 const std::string& y) {
  write(canvas, title, {kLeftPx, 22}, kInk);
  write(canvas, y, {kLeftPx, 42}, kInk);
  write(canvas, x, {kLeftPx, kSidePx - 18}, kInk);
}

double largestOf(std::span<const Pair> pairs) {
  double largest = 1.0;
  for (const Pair& pair : pairs) {
    largest = std::max({largest, pair.truth, pair.measured.high});
  }
  return std::min(100.0, 1.05 * largest);
}

void drawLevel(cv::Mat& canvas, const Axes& axes, double y, const std::string& name) {
  cv::line(canvas,
           placeOf(axes, axes.x.low, y),
           placeOf(axes, axes.x.high, y),
           kVermilion,
           1,
           cv::LINE_AA);
  write(canvas,
        name + " " + shortNumber(std::round(100 * y) / 100),
        placeOf(axes, axes.x.high, y) + cv::Point(-150, -5),
        kVermilion);
}

Axes axesOfDifferences(std::span<const Pair> pairs, const Differences& differences) {
  double reach = std::max(std::abs(differences.limits95.low), std::abs(differences.limits95.high));
  double largest = 1.0;
  for (const Pair& pair : pairs) {
    reach = std::max(reach, std::abs(pair.measured.value - pair.truth));
    largest = std::max(largest, (pair.measured.value + pair.truth) / 2);
  }
  reach = std::max(1.0, 1.1 * reach);
  return {.x = {.low = 0.0, .high = 1.05 * largest}, .y = {.low = -reach, .high = reach}};
}

}  // namespace

RgbImage drawScatter(std::span<const Pair> pairs, const std::string& title) {
  RgbImage picture(kSidePx, kSidePx, 255);
  cv::Mat canvas = canvasOn(picture);
  const Limits ends{.low = 0.0, .high = largestOf(pairs)};
  const Axes axes{.x = ends, .y = ends};
  drawGrid(canvas, axes);
  writeTitles(canvas, title, "true, %", "measured, %, with 95 % interval");
  for (const Pair& pair : pairs) {
    cv::line(canvas,
             placeOf(axes, pair.truth, pair.measured.low),
             placeOf(axes, pair.truth, pair.measured.high),
             kInterval,
             1,
             cv::LINE_AA);
  }
  cv::line(
      canvas, placeOf(axes, 0, 0), placeOf(axes, ends.high, ends.high), kVermilion, 1, cv::LINE_AA);
  for (const Pair& pair : pairs) {
    cv::circle(
        canvas, placeOf(axes, pair.truth, pair.measured.value), 4, kBlue, cv::FILLED, cv::LINE_AA);
  }
  return picture;
}

RgbImage drawDifferences(std::span<const Pair> pairs, const std::string& title) {
  RgbImage picture(kSidePx, kSidePx, 255);
  cv::Mat canvas = canvasOn(picture);
  const Differences differences = limitsOfAgreement(errorsOf(pairs)).value_or(Differences{});
  const Axes axes = axesOfDifferences(pairs, differences);
  drawGrid(canvas, axes);
  writeTitles(
      canvas, title, "mean of measured and true, %", "measured less true, percentage points");
  cv::line(canvas, placeOf(axes, axes.x.low, 0), placeOf(axes, axes.x.high, 0), kInk);
  for (const Pair& pair : pairs) {
    const double error = pair.measured.value - pair.truth;
    cv::circle(
        canvas, placeOf(axes, pair.truth + error / 2, error), 4, kBlue, cv::FILLED, cv::LINE_AA);
  }
  drawLevel(canvas, axes, differences.limits95.high, "+1.96 sd");
  drawLevel(canvas, axes, differences.mean, "bias");
  drawLevel(canvas, axes, differences.limits95.low, "-1.96 sd");
  return picture;
}

}  // namespace edamori::accuracy
