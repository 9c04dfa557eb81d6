// SPDX-License-Identifier: GPL-3.0-or-later
// What becomes of offered scale insects: marks, or notes that there is none.
#include "app/pages/bench/photo_desk.h"

#include <algorithm>
#include <utility>

namespace edamori::pages {

bool PhotoDesk::acceptCandidates(const std::vector<vision::InsectCandidate>& candidates) {
  RecordChanges changes{.what = candidates.size() == 1
                                    ? tr("Accept scale insect")
                                    : tr("Accept %1 scale insects").arg(candidates.size())};
  for (const auto& candidate : candidates) {
    if (!m_photo || !isInside(candidate.centrePx)) {
      continue;
    }
    store::Mark dot;
    dot.id = store::MarkId::create();
    dot.photo = m_photo->id;
    dot.branch = branchAt(candidate.centrePx);
    dot.finding = store::Finding::ScaleInsect;
    dot.kind = store::MarkKind::Dot;
    dot.stage = store::Stage::Live;
    dot.centre = candidate.centrePx;
    dot.radiusPx = candidate.radiusPx;
    changes.marks.push_back({.before = std::nullopt, .after = std::move(dot)});
  }
  return push(std::move(changes));
}

bool PhotoDesk::rejectCandidates(const std::vector<vision::InsectCandidate>& candidates) {
  RecordChanges changes{.what = candidates.size() == 1
                                    ? tr("Reject offered insect")
                                    : tr("Reject %1 offered insects").arg(candidates.size())};
  for (const auto& candidate : candidates) {
    if (!m_photo) {
      continue;
    }
    changes.rejected.push_back(
        {.before = std::nullopt,
         .after = store::RejectedCandidate{.id = store::RejectedCandidateId::create(),
                                           .photo = m_photo->id,
                                           .finding = store::Finding::ScaleInsect,
                                           .centre = candidate.centrePx,
                                           .radiusPx = candidate.radiusPx}});
  }
  return push(std::move(changes));
}

}  // namespace edamori::pages
