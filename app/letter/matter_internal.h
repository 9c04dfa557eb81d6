// SPDX-License-Identifier: GPL-3.0-or-later
// The records that fall into a letter's period, picked once for all its sections.
#pragma once

#include "app/letter/letter.h"
#include "app/work/overview.h"

#include <QString>

#include <string>
#include <vector>

namespace edamori::letter {

// Live, dead and removed of one finding on one branch of one photo.
struct PestRow {
  const store::Photo* photo = nullptr;
  work::FindingCount count;
};

// Pointers go into the TreeDetail, which must live longer.
struct Matter {
  const work::TreeDetail* detail = nullptr;
  LetterRequest request;
  std::vector<const store::Photo*> photos;          // within the period, oldest first
  std::vector<const work::FigureRow*> figures;      // of those photos, by time; row i is "figure i + 1"
  std::vector<PestRow> pests;                       // by time, then branch order
  std::vector<const store::Treatment*> treatments;  // within the period, oldest first
  std::vector<const store::Recheck*> openRechecks;  // whatever the period, by due date
  std::vector<const store::Note*> notes;
  std::vector<work::FigureChart> charts;            // points and treatments within the period

  [[nodiscard]] const store::Photo* photo(const store::PhotoId& id) const;  // any of the tree's
  // "Left 1"; `otherwise` for an empty or unknown branch.
  [[nodiscard]] QString branchName(const store::BranchId& id, const char* otherwise) const;
  [[nodiscard]] int branchPlace(const store::BranchId& id) const;  // −1 for none
};

[[nodiscard]] bool isChange(const std::string& figure);

// Latest row of each branch and figure, branches in order. Of changes: also those of every pair
// that was kept, and all baselines of the latest photo; newest first, then branches in order.
struct LatestRow {
  const work::FigureRow* row = nullptr;
  int number = 0;  // its number in the letter
};
[[nodiscard]] std::vector<LatestRow> latestFigures(const Matter& matter, bool changes);

[[nodiscard]] Matter pickMatter(const work::TreeDetail& detail, const LetterRequest& request);

}  // namespace edamori::letter
