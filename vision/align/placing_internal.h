// SPDX-License-Identifier: GPL-3.0-or-later
// Where an outline of one photo lies on another, and whether enough speaks for it.
#pragma once

#include "vision/align/compare.h"
#include "vision/align/matches_internal.h"
#include "vision/align/plane.h"
#include "vision/values/geometry.h"
#include "vision/values/result.h"

#include <cstddef>
#include <optional>
#include <string>

namespace edamori::vision {

// Two photos at working size with the details of both matched: the part of the work that all
// outlines of a photo share.
class MatchedPhotos {
 public:
  MatchedPhotos(const RgbImage& photoBefore, const RgbImage& photoAfter);
  MatchedPhotos(const MatchedPhotos&) = delete;
  MatchedPhotos& operator=(const MatchedPhotos&) = delete;

  WorkingPhoto before, after;
  Features featuresBefore, featuresAfter;
  Matching matching;
};

struct PlacingRequest {
  const MatchedPhotos& photos;
  Outline outline;         // in px of the working photo
  bool hasOutline = true;  // false: it is the frame of the photo
  // Whether anybody reads why it was refused; to tell a mirrored photo takes as long as all the rest.
  bool needsReason = true;
};

// What places the outline, in px of the working photos.
struct Placing {
  AlignmentModel model = AlignmentModel::Homography;
  Homography afterFromBefore{1, 0, 0, 0, 1, 0, 0, 0, 1};
  double residual = 0.0;
  double error = 0.0;  // what about nine of ten corners keep to
  std::size_t support = 0;
};

struct Placed {
  Result<Placing> certain;  // else why not
  std::optional<Placing>
      guess;  // when it is not certain: what has most in its favour, if anything has
};

// Errors of `certain`: NotMeasurable with the reason.
[[nodiscard]] Placed placed(const PlacingRequest& request);

// At least so much of an outline has to lie in both photos.
inline constexpr double kMinOutlineOverlap = 0.5;

// The one sentence of a pair that cannot be aligned.
[[nodiscard]] Error alignRefusal(const std::string& reason);

[[nodiscard]] inline FrameSize sizeOf(const RgbImage& photo) {
  return {.widthPx = photo.width(), .heightPx = photo.height()};
}
[[nodiscard]] inline FrameSize sizeOf(const WorkingPhoto& photo) {
  return {.widthPx = photo.grey.cols, .heightPx = photo.grey.rows};
}

}  // namespace edamori::vision
