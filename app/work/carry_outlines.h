// SPDX-License-Identifier: GPL-3.0-or-later
// Outlines of one photo proposed on another photo of the same tree.
#pragma once

#include "store/garden/garden.h"

#include <functional>
#include <optional>
#include <vector>

namespace edamori::work {

struct ProposedOutlines {
  // None: no other photo of the tree, seen from the same side, has outlines that a person drew or
  // confirmed of branches that have none here.
  std::optional<store::PhotoId> from;
  // Unconfirmed, not stored. One with a residual was found again and keeps to that, for about nine
  // of ten corners; one without is only the likeliest place.
  std::vector<store::OutlineRecord> outlines;

  [[nodiscard]] int guesses() const;
};

// Looks for the outlines of the nearest earlier photo of the tree, else the nearest later one, on
// this photo, each by its own branch. Branches that are outlined here are left alone.
// Errors: NotFound; those of reading. Photos that do not lie on each other give no outline.
// Thread: safe with a Garden of the calling thread. Cost: seconds.
Result<ProposedOutlines> proposeOutlines(const store::Garden& garden, const store::PhotoId& photo);

struct CarriedTally {
  int outlines = 0;          // stored, unconfirmed
  int photosWithoutAny = 0;  // outlined branches were looked for on them, and none was found
};

// Stores what proposeOutlines() finds on each photo. `goOn` is called before each with the number
// of those done; returning false ends it, and what was stored stays.
// Errors: those of storing. A photo that cannot be read is passed over.
Result<CarriedTally> carryOutlines(store::Garden& garden,
                                   const std::vector<store::PhotoId>& photos,
                                   const std::function<bool(int done)>& goOn = {});

}  // namespace edamori::work
