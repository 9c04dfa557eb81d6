// SPDX-License-Identifier: GPL-3.0-or-later
// Measuring as a use case: a photo file on its own, or an outline of a garden.
#pragma once

#include "app/work/learning.h"
#include "store/garden/garden.h"
#include "store/intake/metadata.h"
#include "vision/align/compare.h"
#include "vision/figures/measure.h"
#include "vision/values/result.h"

#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace edamori::work {

// A photo file ready to be measured.
struct OpenedPhoto {
  std::filesystem::path file;
  std::string sha256;
  store::PhotoMetadata metadata;
  RgbImage image;  // upright sRGB
};
// Errors: as vision::loadPhoto.
Result<OpenedPhoto> openPhotoFile(const std::filesystem::path& file);

// The JSON object of `edamori measure --json`.
[[nodiscard]] std::string measureJson(const OpenedPhoto& photo,
                                      const vision::MeasureResult& result);
// The JSON object for a photo that could not be measured.
[[nodiscard]] std::string measureRefusalJson(const OpenedPhoto& photo, const std::string& reason);
// The JSON object of `edamori compare --json`.
[[nodiscard]] std::string compareJson(const vision::Comparison& comparison);

// Measures one outline of the garden on the original, and stores foliage and spot figures with
// the label mask (labels/<measurement id>.png). Older measurements of the outline stay as history.
// It starts from what hints on the tree's earlier photos taught; `hints` (Hint values, of the
// photo's size) are kept with the figures (hints/<SHA-256 of their pixels>.png), and what they
// taught for the tree's next photos.
// Errors: as vision::measure; NotFound when the outline is gone; NotMeasurable on a branch that
// carries no foliage.
Result<std::vector<store::Measurement>> measureOutline(store::Garden& garden,
                                                       const store::OutlineId& outline,
                                                       const std::optional<LabelImage>& hints = {});

// What measuring an outline of the garden starts from, its photo's pixels aside.
struct MeasuringInputs {
  store::OutlineRecord outline;
  LearningPlace place;
  Prior prior;
};
// Errors: NotFound when the outline, its photo or its tree is gone; NotMeasurable on a branch that
// carries no foliage.
Result<MeasuringInputs> measuringInputs(const store::Garden& garden, const store::OutlineId& outline);

// Measures every outline of a photo with one decoding. An outline that gives no figure is
// listed with the reason; the others are stored.
struct PhotoMeasuring {
  std::vector<store::Measurement> made;
  std::vector<std::pair<store::OutlineId, std::string>> refused;
};
Result<PhotoMeasuring> measurePhoto(store::Garden& garden,
                                    const store::PhotoId& photo,
                                    const std::optional<LabelImage>& hints = {});

// Compares two photos of one branch and stores the loss and spot-change figures with `baselinePhoto`.
// The outline of the before photo is used. What a person said of the pair (store::PairHelp) stands
// above what the program finds: their points lay one photo on the other, and their outline is
// measured on the after photo; without one, the after photo's own only when it was carried over and
// then confirmed by a person.
// What comparing the pair stated earlier and does not state any more is moved to the bin.
// A branch that carries no foliage is aligned, but gets no figures and a caution that says so.
// Errors: InvalidArgument when the before photo has no outline of the branch; Cancelled, with
//         nothing stored, when the listener says so.
struct StoredComparison {
  vision::Comparison comparison;
  Outline outlineBefore;
  std::vector<store::Measurement> measurements;  // empty when not aligned
};
// Told before each step what comes next; returning false stops there.
using CompareListener = std::function<bool(const std::string& doing)>;
Result<StoredComparison> comparePhotos(store::Garden& garden,
                                       const store::BranchId& branch,
                                       const store::PhotoId& before,
                                       const store::PhotoId& after,
                                       const CompareListener& listener = {});

}  // namespace edamori::work
