// SPDX-License-Identifier: GPL-3.0-or-later
// From the records of a tree to the blocks of its letter; reads no database and no file.
#pragma once

#include "app/letter/blocks_internal.h"
#include "app/letter/letter.h"

#include <functional>
#include <optional>

namespace edamori::letter {

// Gives a photo's picture around the branch, with its outline and marks drawn in; the
// whole photo when the branch is empty or has no outline there. The caption is the composer's.
struct PictureAnswer {
  QImage image;     // null when it could not be had
  QString problem;  // then: why
  std::vector<LegendEntry> legend;  // what is painted on it; empty where an outline alone is
};
using PictureSource =
    std::function<PictureAnswer(const store::Photo& photo, const store::BranchId& branch)>;

// Errors: InvalidArgument when from is after to, or a date is none.
Result<void> checkRequest(const LetterRequest& request);
// Errors: NotFound when a period is given and nothing of the tree is recorded within it.
Result<void> checkPeriod(const work::TreeDetail& detail, const LetterRequest& request);

// `detail` is the tree's; the request picks the period.
[[nodiscard]] Document compose(const work::TreeDetail& detail,
                               const LetterRequest& request,
                               const QString& gardenName,
                               const PictureSource& pictures);

}  // namespace edamori::letter
