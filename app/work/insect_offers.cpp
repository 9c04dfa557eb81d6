// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/insect_offers.h"

#include "app/work/photo_scale.h"
#include "app/work/photos.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace edamori::work {
namespace {

double distancePx(PointPx a, PointPx b) { return std::hypot(a.x - b.x, a.y - b.y); }

bool isOn(const vision::InsectCandidate& candidate, const store::Mark& mark) {
  if (mark.finding != store::Finding::ScaleInsect) {
    return false;
  }
  if (mark.kind == store::MarkKind::Patch && !mark.patch.empty()) {
    return contains(mark.patch, candidate.centrePx);
  }
  return distancePx(candidate.centrePx, mark.centre) <= std::max(candidate.radiusPx, mark.radiusPx);
}

bool isOn(const vision::InsectCandidate& candidate, const store::RejectedCandidate& rejected) {
  return rejected.finding == store::Finding::ScaleInsect &&
         distancePx(candidate.centrePx, rejected.centre) <=
             std::max(candidate.radiusPx, rejected.radiusPx);
}

Result<vision::InsectSearch> searchFor(const store::Garden& garden, const store::PhotoId& photo) {
  vision::InsectSearch search;
  const auto outlines = garden.outlines(photo);
  if (!outlines) {
    return outlines.error();
  }
  for (const store::OutlineRecord& outline : *outlines) {
    if (outline.confirmed) {
      search.outlines.push_back(outline.shape);
    }
  }
  const auto rulers = garden.rulers(photo);
  if (!rulers) {
    return rulers.error();
  }
  if (!rulers->empty()) {
    auto sizes = vision::insectSizesAt(scaleOf(rulers->back()).mmPerPx);
    if (!sizes) {
      return sizes.error();
    }
    search.sizes = *sizes;
  }
  return search;
}

}  // namespace

Result<std::vector<vision::InsectCandidate>> findInsects(const store::Garden& garden,
                                                         const store::PhotoId& photo,
                                                         std::function<bool(double)> goOn) {
  const auto found = garden.find(photo);
  if (!found) {
    return found.error();
  }
  if (!*found) {
    return fail(ErrorCode::NotFound, "this photo is no longer in the garden; choose another one");
  }
  auto search = searchFor(garden, photo);
  if (!search) {
    return search.error();
  }
  search->goOn = std::move(goOn);
  const auto image = loadOriginal(garden, **found);
  if (!image) {
    return image.error();
  }
  return vision::findScaleInsects(*image, *search);
}

std::vector<vision::InsectCandidate> stillOffered(
    const std::vector<vision::InsectCandidate>& candidates,
    const std::vector<store::Mark>& marks,
    const std::vector<store::RejectedCandidate>& rejected) {
  std::vector<vision::InsectCandidate> offered;
  for (const vision::InsectCandidate& candidate : candidates) {
    const auto isThere = [&candidate](const auto& record) { return isOn(candidate, record); };
    if (std::ranges::none_of(marks, isThere) && std::ranges::none_of(rejected, isThere)) {
      offered.push_back(candidate);
    }
  }
  return offered;
}

}  // namespace edamori::work
