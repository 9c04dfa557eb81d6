// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/compare.h"

#include "vision/align/align_internal.h"
#include "vision/align/by_outlines.h"
#include "vision/align/by_points.h"
#include "vision/align/change.h"
#include "vision/align/cover_shift.h"
#include "vision/align/plane.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace edamori::vision {

namespace {

// Changes of viewpoint that alter how much foliage covers what behind it.
constexpr double kEasyScale = 1.4;
constexpr double kEasyElongation = 1.25;

// An alignment states what nine of ten corners keep to, and half of them keep to this share of it
// (tuning set of tests/accuracy/align).
constexpr double kTypicalOfStated = 0.2;

// How much of a photo's own interval is left in a change, and what other light and another stand add
// to it, half-widths in cover and in spot fraction: 95 % of the changes of the calibration pairs
// (tests/accuracy/change) lie within.
struct PairNoise {
  double coverShare, repeatCover;
  double spotShare, repeatSpot;
};
constexpr PairNoise kLeafNoise{.coverShare = 0.65, .repeatCover = 0.05, .spotShare = 0.9, .repeatSpot = 0.05};
constexpr PairNoise kNeedleNoise{.coverShare = 0.65, .repeatCover = 0.05, .spotShare = 0.5, .repeatSpot = 0.02};

FrameSize sizeOf(const RgbImage& photo) {
  return {.widthPx = photo.width(), .heightPx = photo.height()};
}

std::string percent(double share) { return std::to_string(std::lround(share * 100.0)) + " %"; }

// Cautions by which measuring says that its figure is no figure.
bool isUnusable(const Caution& caution) {
  constexpr std::array<std::string_view, 2> kCodes{"inseparable", "unusable"};
  return std::find(kCodes.begin(), kCodes.end(), caution.code) != kCodes.end();
}

// What of the branch both photos show, on each of them.
struct SharedOutlines {
  Outline before, after;
};

SharedOutlines sharedOutlines(const RgbImage& before,
                              const RgbImage& after,
                              const CompareRequest& request,
                              const Alignment& alignment) {
  const Outline wanted = request.outlineBefore.value_or(frameOutline(sizeOf(before)));
  SharedOutlines shared;
  shared.before = visibleInBoth(wanted, sizeOf(before), sizeOf(after), alignment.afterFromBefore);
  shared.after =
      request.outlineAfter
          ? *request.outlineAfter
          : clippedToFrame(mapped(alignment.afterFromBefore, shared.before), sizeOf(after));
  return shared;
}

void addViewCautions(Comparison& comparison, const SharedOutlines& shared, double frameScale) {
  if (comparison.alignment.overlap < 0.995) {
    comparison.cautions.push_back(
        {.code = "outline-clipped",
         .text = "Only " + percent(comparison.alignment.overlap) +
                 " of the branch lies within the after photo; both photos were measured there."});
  }
  const LocalStretch stretch =
      stretchAt(comparison.alignment.afterFromBefore, centroidPx(shared.before.polygon));
  const double scale = stretch.scale * frameScale;
  if (scale > kEasyScale || scale < 1.0 / kEasyScale || stretch.elongation > kEasyElongation) {
    comparison.cautions.push_back(
        {.code = "viewpoint",
         .text = "The photos were taken from rather different places, which alone can change how "
                 "dense the branch looks."});
  }
}

void addMeasureCautions(Comparison& comparison) {
  const auto& change = comparison.spotChange;
  const bool isChangeOfSpotsTold = change && (change->low > 0.0 || change->high < 0.0);
  const auto add = [&](const MeasureResult& measured, const std::string& which) {
    for (const Caution& caution : measured.cautions) {
      if (isChangeOfSpotsTold && isOfSpotsAlone(caution)) {
        continue;  // what errs alike on both photos cancels in the change
      }
      comparison.cautions.push_back(
          {.code = caution.code, .text = which + " photo: " + caution.text});
    }
  };
  add(*comparison.before, "Before");
  add(*comparison.after, "After");
}

// An interval that does not even tell whether all is gone is no figure.
std::optional<Estimate> ifItTells(const std::optional<Estimate>& loss) {
  return loss && loss->high - loss->low <= kWidestUsefulInterval ? loss : std::nullopt;
}

void stateChange(Comparison& comparison, Subject subject) {
  const MeasureResult& before = *comparison.before;
  const MeasureResult& after = *comparison.after;
  const PairNoise& noise = subject == Subject::Leaf ? kLeafNoise : kNeedleNoise;
  // The outline may sit off a little; what that does to the figures counts as noise of
  // the after photo.
  const CoverShift shift = coverShift(
      after.labels, comparison.outlineAfter, kTypicalOfStated * comparison.alignment.errorPx);
  const Estimate coverBefore = narrowed(before.foliage, noise.coverShare);
  const Estimate coverAfter =
      widened(narrowed(after.foliage, noise.coverShare), std::hypot(shift.foliage, noise.repeatCover));
  comparison.lossByCover = lossByCover(coverBefore, coverAfter);
  comparison.lossByLight = ifItTells(lossByLight(coverBefore, coverAfter));
  if (before.spot && after.spot) {
    comparison.spotChange = differenceOf(
        widened(narrowed(*after.spot, noise.spotShare), std::hypot(shift.spot, noise.repeatSpot)),
        narrowed(*before.spot, noise.spotShare));
  }
  const bool isUsable = std::none_of(before.cautions.begin(), before.cautions.end(), isUnusable) &&
                        std::none_of(after.cautions.begin(), after.cautions.end(), isUnusable);
  if (!comparison.lossByCover) {
    comparison.cautions.push_back(
        {.code = "no-foliage-before",
         .text = "The foliage cover before may be less than " + percent(kLeastCoverBefore) +
                 ", so that no loss can be stated; draw the outline close around the branch."});
    return;
  }
  comparison.verdict = isUsable ? verdictFor(*comparison.lossByCover) : Verdict::CannotTell;
  if (isUsable && comparison.verdict == Verdict::CannotTell) {
    comparison.cautions.push_back(
        {.code = "wide-interval",
         .text = "The interval of the loss is so wide that it tells nothing; draw the outline close "
                 "around the branch, or take both photos again in even light."});
  }
}

Result<MeasureResult> measured(const RgbImage& photo,
                               const Outline& outline,
                               const CompareRequest& request,
                               const std::string& which) {
  auto result = measure(photo, MeasureRequest{.outline = outline,
                                              .subject = request.subject,
                                              .hints = std::nullopt,
                                              .learned = request.learned});
  if (!result) {
    return result.error().withContext(which + " photo");
  }
  return result;
}

// How far apart two ways of laying the after photo put the outline's corners: the median, px of after.
double apartOnOutline(const Outline& outline, const Homography& one, const Homography& other) {
  std::vector<double> distances;
  for (const PointPx& corner : outline.polygon) {
    distances.push_back(apart(mapped(one, corner), mapped(other, corner)));
  }
  const auto middle = distances.begin() + static_cast<std::ptrdiff_t>(distances.size() / 2);
  std::ranges::nth_element(distances, middle);
  return *middle;
}

// A person's places stand above what the program finds; but where it is sure of another place, one
// of the two is wrong, and no change is told.
void addPointCautions(const RgbImage& before, const RgbImage& after, const CompareRequest& request,
                      Comparison& comparison) {
  if (request.points.empty()) {
    return;
  }
  comparison.cautions.push_back(
      {.code = "points-by-hand",
       .text = "A person laid one photo on the other by " + std::to_string(request.points.size()) +
               " places that are the same on both."});
  const auto own = align(before, after, request.outlineBefore);
  if (!own) {
    return;
  }
  const Outline outline = request.outlineBefore.value_or(frameOutline(sizeOf(before)));
  const double far = apartOnOutline(outline, comparison.alignment.afterFromBefore, own->afterFromBefore);
  // Nine of ten corners keep to what each states; both cannot.
  if (far > comparison.alignment.errorPx + own->errorPx) {
    comparison.verdict = Verdict::CannotTell;
    comparison.lossByCover.reset();
    comparison.lossByLight.reset();
    comparison.spotChange.reset();
    comparison.cautions.push_back(
        {.code = "points-disagree",
         .text = "By itself the program lays the branch " + std::to_string(std::lround(far)) +
                 " px from where these places put it; look whether they are the same places on both photos, or "
                 "take them away."});
  }
}

struct Laid {
  Alignment alignment;
  SharedOutlines shared;
  bool isByOutlines = false;
};

Result<Laid> laidOn(const RgbImage& before, const RgbImage& after, const CompareRequest& request) {
  const auto alignment = request.points.empty()
                             ? align(before, after, request.outlineBefore)
                             : alignByPoints(before, after, request.points, request.outlineBefore);
  if (alignment) {
    return Laid{.alignment = *alignment,
                .shared = sharedOutlines(before, after, request, *alignment),
                .isByOutlines = false};
  }
  if (alignment.error().code == ErrorCode::NotMeasurable && request.outlineBefore && request.drawnAfter) {
    const auto byOutlines = alignByOutlines(before, after, *request.outlineBefore, *request.drawnAfter);
    if (byOutlines) {
      return Laid{.alignment = *byOutlines,
                  .shared = {.before = *request.outlineBefore, .after = *request.drawnAfter},
                  .isByOutlines = true};
    }
  }
  return alignment.error();
}

}  // namespace

