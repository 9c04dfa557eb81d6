// SPDX-License-Identifier: GPL-3.0-or-later
// What the Compare form shows of a pair of photos; made in a worker thread.
#pragma once

#include "store/garden/garden.h"

#include <QImage>
#include <QStringList>
#include <filesystem>

namespace edamori::pages {

struct PairAsked {
  std::filesystem::path folder;  // of the garden
  store::BranchId branch;
  store::Photo before, after;
};

// Cut to the branch, with its outline drawn on them; null when they cannot be read.
struct PairPictures {
  QImage before, after;
};

struct ComparisonShown {
  bool aligned = false;
  QString verdict;      // in words, or that the pair cannot be compared
  QStringList figures;  // one line each, with interval; for a refused pair what to do
  QStringList cautions;
  PairPictures pictures;  // `after` lies on `before` when aligned
};

// The photos as they are, before anything is compared; a later photo without an outline of the
// branch is shown whole.
Result<PairPictures> picturesOf(const PairAsked& asked);

// Compares, stores the figures, and says it in words. Errors: as work::comparePhotos.
Result<ComparisonShown> compareShown(const PairAsked& asked);

}  // namespace edamori::pages
