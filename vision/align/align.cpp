// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/compare.h"
#include "vision/align/fit_internal.h"
#include "vision/align/matches_internal.h"
#include "vision/align/plane.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

namespace edamori::vision {

namespace {

// Below this many agreeing pairs even a good fit can be an accident. Chosen on the
// photos of tests/vision/align/photographs_test.cpp: unrelated pairs stay far below.
constexpr std::size_t kMinSupport = 18;
// Support must exceed what random partners reach by this factor and margin.
constexpr std::size_t kChanceFactor = 2;
constexpr std::size_t kChanceMargin = 6;
// So many pairs at such a share cannot come from chance; the deals need not be made.
constexpr std::size_t kPlainSupport = 60;
constexpr double kPlainShare = 0.3;
constexpr std::size_t kMinNearSupport = 8;
// Pairs that fit in place by accident are of any size and direction: about 1 in 50
// fits in both as well.
constexpr double kMinPlaceShare = 0.6;
// Cells of an 8 × 8 grid over the before photo that hold support.
constexpr int kGrid = 8;
constexpr std::size_t kMinCells = 4;
constexpr double kMaxCornerErrorPx = 8.0;  // working px: 0.5 % of the longer side
constexpr double kMinOutlineOverlap = 0.5;
// Without an outline the whole frame counts, of which a closer after photo shows a part.
constexpr double kMinFrameOverlap = 0.3;
constexpr int kMinSidePx = 64;

Error refusal(const std::string& reason) {
  return fail(ErrorCode::NotMeasurable,
              "the photos cannot be aligned: " + reason +
                  "; choose two photos of the same branch from about the same place");
}

FrameSize sizeOf(const RgbImage& photo) {
  return {.widthPx = photo.width(), .heightPx = photo.height()};
}
FrameSize sizeOf(const WorkingPhoto& photo) {
  return {.widthPx = photo.grey.cols, .heightPx = photo.grey.rows};
}

Homography workingFromFull(const WorkingPhoto& photo) {
  return {1.0 / photo.pxPerWorkingX, 0, 0, 0, 1.0 / photo.pxPerWorkingY, 0, 0, 0, 1};
}
Homography fullFromWorking(const WorkingPhoto& photo) {
  return {photo.pxPerWorkingX, 0, 0, 0, photo.pxPerWorkingY, 0, 0, 0, 1};
}

Focus wholePhoto(std::size_t pairCount, const Outline& outline) {
  const BoundsPx b = boundsPx(outline.polygon);
  Focus focus{.weights = std::vector<double>(pairCount, 1.0),
              .near = {},
              .corners = {PointPx{b.left, b.top}, PointPx{b.right, b.top},
                          PointPx{b.right, b.bottom}, PointPx{b.left, b.bottom}}};
  for (std::size_t i = 0; i < pairCount; ++i) {
    focus.near.push_back(i);
  }
  return focus;
}

Focus around(const Outline& outline, const std::vector<PointPair>& pairs) {
  Focus focus = wholePhoto(pairs.size(), outline);
  focus.near.clear();
  const BoundsPx bounds = boundsPx(outline.polygon);
  const double diagonal = std::hypot(bounds.width(), bounds.height());
  constexpr double kNearShare = 0.25;  // of the outline's diagonal
  constexpr double kLeastWeight = 0.02;
  for (std::size_t i = 0; i < pairs.size(); ++i) {
    const PointPx p{.x = pairs[i].before.x, .y = pairs[i].before.y};
    const double away =
        contains(outline.polygon, p) ? 0.0 : distanceToEdgePx(outline.polygon, p) / diagonal;
    focus.weights[i] = std::max(std::exp(-0.5 * std::pow(away / kNearShare, 2)), kLeastWeight);
    if (away <= kNearShare) {
      focus.near.push_back(i);
    }
  }
  return focus;
}

std::size_t cellsCovered(const Fit& fit, const std::vector<PointPair>& pairs, FrameSize frame) {
  std::vector<bool> isCovered(static_cast<std::size_t>(kGrid * kGrid), false);
  for (const std::size_t i : fit.support) {
    const int x = std::clamp(static_cast<int>(pairs[i].before.x * kGrid / frame.widthPx), 0, 7);
    const int y = std::clamp(static_cast<int>(pairs[i].before.y * kGrid / frame.heightPx), 0, 7);
    isCovered[static_cast<std::size_t>(y * kGrid + x)] = true;
  }
  return static_cast<std::size_t>(std::count(isCovered.begin(), isCovered.end(), true));
}

std::size_t nearSupport(const Fit& fit, const Focus& focus) {
  return static_cast<std::size_t>(
      std::count_if(fit.support.begin(), fit.support.end(), [&](std::size_t i) {
        return std::binary_search(focus.near.begin(), focus.near.end(), i);
      }));
}

bool beatsChance(const Fit& fit, const std::vector<PointPair>& pairs, const Focus& focus) {
  const auto support = fit.support.size();
  if (support >= kPlainSupport &&
      static_cast<double>(support) >= kPlainShare * static_cast<double>(pairs.size())) {
    return true;
  }
  return support >= kChanceFactor * supportByChance(pairs, focus) + kChanceMargin;
}

enum class Evidence { Enough, TooFew, NotNear, Loose };

Evidence evidenceOf(const std::optional<Fit>& fit,
                    const std::vector<PointPair>& pairs,
                    const Focus& focus,
                    FrameSize before) {
  if (!fit || fit->support.size() < kMinSupport || fit->placeShare < kMinPlaceShare ||
      cellsCovered(*fit, pairs, before) < kMinCells || !beatsChance(*fit, pairs, focus)) {
    return Evidence::TooFew;
  }
  if (nearSupport(*fit, focus) < kMinNearSupport) {
    return Evidence::NotNear;
  }
  return fit->cornerError <= kMaxCornerErrorPx ? Evidence::Enough : Evidence::Loose;
}

// Both photos at working size, the before photo's outline there, and the pairs.
struct Prepared {
  WorkingPhoto before, after;
  Features featuresBefore;
  Outline outline;
  bool hasOutline = false;

