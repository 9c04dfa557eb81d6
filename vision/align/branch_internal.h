// SPDX-License-Identifier: GPL-3.0-or-later
// Where one branch of a tree went, and what speaks for it. Px of the working photos.
#pragma once

#include "vision/align/depth_internal.h"
#include "vision/align/likeness_internal.h"
#include "vision/align/matches_internal.h"
#include "vision/values/geometry.h"

#include <cstddef>
#include <optional>
#include <vector>

namespace edamori::vision {

// Details found along their epipolar lines and in one plane, against those found the same way
// along lines shifted aside, where none can be right: what chance finds on the same branch.
struct Found {
  double found = 0.0;
  double chance = 0.0;  // mean of the shifted searches
};

struct BranchFit {
  Homography afterFromBefore{1, 0, 0, 0, 1, 0, 0, 0, 1};
  std::size_t startSupport = 0;  // details of the whole photo behind the first epipolar geometry
  std::size_t support = 0;       // details of the branch that agree
  Found own;                     // details of the branch
  Found surroundings;
  double medianResidual = 0.0;
  double look = 0.0;        // correlation of the branch as placed, −1…1
  Likeness likeness;        // of its cells as placed
  double elongation = 1.0;  // see LocalStretch
};

struct BranchSearch {
  const WorkingPhoto& photoBefore;
  const WorkingPhoto& photoAfter;
  const Features& before;
  const Features& after;
  const Matching& matching;
  const Outline& outline;
};

// Whether a fit has more in its favour than chance and another tree in the same place reach.
[[nodiscard]] bool isConvincing(const BranchFit& fit);
// Whether a fit that does not convince is still worth showing to a person: the epipolar geometry has
// enough behind it and the branch is not bent out of shape.
[[nodiscard]] bool isLikely(const BranchFit& fit);
// What about nine of ten corners keep to, as a share of the after photo's longer side.
[[nodiscard]] double statedErrorShare(const BranchFit& fit);

// One fit for each start that leads to an epipolar geometry; most evidence first.
[[nodiscard]] std::vector<BranchFit> branchFits(const BranchSearch& search);

}  // namespace edamori::vision
