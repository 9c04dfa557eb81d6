// SPDX-License-Identifier: GPL-3.0-or-later
// Marks of one photo laid on another photo of the same branches.
#pragma once

#include "store/garden/garden.h"

#include <vector>

namespace edamori::work {

struct CarriedMarks {
  std::vector<store::Mark> marks;  // on the later photo, without ids; not stored
  double residualPx = 0;           // of the alignment, px of that photo
};

// The photo to carry marks to: the next later one of the tree with an outline of `branch`, else the
// next later one; none for the last. An empty branch: the next later one.
Result<std::optional<store::PhotoId>> photoToCarryMarksTo(const store::Garden& garden,
                                                          const store::PhotoId& from,
                                                          const store::BranchId& branch);

// Aligns the two photos on their large previews, as outlines are carried over, and maps the marks.
// Marks that fall off the other photo are left out.
// Errors: NotMeasurable when the photos cannot be aligned; those of reading.
// Thread: safe with a Garden of the calling thread. Cost: about a second.
Result<CarriedMarks> carryMarks(const store::Garden& garden,
                                const store::PhotoId& from,
                                const store::PhotoId& to,
                                const std::vector<store::Mark>& marks);

}  // namespace edamori::work