  [[nodiscard]] Focus focusFor(const std::vector<PointPair>& pairs) const {
    return hasOutline ? around(outline, pairs) : wholePhoto(pairs.size(), outline);
  }
};

bool fitsMirrored(const Prepared& prepared) {
  const auto pairs =
      matchedPairs(prepared.featuresBefore, featuresOf(mirrored(prepared.after)));
  const Focus focus = prepared.focusFor(pairs);
  return evidenceOf(bestFit(pairs, focus), pairs, focus, sizeOf(prepared.before)) ==
         Evidence::Enough;
}

Error refusalFor(Evidence evidence, const Prepared& prepared, const std::optional<Fit>& fit) {
  switch (evidence) {
    case Evidence::NotNear:
      return refusal("too few details around the branch are found again");
    case Evidence::Loose:
      return refusal("the details found again lie too close together to place the branch");
    case Evidence::TooFew:
    case Evidence::Enough:
      break;
  }
  if (fitsMirrored(prepared)) {
    return refusal("one photo is the mirror image of the other");
  }
  const std::size_t count = fit ? fit->support.size() : 0;
  return refusal("too few details of one are found again on the other (" + std::to_string(count) +
                 " fit together, no more than unrelated photos may have)");
}

Result<Fit> workingFit(const Prepared& prepared) {
  const auto pairs = matchedPairs(prepared.featuresBefore, featuresOf(prepared.after));
  const Focus focus = prepared.focusFor(pairs);
  auto fit = bestFit(pairs, focus);
  const Evidence evidence = evidenceOf(fit, pairs, focus, sizeOf(prepared.before));
  if (evidence != Evidence::Enough) {
    return refusalFor(evidence, prepared, fit);
  }
  return *std::move(fit);
}

Result<void> checkInput(const RgbImage& before,
                        const RgbImage& after,
                        const std::optional<Outline>& outline) {
  if (std::min({before.width(), before.height(), after.width(), after.height()}) < kMinSidePx) {
    return refusal("a side of one photo is shorter than " + std::to_string(kMinSidePx) +
                   " pixels");
  }
  if (outline && (outline->polygon.size() < 3 ||
                  areaPx2(clippedToFrame(*outline, sizeOf(before))) <= 0.0)) {
    return refusal("the outline encloses nothing of the before photo");
  }
  return {};
}

Result<Alignment> alignChecked(const RgbImage& before,
                               const RgbImage& after,
                               const std::optional<Outline>& outlineBefore) {
  const Outline outline = outlineBefore ? clippedToFrame(*outlineBefore, sizeOf(before))
                                        : frameOutline(sizeOf(before));
  Prepared prepared;
  prepared.before = workingPhoto(before);
  prepared.after = workingPhoto(after);
  prepared.featuresBefore = featuresOf(prepared.before);
  prepared.outline = mapped(workingFromFull(prepared.before), outline);
  prepared.hasOutline = outlineBefore.has_value();

  auto fit = workingFit(prepared);
  EDAMORI_RETURN_IF_ERROR(fit);
  Alignment alignment{
      .model = fit->model,
      .afterFromBefore = composed(fullFromWorking(prepared.after),
                                  composed(fit->afterFromBefore, workingFromFull(prepared.before))),
      .residualPx = fit->medianResidual * prepared.after.pxPerWorkingX,
      .overlap = 0.0,
      .supportingMatches = static_cast<int>(fit->support.size())};
  if (const auto reason = implausibility(alignment.afterFromBefore, outline, sizeOf(before),
                                         sizeOf(after))) {
    return refusal(*reason);
  }
  const Outline visible =
      visibleInBoth(outline, sizeOf(before), sizeOf(after), alignment.afterFromBefore);
  alignment.overlap = std::clamp(areaPx2(visible) / areaPx2(outline), 0.0, 1.0);
  if (alignment.overlap < (outlineBefore ? kMinOutlineOverlap : kMinFrameOverlap)) {
    return refusal("most of the branch lies outside the after photo");
  }
  return alignment;
}

}  // namespace

std::string toText(AlignmentModel model) {
  return model == AlignmentModel::Similarity ? "similarity" : "homography";
}

Result<Alignment> align(const RgbImage& before,
                        const RgbImage& after,
                        const std::optional<Outline>& outlineBefore) {
  EDAMORI_RETURN_IF_ERROR(checkInput(before, after, outlineBefore));
  try {
    return alignChecked(before, after, outlineBefore);
  } catch (const cv::Exception& exception) {
    return refusal("an image library step failed (" + exception.err + ")");
  }
}

}  // namespace edamori::vision
