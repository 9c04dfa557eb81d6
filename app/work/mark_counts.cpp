// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/mark_counts.h"

#include <algorithm>

namespace edamori::work {

namespace {

void add(const store::Mark& mark, FindingCount& to) {
  int& sum = mark.stage == store::Stage::Live   ? to.live
             : mark.stage == store::Stage::Dead ? to.dead
                                                : to.removed;
  sum += mark.count;
  if (mark.stage != store::Stage::Removed) {
    int& marks = mark.kind == store::MarkKind::Patch ? to.patches : to.dots;
    ++marks;
  }
}

std::vector<Polygon> patchesOf(const std::vector<store::Mark>& marks, const FindingCount& count) {
  std::vector<Polygon> patches;
  for (const store::Mark& mark : marks) {
    if (mark.branch == count.branch && mark.finding == count.finding &&
        mark.kind == store::MarkKind::Patch && mark.stage != store::Stage::Removed) {
      patches.push_back(mark.patch);
    }
  }
  return patches;
}

}  // namespace

bool isInsect(store::Finding finding) {
  return finding == store::Finding::ScaleInsect || finding == store::Finding::Aphids;
}

bool isPlainPatch(const store::Mark& mark) {
  return mark.kind == store::MarkKind::Patch && !isInsect(mark.finding) && mark.count == 1 &&
         mark.stage == store::Stage::Live;
}

std::vector<FindingCount> countMarks(const std::vector<store::Mark>& marks,
                                     const std::vector<store::OutlineRecord>& outlines) {
  std::vector<FindingCount> counts;
  for (const store::Mark& mark : marks) {
    auto place = std::find_if(counts.begin(), counts.end(), [&](const FindingCount& count) {
      return count.branch == mark.branch && count.finding == mark.finding;
    });
    if (place == counts.end()) {
      place = counts.insert(place, {.branch = mark.branch, .finding = mark.finding});
    }
    add(mark, *place);
  }
  for (FindingCount& count : counts) {
    const auto outline = std::find_if(outlines.begin(), outlines.end(), [&](const auto& one) {
      return !count.branch.isEmpty() && one.branch == count.branch;
    });
    if (outline != outlines.end()) {
      count.patchShare = shareInside(patchesOf(marks, count), outline->shape);
    }
  }
  return counts;
}

std::optional<double> shareInside(const std::vector<Polygon>& patches, const Outline& outline) {
  constexpr int kSteps = 200;
  const BoundsPx box = boundsPx(outline.polygon);
  int inOutline = 0, inPatch = 0;
  for (int row = 0; row < kSteps; ++row) {
    for (int column = 0; column < kSteps; ++column) {
      const PointPx at{.x = box.left + (column + 0.5) * box.width() / kSteps,
                       .y = box.top + (row + 0.5) * box.height() / kSteps};
      if (!contains(outline, at)) {
        continue;
      }
      ++inOutline;
      inPatch += std::any_of(patches.begin(), patches.end(), [&at](const Polygon& patch) {
        return contains(patch, at);
      });
    }
  }
  if (patches.empty() || inOutline == 0) {
    return std::nullopt;
  }
  return static_cast<double>(inPatch) / inOutline;
}

}  // namespace edamori::work
