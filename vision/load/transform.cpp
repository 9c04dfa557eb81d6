// SPDX-License-Identifier: GPL-3.0-or-later
// Turning, cutting and reducing pictures.
#include "vision/load/load.h"

#include <algorithm>
#include <cmath>
#include <cstring>

#include <opencv2/imgproc.hpp>

namespace edamori::vision {
namespace {

// Where the upright pixel (x, y) lies in the stored picture: start + x · stepX + y · stepY,
// counted in pixels.
struct Walk {
  std::ptrdiff_t start, stepX, stepY;
};

// Exif 2.32 (CIPA DC-008), tag 0x0112: which side of the stored picture is its upright top.
Walk walkOf(int orientation, std::ptrdiff_t width, std::ptrdiff_t height) {
  const std::ptrdiff_t last = width * height - 1;
  switch (orientation) {
    case 2:
      return {.start = width - 1, .stepX = -1, .stepY = width};
    case 3:
      return {.start = last, .stepX = -1, .stepY = -width};
    case 4:
      return {.start = last - (width - 1), .stepX = 1, .stepY = -width};
    case 5:
      return {.start = 0, .stepX = width, .stepY = 1};
    case 6:
      return {.start = last - (width - 1), .stepX = -width, .stepY = 1};
    case 7:
      return {.start = last, .stepX = -width, .stepY = -1};
    case 8:
      return {.start = width - 1, .stepX = width, .stepY = -1};
    default:
      return {.start = 0, .stepX = 1, .stepY = width};
  }
}

void copyTile(const RgbImage& from, const Walk& walk, int left, int top, int side, RgbImage& to) {
  const int right = std::min(left + side, to.width());
  const int bottom = std::min(top + side, to.height());
  for (int y = top; y < bottom; ++y) {
    std::uint8_t* target = to.row(y) + std::ptrdiff_t{left} * 3;
    const std::uint8_t* source =
        from.data() + (walk.start + left * walk.stepX + y * walk.stepY) * 3;
    for (int x = left; x < right; ++x, target += 3) {
      std::memcpy(target, source, 3);
      source += walk.stepX * 3;
    }
  }
}

}  // namespace

RgbImage uprighted(const RgbImage& image, int exifOrientation) {
  if (exifOrientation < 2 || exifOrientation > 8 || image.isEmpty()) {
    return image;
  }
  const bool isTurned = exifOrientation >= 5;
  RgbImage upright(isTurned ? image.height() : image.width(),
                   isTurned ? image.width() : image.height());
  const Walk walk = walkOf(exifOrientation, image.width(), image.height());
  // Tiles keep both pictures in the cache when rows become columns.
  constexpr int kTileSide = 64;
  for (int top = 0; top < upright.height(); top += kTileSide) {
    for (int left = 0; left < upright.width(); left += kTileSide) {
      copyTile(image, walk, left, top, kTileSide, upright);
    }
  }
  return upright;
}

RgbImage cropped(const RgbImage& image, int left, int top, int width, int height) {
  const auto clip = [](std::int64_t value, int limit) {
    return static_cast<int>(std::clamp<std::int64_t>(value, 0, limit));
  };
  const int x0 = clip(left, image.width());
  const int y0 = clip(top, image.height());
  const int x1 = clip(std::int64_t{left} + width, image.width());
  const int y1 = clip(std::int64_t{top} + height, image.height());
  if (x1 <= x0 || y1 <= y0) {
    return {};
  }
  RgbImage part(x1 - x0, y1 - y0);
  for (int y = y0; y < y1; ++y) {
    std::memcpy(part.row(y - y0), image.row(y) + std::ptrdiff_t{x0} * 3, part.bytesPerRow());
  }
  return part;
}

RgbImage reducedToFit(const RgbImage& image, int longSidePx) {
  return std::max(image.width(), image.height()) <= std::max(longSidePx, 1)
             ? image
             : reducedToFit(image, {.left = 0, .top = 0, .width = image.width(), .height = image.height()},
                            longSidePx);
}

RgbImage reducedToFit(const RgbImage& image, const PixelBox& part, int longSidePx) {
  const int longSide = std::max(part.width, part.height);
  const int target = std::max(longSidePx, 1);
  if (longSide <= target) {
    return cropped(image, part.left, part.top, part.width, part.height);
  }
  // OpenCV wants a writable pointer for a header; INTER_AREA only reads the source.
  const cv::Mat whole(image.height(), image.width(), CV_8UC3, const_cast<std::uint8_t*>(image.data()));
  cv::Mat from = whole(cv::Rect(part.left, part.top, part.width, part.height));
  while (std::max(from.cols, from.rows) >= 2 * target && from.cols % 2 == 0 && from.rows % 2 == 0) {
    cv::Mat half;
    cv::resize(from, half, cv::Size(from.cols / 2, from.rows / 2), 0, 0, cv::INTER_AREA);
    from = half;
  }
  const double scale = static_cast<double>(target) / longSide;
  const auto scaled = [scale](int side) {
    return std::max(1, static_cast<int>(std::lround(side * scale)));
  };
  RgbImage reduced(scaled(part.width), scaled(part.height));
  cv::Mat to(reduced.height(), reduced.width(), CV_8UC3, reduced.data());
  cv::resize(from, to, to.size(), 0, 0, cv::INTER_AREA);
  return reduced;
}

}  // namespace edamori::vision
