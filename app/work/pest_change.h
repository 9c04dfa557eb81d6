// SPDX-License-Identifier: GPL-3.0-or-later
// How the counts of live insects on a branch changed between two photos, and whether a treatment
// in between did it.
#pragma once

#include "app/work/overview.h"
#include "app/work/pair_help.h"
#include "store/trends/trends.h"

#include <optional>
#include <string>
#include <vector>

namespace edamori::work {

struct PestChange {
  std::string title;       // "Scale insects, live"
  Estimate before, after;  // insects, with Poisson intervals
  bool isTreated = false;  // the branch or the whole tree, between the two photos
  // Against the tree's branches that were not treated in between and have counts on both photos;
  // absent without any, or when the formula has no answer.
  std::optional<store::Efficacy> efficacy;
  int untreatedBranches = 0;
};

// Of each finding that is counted as insects and was ever marked on the branch; none when one of
// the photos carries no mark at all, for nobody has looked at it then.
// Source: Henderson & Tilton 1955; counts of several untreated branches are added up.
[[nodiscard]] std::vector<PestChange> pestChanges(const TreeDetail& detail, const BranchPair& pair);

// "Scale insects, live: 14 (7.7–23.5) before, 2 (0.2–7.2) after", and a second line about the
// efficacy when the branch was treated.
[[nodiscard]] std::vector<std::string> pestChangeLines(const PestChange& change);

}  // namespace edamori::work
