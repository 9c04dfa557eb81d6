// SPDX-License-Identifier: GPL-3.0-or-later
// What a person marked on a photo, summed: insects are counted, blight and spots are marked as
// patches whose number says little and whose area says more.
#pragma once

#include "store/records/records.h"

#include <optional>
#include <vector>

namespace edamori::work {

// Findings that are counted as insects, and so have live numbers with an interval of chance.
[[nodiscard]] bool isInsect(store::Finding finding);

// A live patch of blight, spots or scorch that stands for itself and for no number of lesions.
[[nodiscard]] bool isPlainPatch(const store::Mark& mark);

// Of one finding on one branch of one photo; a photo that was looked at without a mark gives none.
struct FindingCount {
  store::BranchId branch;
  store::Finding finding;
  int live = 0, dead = 0, removed = 0;  // sums of the marks' counts
  int patches = 0, dots = 0;            // marks that do not stand for something removed
  std::optional<double> patchShare{};   // of the branch outline inside such patches, 0…1
};
// `marks` and `outlines` of one photo.
[[nodiscard]] std::vector<FindingCount> countMarks(
    const std::vector<store::Mark>& marks, const std::vector<store::OutlineRecord>& outlines);

// Share of the outline's area that lies in any of the patches, each point once; sampled on a grid
// of about 40 000 points. Nothing without a patch or without an area.
[[nodiscard]] std::optional<double> shareInside(const std::vector<Polygon>& patches,
                                                const Outline& outline);

}  // namespace edamori::work
