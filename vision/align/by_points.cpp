// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/by_points.h"
#include "vision/align/align_internal.h"
#include "vision/align/plane.h"

#include <algorithm>
#include <cmath>
#include <string>

#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>

namespace edamori::vision {

namespace {

// What a careful click at the scale of the screen is good to; assumed, no source.
constexpr double kClickShare = 0.002;     // of the longer side, standard deviation of a coordinate
constexpr double kNineOfTen = 2.146;      // √(−2 ln 0.1): radius that holds 90 % of a round Gaussian
constexpr double kLeastApartShare = 0.02;  // of the longer side
constexpr double kLeastBulge = 0.1;  // height over longest side of the flattest triangle of four

bool isFlat(PointPx a, PointPx b, PointPx c) {
  const double area2 = std::abs((b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x));
  const double longest = std::max({apart(a, b), apart(b, c), apart(c, a)});
  return area2 < kLeastBulge * longest * longest;
}

Result<void> checkPoints(const std::vector<PointPx>& points, const FrameSize& frame, const std::string& which) {
  const int longSidePx = frame.longSidePx();
  for (std::size_t i = 0; i < points.size(); ++i) {
    const PointPx& p = points[i];
    if (!(p.x >= 0.0 && p.y >= 0.0 && p.x <= frame.widthPx && p.y <= frame.heightPx)) {
      return fail(ErrorCode::InvalidArgument, "a place lies beyond the " + which + " photo, which is " +
                                                  std::to_string(frame.widthPx) + " × " +
                                                  std::to_string(frame.heightPx) + " px; give one within it");
    }
    for (std::size_t j = i + 1; j < points.size(); ++j) {
      if (!(apart(points[i], points[j]) >= kLeastApartShare * longSidePx)) {
        return fail(ErrorCode::InvalidArgument,
                    "two points on the " + which + " photo lie too close together; "
                    "choose details far apart");
      }
      for (std::size_t k = j + 1; points.size() == 4 && k < 4; ++k) {
        if (isFlat(points[i], points[j], points[k])) {
          return fail(ErrorCode::InvalidArgument,
                      "three of the four points on the " + which + " photo lie in one line; "
                      "move one aside or take it away");
        }
      }
    }
  }
  return {};
}

Homography homographyThrough(const std::vector<PointPx>& from, const std::vector<PointPx>& to) {
  std::vector<cv::Point2f> p, q;
  for (std::size_t i = 0; i < 4; ++i) {
    p.emplace_back(static_cast<float>(from[i].x), static_cast<float>(from[i].y));
    q.emplace_back(static_cast<float>(to[i].x), static_cast<float>(to[i].y));
  }
  const cv::Mat h = cv::getPerspectiveTransform(p, q);
  Homography result{};
  std::copy_n(h.ptr<double>(), 9, result.begin());
  return result;
}

double medianOf(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  const std::size_t n = values.size();
  return 0.5 * (values[(n - 1) / 2] + values[n / 2]);
}

// A click's error grows with the distance from the middle of the points.
double clickErrorPx(const std::vector<PointPx>& from, const Outline& outline, int longSidePx) {
  const double n = static_cast<double>(from.size());
  PointPx middle;
  for (const PointPx& p : from) {
    middle.x += p.x / n;
    middle.y += p.y / n;
  }
  double squares = 0.0;
  for (const PointPx& p : from) {
    squares += std::pow(apart(p, middle), 2);
  }
  double farthest = 0.0;
  for (const PointPx& p : outline.polygon) {
    farthest = std::max(farthest, apart(p, middle));
  }
  return kNineOfTen * kClickShare * longSidePx * std::sqrt(1.0 / n + farthest * farthest / squares);
}

}  // namespace

Homography similarityThrough(const std::vector<PointPx>& from, const std::vector<PointPx>& to) {
  // In complex numbers: q = s p + t.
  const double n = static_cast<double>(from.size());
  PointPx a, b;
  for (std::size_t i = 0; i < from.size(); ++i) {
    a.x += from[i].x / n;
    a.y += from[i].y / n;
    b.x += to[i].x / n;
    b.y += to[i].y / n;
  }
  double real = 0.0, imaginary = 0.0, squares = 0.0;
  for (std::size_t i = 0; i < from.size(); ++i) {
    const double px = from[i].x - a.x, py = from[i].y - a.y;
    const double qx = to[i].x - b.x, qy = to[i].y - b.y;
    real += px * qx + py * qy;
    imaginary += px * qy - py * qx;
    squares += px * px + py * py;
  }
  const double c = real / squares;
  const double s = imaginary / squares;
  return {c, -s, b.x - c * a.x + s * a.y, s, c, b.y - s * a.x - c * a.y, 0, 0, 1};
}

Result<Alignment> alignByPoints(const RgbImage& before,
                                const RgbImage& after,
                                const std::vector<PointPairPx>& pairs,
                                const std::optional<Outline>& outlineBefore) {
  if (pairs.size() < kMinPointPairs || pairs.size() > kMaxPointPairs) {
    return fail(ErrorCode::InvalidArgument, "give 2 to 4 places that are the same on both photos");
  }
  const FrameSize sizeBefore{.widthPx = before.width(), .heightPx = before.height()};
  const FrameSize sizeAfter{.widthPx = after.width(), .heightPx = after.height()};
  std::vector<PointPx> from, to;
  for (const PointPairPx& pair : pairs) {
    from.push_back(pair.before);
    to.push_back(pair.after);
  }
  EDAMORI_RETURN_IF_ERROR(checkPoints(from, sizeBefore, "before"));
  EDAMORI_RETURN_IF_ERROR(checkPoints(to, sizeAfter, "after"));
  Alignment alignment;
  const bool isHomography = pairs.size() == 4;
  alignment.model = isHomography ? AlignmentModel::Homography : AlignmentModel::Similarity;
  alignment.afterFromBefore = isHomography ? homographyThrough(from, to) : similarityThrough(from, to);
  std::vector<double> residuals;
  for (std::size_t i = 0; i < from.size(); ++i) {
    residuals.push_back(apart(mapped(alignment.afterFromBefore, from[i]), to[i]));
  }
  alignment.residualPx = medianOf(residuals);
  const Outline outline = outlineBefore ? *outlineBefore : frameOutline(sizeBefore);
  const double scale = stretchAt(alignment.afterFromBefore, centroidPx(outline.polygon)).scale;
  alignment.errorPx = std::max(clickErrorPx(from, outline, sizeBefore.longSidePx()) * scale,
                               alignment.residualPx);
  alignment.supportingMatches = static_cast<int>(pairs.size());
  return checkedAlignment(alignment, before, after, outlineBefore);
}

}  // namespace edamori::vision
