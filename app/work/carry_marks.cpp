// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/carry_marks.h"

#include "app/work/photos.h"
#include "app/work/required_internal.h"
#include "vision/align/by_outlines.h"
#include "vision/align/compare.h"

#include <algorithm>
#include <cmath>

namespace edamori::work {

namespace {

bool isOn(const store::Photo& photo, PointPx point) {
  return std::isfinite(point.x) && std::isfinite(point.y) && point.x >= 0 && point.y >= 0 &&
         point.x <= photo.widthPx && point.y <= photo.heightPx;
}

Homography scaling(double factor) { return {factor, 0, 0, 0, factor, 0, 0, 0, 1}; }

struct Side {
  const store::Photo& photo;
  const RgbImage& preview;
};

// The branch's outline on the photo's preview, as a person drew or confirmed it.
Result<std::optional<Outline>> outlineOn(const store::Garden& garden, const Side& side,
                                         const store::BranchId& branch) {
  const auto outlines = garden.outlines(side.photo.id);
  if (!outlines) {
    return outlines.error();
  }
  for (const auto& outline : *outlines) {
    if (outline.branch == branch && outline.confirmed) {
      return std::optional(
          mapped(scaling(static_cast<double>(side.preview.width()) / side.photo.widthPx), outline.shape));
    }
  }
  return std::optional<Outline>();
}

// By what the photos show of the branch, else by its outlines on both, else by the whole photos.
Result<vision::Alignment> aligned(const store::Garden& garden, const Side& from, const Side& to,
                                  const store::BranchId& branch) {
  const auto before = outlineOn(garden, from, branch);
  const auto after = outlineOn(garden, to, branch);
  if (!before || !after) {
    return !before ? before.error() : after.error();
  }
  if (*before) {
    if (auto own = vision::align(from.preview, to.preview, *before)) {
      return own;
    }
    if (*after) {
      if (auto drawn = vision::alignByOutlines(from.preview, to.preview, **before, **after)) {
        return drawn;
      }
    }
  }
  return vision::align(from.preview, to.preview, std::nullopt);
}

}  // namespace

store::BranchId sharedBranch(const std::vector<store::Mark>& marks) {
  const auto branch = marks.empty() ? store::BranchId{} : marks.front().branch;
  return std::ranges::all_of(marks, [&](const store::Mark& mark) { return mark.branch == branch; })
             ? branch
             : store::BranchId{};
}

Result<std::optional<store::PhotoId>> photoToCarryMarksTo(const store::Garden& garden,
                                                          const store::PhotoId& from,
                                                          const store::BranchId& branch) {
  const auto photo = require(garden, from, "photo");
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
  const auto earlier = require(garden, from, "photo");
  const auto later = require(garden, to, "photo");
  if (!earlier || !later) {
    return !earlier ? earlier.error() : later.error();
  }
  const auto before = loadPreview(garden, *earlier, kLargePreviewPx);
  const auto after = loadPreview(garden, *later, kLargePreviewPx);
  if (!before || !after) {
    return !before ? before.error() : after.error();
  }
  const auto alignment =
      aligned(garden, {.photo = *earlier, .preview = *before}, {.photo = *later, .preview = *after},
              sharedBranch(marks));
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
  CarriedMarks result{.marks = {}, .errorPx = alignment->errorPx * fullPerPreview};
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
