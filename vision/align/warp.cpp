// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/compare.h"
#include "vision/align/plane.h"

#include <algorithm>
#include <cstdint>

#include <opencv2/imgproc.hpp>

namespace edamori::vision {

namespace {

constexpr std::uint8_t kOutside = 128;

// OpenCV counts from the centre of the first pixel, our coordinates from its corner.
cv::Matx33d fromPixelCentres(const Homography& h) {
  const Homography centred =
      composed({1, 0, -0.5, 0, 1, -0.5, 0, 0, 1}, composed(h, {1, 0, 0.5, 0, 1, 0.5, 0, 0, 1}));
  return cv::Matx33d(centred.data());
}

}  // namespace

RgbImage warpedOntoBefore(const RgbImage& after,
                          const Homography& afterFromBefore,
                          int widthPx,
                          int heightPx) {
  RgbImage result(std::max(widthPx, 0), std::max(heightPx, 0), kOutside);
  if (result.isEmpty() || after.isEmpty()) {
    return result;
  }
  // NOLINTNEXTLINE(cppcoreguidelines-pro-type-const-cast): read only.
  const cv::Mat full(
      after.height(), after.width(), CV_8UC3, const_cast<std::uint8_t*>(after.data()));
  cv::Mat source = full;
  Homography sourceFromBefore = afterFromBefore;
  // A much finer after photo is reduced first, or sampling it would skip pixels.
  const LocalStretch centre = stretchAt(afterFromBefore, {.x = widthPx / 2.0, .y = heightPx / 2.0});
  if (centre.scale >= 1.5 && centre.scale < 1e3) {
    cv::resize(full, source, cv::Size(), 1.0 / centre.scale, 1.0 / centre.scale, cv::INTER_AREA);
    sourceFromBefore = composed({static_cast<double>(source.cols) / full.cols,
                                 0,
                                 0,
                                 0,
                                 static_cast<double>(source.rows) / full.rows,
                                 0,
                                 0,
                                 0,
                                 1},
                                afterFromBefore);
  }
  cv::Mat target(heightPx, widthPx, CV_8UC3, result.data());
  cv::warpPerspective(source,
                      target,
                      fromPixelCentres(sourceFromBefore),
                      target.size(),
                      cv::INTER_LINEAR | cv::WARP_INVERSE_MAP,
                      cv::BORDER_CONSTANT,
                      cv::Scalar::all(kOutside));
  return result;
}

}  // namespace edamori::vision
