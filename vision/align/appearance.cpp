// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/appearance_internal.h"
#include "vision/align/plane.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include <opencv2/imgproc.hpp>

namespace edamori::vision {

namespace {

// Coarse enough that needles blur into the pads they form, which keep their place
// when single needles fall.
constexpr double kCoarseLongSidePx = 480.0;
constexpr double kBlurPx = 1.5;

struct Coarse {
  cv::Mat grey;  // float
  Homography fromWorking;
};

Coarse coarseOf(const WorkingPhoto& photo) {
  const double factor =
      std::min(1.0, kCoarseLongSidePx / std::max(photo.grey.cols, photo.grey.rows));
  Coarse coarse;
  cv::Mat reduced;
  cv::resize(photo.grey, reduced, cv::Size(), factor, factor, cv::INTER_AREA);
  coarse.fromWorking = {static_cast<double>(reduced.cols) / photo.grey.cols,
                        0,
                        0,
                        0,
                        static_cast<double>(reduced.rows) / photo.grey.rows,
                        0,
                        0,
                        0,
                        1};
  reduced.convertTo(coarse.grey, CV_32F);
  cv::GaussianBlur(coarse.grey, coarse.grey, cv::Size(), kBlurPx);
  return coarse;
}

cv::Mat maskOf(const Outline& outline, const cv::Rect& bounds) {
  std::vector<cv::Point> ring;
  for (const PointPx& p : outline.polygon) {
    ring.emplace_back(cvRound(p.x - 0.5) - bounds.x, cvRound(p.y - 0.5) - bounds.y);
  }
  cv::Mat mask = cv::Mat::zeros(bounds.size(), CV_32F);
  cv::fillPoly(mask, std::vector<std::vector<cv::Point>>{ring}, cv::Scalar(1.0));
  return mask;
}

cv::Rect boundsOf(const Outline& outline, cv::Size frame) {
  const BoundsPx b = boundsPx(outline.polygon);
  const cv::Point from(static_cast<int>(std::floor(b.left)), static_cast<int>(std::floor(b.top)));
  const cv::Point to(static_cast<int>(std::ceil(b.right)), static_cast<int>(std::ceil(b.bottom)));
  return cv::Rect(from, to) & cv::Rect({0, 0}, frame);
}

}  // namespace

Appearance appearanceOf(const WorkingPhoto& before,
                        const WorkingPhoto& after,
                        const Homography& afterFromBefore,
                        const Outline& outline) {
  const Coarse from = coarseOf(before);
  const Coarse to = coarseOf(after);
  const auto workingFromCoarse = inverted(from.fromWorking);
  const Outline coarseOutline = mapped(from.fromWorking, outline);
  const cv::Rect bounds = boundsOf(coarseOutline, from.grey.size());
  if (!workingFromCoarse || bounds.width < 8 || bounds.height < 8) {
    return {};
  }
  const int reach = cvRound(kSearchShare * std::max(from.grey.cols, from.grey.rows));
  // Window of the before frame, grown by the reach; pixel centres at whole numbers for OpenCV.
  const Homography windowCentres{
      1, 0, bounds.x - reach + 0.5, 0, 1, bounds.y - reach + 0.5, 0, 0, 1};
  const Homography toWindow =
      composed({1, 0, -0.5, 0, 1, -0.5, 0, 0, 1},
               composed(to.fromWorking,
                        composed(afterFromBefore, composed(*workingFromCoarse, windowCentres))));
  cv::Mat moved;
  cv::warpPerspective(to.grey,
                      moved,
                      cv::Matx33d(toWindow.data()),
                      {bounds.width + 2 * reach, bounds.height + 2 * reach},
                      cv::INTER_LINEAR | cv::WARP_INVERSE_MAP,
                      cv::BORDER_REPLICATE);
  cv::Mat correlation;
  cv::matchTemplate(
      moved, from.grey(bounds), correlation, cv::TM_CCOEFF_NORMED, maskOf(coarseOutline, bounds));
  cv::patchNaNs(correlation, -1.0);
  double best = 0.0;
  cv::Point at;
  cv::minMaxLoc(correlation, nullptr, &best, nullptr, &at);
  const double unit = workingFromCoarse->at(0);
  Appearance appearance{.here = static_cast<double>(correlation.at<float>(reach, reach)),
                        .best = best,
                        .bestShift = {.x = (at.x - reach) * unit, .y = (at.y - reach) * unit}};
  appearance.offset = std::hypot(appearance.bestShift.x, appearance.bestShift.y);
  return appearance;
}

}  // namespace edamori::vision
