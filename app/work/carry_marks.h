// SPDX-License-Identifier: GPL-3.0-or-later
// Marks of one photo laid on another photo of the same branches.
#pragma once

#include "store/garden/garden.h"

#include <vector>

namespace edamori::work {

struct CarriedMarks {
  std::vector<store::Mark> marks;  // on the later photo, without ids; not stored
  double errorPx = 0;              // what about nine of ten keep to, px of that photo
};

// The branch that all the marks are on; empty when they are on several or on none.
[[nodiscard]] store::BranchId sharedBranch(const std::vector<store::Mark>& marks);

// The photo to carry marks to: the next later one of the tree with an outline of `branch`, else the
// next later one; none for the last. An empty branch: the next later one.
Result<std::optional<store::PhotoId>> photoToCarryMarksTo(const store::Garden& garden,
                                                          const store::PhotoId& from,
                                                          const store::BranchId& branch);

// Aligns the two photos on their large previews and maps the marks: by the outline of the branch
// that all the marks are on, where it has one, else by the whole photos.
// Marks that fall off the other photo are left out.
// Errors: NotMeasurable when the photos cannot be aligned; those of reading.
// Thread: safe with a Garden of the calling thread. Cost: about a second.
Result<CarriedMarks> carryMarks(const store::Garden& garden,
                                const store::PhotoId& from,
                                const store::PhotoId& to,
                                const std::vector<store::Mark>& marks);

}  // namespace edamori::work
