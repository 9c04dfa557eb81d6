// SPDX-License-Identifier: GPL-3.0-or-later
// The same branch on two photos: alignment, outline carried over, change.
#pragma once

#include "vision/figures/measure.h"
#include "vision/values/figure.h"
#include "vision/values/geometry.h"
#include "vision/values/raster.h"
#include "vision/values/result.h"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace edamori::vision {

enum class AlignmentModel { Similarity, Homography };
[[nodiscard]] std::string toText(AlignmentModel model);  // "similarity", "homography"

struct Alignment {
  AlignmentModel model = AlignmentModel::Homography;
  Homography afterFromBefore{1, 0, 0, 0, 1, 0, 0, 0, 1};  // full-size px of before → after
  double residualPx = 0.0;  // median distance of the supporting matches, full-size px of after
  double errorPx = 0.0;     // what about nine of ten carried corners keep to, full-size px of after
  double overlap = 0.0;     // share of the outline (or of before) that lies within after, 0…1
  int supportingMatches = 0;
};

// Puts `after` onto `before`.
//
// Input:  two upright sRGB photos of any size; `outlineBefore` is the branch, or
//         absent for the whole photo.
// Errors: NotMeasurable with the reason when the pair cannot be aligned
//         (unrelated photos, mirrored, too few matches, viewpoint too different).
// Thread: safe; the same pair gives the same bits on every run.
// Source: features Lowe 2004 (SIFT), robust fit Barath et al. 2020 (MAGSAC++) or
//         Fischler & Bolles 1981 (RANSAC); see docs/sources.md.
Result<Alignment> align(const RgbImage& before,
                        const RgbImage& after,
                        const std::optional<Outline>& outlineBefore);

// Where an outline of the before photo lies on the after photo.
struct CarriedOutline {
  Outline shape;           // full-size px of after; may reach beyond it
  double errorPx = 0.0;    // what about nine of ten corners keep to, full-size px of after
  bool isCertain = false;  // false: the likeliest place, which only a person can confirm
};

// Carries outlines from one photo to another, each by its own branch, for a person to look at. The
// photos are matched once for all of them. What align() takes is certain; else the likeliest place
// is given where something speaks for it, and nothing where nothing does.
//
// Output: one for each outline, in order.
// Errors: NotMeasurable when a photo is too small to be looked at.
// Thread: safe; the same pair gives the same bits on every run.
Result<std::vector<std::optional<CarriedOutline>>> carriedOutlines(const RgbImage& before,
                                                                   const RgbImage& after,
                                                                   const std::vector<Outline>& outlines);

// One detail of the tree as a person found it, full-size px of each photo.
struct PointPairPx {
  PointPx before, after;
};

struct CompareRequest {
  std::optional<Outline> outlineBefore;  // whole photo when absent
  // When given, it replaces the carried outline on the after photo (a person moved it).
  std::optional<Outline> outlineAfter;
  // The branch as a person drew it on the after photo. Where the photos cannot be laid on each
  // other, the two outlines are (see alignByOutlines()), and each photo is measured in its own.
  std::optional<Outline> drawnAfter{};
  Subject subject = Subject::Leaf;
  Correction learned{};  // as in MeasureRequest; for both photos
  // When not empty, the photos are laid on each other by these alone, see alignByPoints(). Where
  // align() is sure of another place, no change is stated (caution "points-disagree").
  std::vector<PointPairPx> points{};
};

// Raised whenever the same pair and request could give another change; the measuring of each photo
// has a version of its own.
inline constexpr int kCompareVersion = 6;

struct Comparison {
  bool aligned = false;
  std::string refusal;                // why not aligned; empty when aligned
  Alignment alignment;                // meaningful when aligned
  Outline outlineAfter;               // carried over, or the person's
  std::optional<MeasureResult> before, after;  // present when aligned
  std::optional<Estimate> lossByCover;  // 1 − C / C₀; negative = regrowth
  std::optional<Estimate> lossByLight;  // 1 − ln G / ln G₀, for gap fractions within 0.02…0.98;
                                        // absent when its interval is wider than kWidestUsefulInterval
  std::optional<Estimate> spotChange;   // spot after − spot before, −1…1
  Verdict verdict = Verdict::CannotTell;  // on loss by cover
  std::vector<Caution> cautions;
};

[[nodiscard]] bool hasCaution(const Comparison& comparison, std::string_view code);

// Aligns and measures both photos and says what changed.
//
// Errors: as measure(), and InvalidArgument as alignByPoints(). A pair that does not align is no error: aligned is false,
//         refusal says why, verdict is CannotTell.
// Source: loss by light from Beer–Lambert gap-fraction theory (Monsi & Saeki 1953).
Result<Comparison> compare(const RgbImage& before,
                           const RgbImage& after,
                           const CompareRequest& request);

// The after photo resampled onto the before photo's frame; pixels that the after
// photo does not show are mid grey (128, 128, 128).
[[nodiscard]] RgbImage warpedOntoBefore(const RgbImage& after,
                                        const Homography& afterFromBefore,
                                        int widthPx,
                                        int heightPx);

}  // namespace edamori::vision
