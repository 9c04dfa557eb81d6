// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/figures/measure.h"
#include "vision/figures/outline_part_internal.h"
#include "vision/figures/region.h"
#include "vision/load/load.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

#include <opencv2/imgproc.hpp>

namespace edamori::vision {
namespace {

// Boxes whose sides are multiples of it can be halved three times without a remainder.
constexpr int kBoxStepPx = 8;

// From a to b within 0…limit, as whole pixels.
struct Span {
  int from = 0, to = 0;  // px; `to` is not in it any more
  [[nodiscard]] int length() const { return to - from; }
};

Span clippedSpan(double from, double to, int limit) {
  const auto clip = [limit](double x) {
    return static_cast<int>(std::clamp(x, 0.0, static_cast<double>(limit)));
  };
  return {.from = clip(std::floor(from)), .to = clip(std::ceil(to))};
}

// Longer by up to seven pixels, where there is room.
Span stepped(Span span, int limit) {
  const int wanted = (span.length() + kBoxStepPx - 1) / kBoxStepPx * kBoxStepPx;
  if (wanted > limit) {
    return span;
  }
  const int from = std::min(span.from, limit - wanted);
  return {.from = from, .to = from + wanted};
}

Span widened(Span span, int margin, int limit) {
  return stepped({.from = std::max(0, span.from - margin), .to = std::min(limit, span.to + margin)},
                 limit);
}

// Empty when the outline lies outside the photo.
PixelBox boxOf(const Outline& outline, double marginShare, int width, int height) {
  const BoundsPx bounds = boundsPx(outline.polygon);
  const Span across = clippedSpan(bounds.left, bounds.right, width);
  const Span down = clippedSpan(bounds.top, bounds.bottom, height);
  if (across.length() < 1 || down.length() < 1) {
    return {};
  }
  const int margin =
      static_cast<int>(std::lround(marginShare * std::max(across.length(), down.length())));
  const Span x = widened(across, margin, width);
  const Span y = widened(down, margin, height);
  return {.left = x.from, .top = y.from, .width = x.length(), .height = y.length()};
}

// What of the polygon lies beyond the photo; the holes count as if filled.
double shareBeyond(const Outline& outline, std::int64_t insidePx, const PixelBox& box) {
  const double whole = areaPx2(outline.polygon);
  if (whole <= 0.0) {
    return 0.0;
  }
  std::int64_t within = insidePx;
  if (!outline.holes.empty()) {
    if (const auto filled = maskOf(Outline{.polygon = outline.polygon, .holes = {}}, box)) {
      within = countInside(*filled);
    }
  }
  return std::clamp(1.0 - static_cast<double>(within) / whole, 0.0, 1.0);
}

// Rounding to whole pixels alone takes as much of a small outline.
bool reachesBeyond(const Outline& outline, const RgbImage& photo) {
  const BoundsPx bounds = boundsPx(outline.polygon);
  return bounds.left < -1.0 || bounds.top < -1.0 || bounds.right > photo.width() + 1.0 ||
         bounds.bottom > photo.height() + 1.0;
}

Error liesOutside() {
  return fail(ErrorCode::NotMeasurable, "the outline lies outside the photo; draw it again");
}

// Box and mask.
Result<OutlinePart> placed(const RgbImage& photo,
                           const std::optional<Outline>& outline,
                           double marginShare) {
  OutlinePart part;
  if (!outline) {
    auto whole = maskOf(outline, photo.width(), photo.height());
    if (!whole) {
      return whole.error();
    }
    part.box = {.left = 0, .top = 0, .width = photo.width(), .height = photo.height()};
    part.inside = *std::move(whole);
    return part;
  }
  // What is no outline is refused before it is placed.
  if (const auto any = maskOf(*outline, {.left = 0, .top = 0, .width = 1, .height = 1}); !any) {
    return any.error();
  }
  part.box = boxOf(*outline, marginShare, photo.width(), photo.height());
  if (part.box == PixelBox{}) {
    return liesOutside();
  }
  auto mask = maskOf(*outline, part.box);
  if (!mask) {
    return mask.error();
  }
  part.inside = *std::move(mask);
  return part;
}

// The box at the size that the network looks at. What is small is enlarged: the network was trained
// on leaves and needles of more pixels than a small outline has.
RgbImage workImage(const RgbImage& seen, const PartSizes& sizes) {
  const int longer = std::max(seen.width(), seen.height());
  const double scale = std::min(sizes.mostEnlarged, static_cast<double>(sizes.workingSidePx) / longer);
  if (scale <= 1.0) {
    return reducedToFit(seen, sizes.workingSidePx);
  }
  RgbImage work(static_cast<int>(std::lround(seen.width() * scale)),
                static_cast<int>(std::lround(seen.height() * scale)));
  const cv::Mat from(seen.height(), seen.width(), CV_8UC3, const_cast<std::uint8_t*>(seen.data()));
  cv::Mat to(work.height(), work.width(), CV_8UC3, work.data());
  cv::resize(from, to, to.size(), 0, 0, cv::INTER_CUBIC);
  return work;
}

}  // namespace

Result<OutlinePart> partOf(const RgbImage& photo,
                           const std::optional<Outline>& outline,
                           const PartSizes& sizes) {
  auto part = placed(photo, outline, sizes.marginShare);
  if (!part) {
    return part;
  }
  part->outlinePx = countInside(part->inside);
  if (part->outlinePx == 0) {
    return liesOutside();
  }
  if (part->outlinePx < kMinOutlinePx) {
    return fail(ErrorCode::NotMeasurable,
                "the outline holds only " + std::to_string(part->outlinePx) + " pixels, and " +
                    std::to_string(kMinOutlinePx) + " are needed; draw a larger one, or come closer with the camera");
  }
  const PixelBox& box = part->box;
  if (outline && reachesBeyond(*outline, photo)) {
    part->beyondShare = shareBeyond(*outline, part->outlinePx, box);
  }
  int seenSide = std::max(box.width, box.height);
  while (seenSide >= 2 * kPartSidePx && box.width % kBoxStepPx == 0 &&
         box.height % kBoxStepPx == 0) {
    seenSide /= 2;
  }
  part->seen = reducedToFit(photo, box, seenSide);
  part->work = workImage(part->seen, sizes);
  return part;
}

Mask atSize(const Mask& mask, int width, int height) {
  if (mask.width() == width && mask.height() == height) {
    return mask;
  }
  const cv::Mat from(mask.height(), mask.width(), CV_8UC1, const_cast<std::uint8_t*>(mask.data()));
  Mask sized(width, height);
  cv::Mat to(height, width, CV_8UC1, sized.data());
  cv::resize(from, to, to.size(), 0, 0, cv::INTER_NEAREST);
  return sized;
}

}  // namespace edamori::vision
