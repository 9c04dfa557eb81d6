// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/carry_marks.h"

#include "app/work/photos.h"
#include "vision/align/compare.h"

#include <algorithm>
#include <cmath>

namespace edamori::work {

namespace {

Result<store::Photo> require(const store::Garden& garden, const store::PhotoId& id) {
  auto found = garden.find(id);
  if (!found) {
    return std::move(found).error();
  }
  if (!*found) {
    return fail(ErrorCode::NotFound, "this photo is no longer in the garden; choose another one");
  }
  return **std::move(found);
}

bool isOn(const store::Photo& photo, PointPx point) {
  return std::isfinite(point.x) && std::isfinite(point.y) && point.x >= 0 && point.y >= 0 &&
         point.x <= photo.widthPx && point.y <= photo.heightPx;
}

Homography scaling(double factor) { return {factor, 0, 0, 0, factor, 0, 0, 0, 1}; }

}  // namespace

Result<std::optional<store::PhotoId>> photoToCarryMarksTo(const store::Garden& garden,
                                                          const store::PhotoId& from,
                                                          const store::BranchId& branch) {
  const auto photo = require(garden, from);
  if (!photo) {
    return photo.error();
  }
  const auto photos = garden.photos(photo->tree);
  if (!photos) {
    return photos.error();
  }
  const auto here = std::ranges::find(*photos, from, &store::Photo::id);
  std::optional<store::PhotoId> next;
  for (auto later = here == photos->end() ? here : here + 1; later != photos->end(); ++later) {
    next = next ? next : std::optional(later->id);
    const auto outlines = garden.outlines(later->id);
    if (!outlines) {
      return outlines.error();
    }
    if (!branch.isEmpty() && std::ranges::find(*outlines, branch, &store::OutlineRecord::branch) !=
                                 outlines->end()) {
      return std::optional(later->id);
    }
  }
  return next;
}

Result<CarriedMarks> carryMarks(const store::Garden& garden,
                                const store::PhotoId& from,
                                const store::PhotoId& to,
                                const std::vector<store::Mark>& marks) {
  const auto earlier = require(garden, from);
  const auto later = require(garden, to);
  if (!earlier || !later) {
    return !earlier ? earlier.error() : later.error();
  }
  const auto before = loadPreview(garden, *earlier, kLargePreviewPx);
  const auto after = loadPreview(garden, *later, kLargePreviewPx);
  if (!before || !after) {
    return !before ? before.error() : after.error();
  }
  const auto alignment = vision::align(*before, *after, std::nullopt);
  if (!alignment) {
    return fail(ErrorCode::NotMeasurable,
                "the marks cannot be laid on " + later->originalName + ": " +
                    alignment.error().message);
  }
  const auto shrink = scaling(static_cast<double>(before->width()) / earlier->widthPx);
  const double fullPerPreview = static_cast<double>(later->widthPx) / after->width();
  const auto grow = scaling(fullPerPreview);
  const auto carried = [&](PointPx point) {
    return mapped(grow, mapped(alignment->afterFromBefore, mapped(shrink, point)));
  };
  CarriedMarks result{.marks = {}, .residualPx = alignment->residualPx * fullPerPreview};
  for (store::Mark mark : marks) {
    mark.id = {};
    mark.photo = to;
    mark.centre = carried(mark.centre);
    std::ranges::transform(mark.patch, mark.patch.begin(), carried);
    if (isOn(*later, mark.centre) &&
        std::ranges::all_of(mark.patch, [&](PointPx p) { return isOn(*later, p); })) {
      result.marks.push_back(std::move(mark));
    }
  }
  return result;
}

}  // namespace edamori::work
