// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/align_internal.h"
#include "vision/align/compare.h"
#include "vision/align/placing_internal.h"
#include "vision/align/plane.h"

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include <opencv2/core.hpp>

namespace edamori::vision {

namespace {

// Without an outline the whole frame counts, of which a closer after photo shows a part.
constexpr double kMinFrameOverlap = 0.3;
constexpr int kMinSidePx = 64;

Homography workingFromFull(const WorkingPhoto& photo) {
  return {1.0 / photo.pxPerWorkingX, 0, 0, 0, 1.0 / photo.pxPerWorkingY, 0, 0, 0, 1};
}
Homography fullFromWorking(const WorkingPhoto& photo) {
  return {photo.pxPerWorkingX, 0, 0, 0, photo.pxPerWorkingY, 0, 0, 0, 1};
}

Alignment atFullSize(const Placing& placing, const MatchedPhotos& photos) {
  const double perWorking = photos.after.pxPerWorkingX;
  return {.model = placing.model,
          .afterFromBefore =
              composed(fullFromWorking(photos.after),
                       composed(placing.afterFromBefore, workingFromFull(photos.before))),
          .residualPx = placing.residual * perWorking,
          .errorPx = placing.error * perWorking,
          .overlap = 0.0,
          .supportingMatches = static_cast<int>(placing.support)};
}

Result<void> checkInput(const RgbImage& before,
                        const RgbImage& after,
                        const std::optional<Outline>& outline) {
  if (std::min({before.width(), before.height(), after.width(), after.height()}) < kMinSidePx) {
    return alignRefusal("a side of one photo is shorter than " + std::to_string(kMinSidePx) +
                        " pixels");
  }
  if (outline &&
      (outline->polygon.size() < 3 || areaPx2(clippedToFrame(*outline, sizeOf(before))) <= 0.0)) {
    return fail(ErrorCode::NotMeasurable, "the outline lies outside the earlier photo; draw it again");
  }
  return {};
}

// A branch on two matched photos, at full size.
struct AlignedPair {
  Result<Alignment> certain;       // else why not
  std::optional<Alignment> guess;  // where it most likely lies, when that is not certain
};

enum class Reason { Needed, NotNeeded };

AlignedPair alignedPair(const MatchedPhotos& photos,
                        const RgbImage& before,
                        const RgbImage& after,
                        const std::optional<Outline>& outlineBefore,
                        Reason reason) {
  const Outline outline =
      outlineBefore ? clippedToFrame(*outlineBefore, sizeOf(before)) : frameOutline(sizeOf(before));
  Placed found = placed({.photos = photos,
                         .outline = mapped(workingFromFull(photos.before), outline),
                         .hasOutline = outlineBefore.has_value(),
                         .needsReason = reason == Reason::Needed});
  const auto checked = [&](const Placing& placing) {
    return checkedAlignment(atFullSize(placing, photos), before, after, outlineBefore);
  };
  AlignedPair pair{.certain = std::move(found.certain).and_then(checked), .guess = {}};
  if (found.guess) {
    if (const auto guess = checked(*found.guess)) {
      pair.guess = *guess;
    }
  }
  return pair;
}

std::optional<CarriedOutline> carriedOutline(const AlignedPair& pair, const Outline& outline) {
  if (!pair.certain && !pair.guess) {
    return std::nullopt;
  }
  const Alignment& alignment = pair.certain ? *pair.certain : *pair.guess;
  return CarriedOutline{.shape = mapped(alignment.afterFromBefore, outline),
                        .errorPx = alignment.errorPx,
                        .isCertain = pair.certain.has_value()};
}

Error stepFailed(const cv::Exception& exception) {
  return alignRefusal("an image library step failed (" + exception.err + ")");
}

}  // namespace

Result<Alignment> checkedAlignment(Alignment alignment,
                                   const RgbImage& before,
                                   const RgbImage& after,
                                   const std::optional<Outline>& outlineBefore) {
  const Outline outline =
      outlineBefore ? clippedToFrame(*outlineBefore, sizeOf(before)) : frameOutline(sizeOf(before));
  if (const auto reason =
          implausibility(alignment.afterFromBefore, outline, sizeOf(before), sizeOf(after))) {
    return alignRefusal(*reason);
  }
  alignment.overlap = overlapShare(outline, sizeOf(before), sizeOf(after), alignment.afterFromBefore);
  if (alignment.overlap < (outlineBefore ? kMinOutlineOverlap : kMinFrameOverlap)) {
    return alignRefusal("most of the branch lies outside the after photo");
  }
  return alignment;
}

std::string toText(AlignmentModel model) {
  return model == AlignmentModel::Similarity ? "similarity" : "homography";
}

Result<Alignment> align(const RgbImage& before,
                        const RgbImage& after,
                        const std::optional<Outline>& outline) {
  EDAMORI_RETURN_IF_ERROR(checkInput(before, after, outline));
  try {
    return alignedPair(MatchedPhotos(before, after), before, after, outline, Reason::Needed)
        .certain;
  } catch (const cv::Exception& exception) {
    return stepFailed(exception);
  }
}

Result<std::vector<std::optional<CarriedOutline>>> carriedOutlines(
    const RgbImage& before, const RgbImage& after, const std::vector<Outline>& outlines) {
  EDAMORI_RETURN_IF_ERROR(checkInput(before, after, std::nullopt));
  std::vector<std::optional<CarriedOutline>> carried;
  try {
    const MatchedPhotos photos(before, after);
    for (const Outline& outline : outlines) {
      carried.push_back(
          checkInput(before, after, outline)
              ? carriedOutline(alignedPair(photos, before, after, outline, Reason::NotNeeded),
                               outline)
              : std::nullopt);
    }
  } catch (const cv::Exception& exception) {
    return stepFailed(exception);
  }
  return carried;
}

}  // namespace edamori::vision
