// SPDX-License-Identifier: GPL-3.0-or-later
// Folders of photos whose foliage and spots are known pixel by pixel.
#pragma once

#include "vision/values/figure.h"
#include "vision/values/geometry.h"
#include "vision/values/raster.h"
#include "vision/values/result.h"

#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace edamori::accuracy {

// What the truth of a photo tells.
enum class TruthKind {
  Tissue,   // what is foliage, and what of it is spotted
  Lesions,  // lesions alone, on a leaf that fills the frame: S/O is compared
  Cover,    // foliage alone
};

struct TruthFiles {
  std::filesystem::path photo;     // NAME.jpg or NAME.jpeg
  std::filesystem::path truth;     // NAME.png, NAME_lesion.png or NAME_mask.png
  std::filesystem::path outlines;  // NAME.txt; empty when there is none
};

struct TruthOptions {
  std::optional<Subject> subject;  // overrules the outlines file; leaves when neither says
  bool isCoverOnly = false;        // truths of two values, 0 and 255, tell foliage alone
  std::size_t maxPhotos = 0;       // the first so many by name; 0 means all
};

struct TruthCase {
  std::string name;  // the photo's file name
  TruthKind kind = TruthKind::Tissue;
  Subject subject = Subject::Leaf;
  LabelImage labels;  // Label values; all foliage where only lesions are known
  std::vector<std::optional<Outline>> outlines;  // one that is empty: the whole photo
};

// The photos of `folder` that have a truth beside them, by name.
//
// Errors: NotFound when it is no folder or holds no such photo.
Result<std::vector<TruthFiles>> listTruths(const std::filesystem::path& folder,
                                           const TruthOptions& options);

// Errors: those of loadLabels; Corrupt when labels or outlines make no sense;
//         InvalidArgument when a mask of cover is met without `isCoverOnly`.
Result<TruthCase> readTruth(const TruthFiles& files, const TruthOptions& options);

}  // namespace edamori::accuracy
