// SPDX-License-Identifier: GPL-3.0-or-later
// Outlines of one photo proposed on another photo of the same tree.
#pragma once

#include "store/garden/garden.h"

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

// Stores what proposeOutlines() finds; returns how many.
Result<int> carryOutlines(store::Garden& garden, const store::PhotoId& photo);

}  // namespace edamori::work
