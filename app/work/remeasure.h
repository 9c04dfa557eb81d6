// SPDX-License-Identifier: GPL-3.0-or-later
// Recomputes the stored figures of a garden from what was kept, and says which come out otherwise.
#pragma once

#include "store/garden/garden.h"
#include "vision/values/result.h"

#include <functional>
#include <string>
#include <vector>

namespace edamori::work {

struct RemeasureReport {
  int agreed = 0;         // value and interval are the same to the last bit
  int drifted = 0;        // they are not, or there is no figure any more
  int notComparable = 0;  // made by another method version, or before all inputs were kept
  int failed = 0;         // what they were made from is missing or unreadable
  std::vector<std::string> lines;  // one for each figure that did not agree
};

// Recomputes every stored figure (those in the bin apart) from the kept original, outline, hints,
// learned weights and method parameters. Nothing in the garden changes.
//
// `goOn` hears how many figures are done, of how many, and may stop the work.
// Errors: Cancelled; those of reading the garden's records.
// Cost: one decoding a photo and one measuring an outline.
Result<RemeasureReport> remeasureGarden(const store::Garden& garden,
                                        const std::function<bool(int done, int total)>& goOn = {});

}  // namespace edamori::work