bool hasCaution(const Comparison& comparison, std::string_view code) {
  return std::ranges::find(comparison.cautions, code, &Caution::code) != comparison.cautions.end();
}

Result<Comparison> compare(const RgbImage& before,
                           const RgbImage& after,
                           const CompareRequest& request) {
  if (request.outlineAfter && request.outlineAfter->polygon.size() < 3) {
    return fail(ErrorCode::InvalidArgument, "an outline needs at least 3 points; draw it again");
  }
  Comparison comparison;
  const auto laid = laidOn(before, after, request);
  if (!laid) {
    if (laid.error().code != ErrorCode::NotMeasurable) {
      return laid.error();
    }
    comparison.refusal = laid.error().message;
    return comparison;
  }
  const auto& [alignment, shared, isByOutlines] = *laid;
  auto measuredBefore = measured(before, shared.before, request, "before");
  EDAMORI_RETURN_IF_ERROR(measuredBefore);
  auto measuredAfter = measured(after, shared.after, request, "after");
  EDAMORI_RETURN_IF_ERROR(measuredAfter);
  comparison.aligned = true;
  comparison.alignment = alignment;
  comparison.outlineAfter = shared.after;
  comparison.before = std::move(measuredBefore).value();
  comparison.after = std::move(measuredAfter).value();
  const double frameScale =
      static_cast<double>(sizeOf(before).longSidePx()) / sizeOf(after).longSidePx();
  if (isByOutlines) {
    comparison.cautions.push_back(
        {.code = "by-outlines",
         .text = "The program could not lay these photos on each other; each was measured in its own outline, "
                 "and the picture of what changed is only rough."});
  }
  addViewCautions(comparison, shared, frameScale);
  stateChange(comparison, request.subject);
  addMeasureCautions(comparison);
  addPointCautions(before, after, request, comparison);
  return comparison;
}

}  // namespace edamori::vision
