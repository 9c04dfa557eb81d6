// SPDX-License-Identifier: GPL-3.0-or-later
// What a person says of how two photos of a branch lie on each other: kept, and used from then on.
#pragma once

#include "store/garden/garden.h"
#include "vision/align/by_points.h"
#include "vision/values/result.h"

#include <optional>
#include <vector>

namespace edamori::work {

// One branch on two of its tree's photos.
struct BranchPair {
  store::BranchId branch;
  store::PhotoId before, after;
  friend bool operator==(const BranchPair&, const BranchPair&) = default;
};

// The points of the help, in the order in which they were set; none when there are none.
[[nodiscard]] std::vector<vision::PointPairPx> pointPairsOf(const store::PairHelp& help);

// What was kept before a change, so that it can be taken back.
struct PairHelpBefore {
  BranchPair pair;
  std::optional<store::PairHelp> help;
  std::optional<store::OutlineRecord> outline;  // the one of the later photo that was replaced
  std::optional<store::OutlineId> added;        // the one that was made anew
};

// Keeps 2 to 4 places that are the same on both photos, in the stead of those kept before.
// Errors: as vision::alignByPoints for the pair's outline; InvalidArgument when the earlier photo
//         has no outline of the branch; NotFound. Nothing is changed then.
Result<PairHelpBefore> keepPoints(store::Garden& garden,
                                  const BranchPair& pair,
                                  const std::vector<vision::PointPairPx>& points);

// Keeps where the person put the branch's outline on the later photo. When that photo has no outline
// of the branch, or one that was only carried over, it gets this one as carried and confirmed; one
// drawn by hand stays, and this one counts for the pair alone.
// Errors: InvalidArgument when the outline has less than 3 corners or lies beside the photo.
Result<PairHelpBefore> keepOutlineAfter(store::Garden& garden,
                                        const BranchPair& pair,
                                        const Outline& outline);

// Forgets what was said of the pair; nothing when nothing was.
Result<PairHelpBefore> forgetPairHelp(store::Garden& garden, const BranchPair& pair);

// Puts everything back as it was before one of the above.
Result<void> takeBack(store::Garden& garden, const PairHelpBefore& before);

}  // namespace edamori::work
