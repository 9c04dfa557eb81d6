// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/carry_outlines.h"

#include "app/work/photos.h"
#include "app/work/required_internal.h"
#include "vision/align/compare.h"

#include <algorithm>
#include <set>
#include <utility>

namespace edamori::work {
namespace {

using store::Garden;
using store::OutlineRecord;

// A place that one branch was carried to is no ground to carry it on from.
bool isPersons(const OutlineRecord& outline) { return outline.confirmed; }

bool showSameSide(const store::Photo& a, const store::Photo& b) {
  return a.view == store::View::Unknown || b.view == store::View::Unknown || a.view == b.view;
}

struct Source {
  store::Photo photo;
  std::vector<OutlineRecord> outlines;
};

Result<std::vector<OutlineRecord>> usableOutlines(const Garden& garden,
                                                  const store::PhotoId& photo,
                                                  const std::set<store::BranchId>& known) {
  auto outlines = garden.outlines(photo);
  if (outlines) {
    std::erase_if(*outlines, [&](const OutlineRecord& outline) {
      return !isPersons(outline) || known.contains(outline.branch);
    });
  }
  return outlines;
}

// The latest earlier photo that has such outlines, else the earliest later one.
Result<std::optional<Source>> sourceFor(const Garden& garden, const store::Photo& photo) {
  const auto own = garden.outlines(photo.id);
  const auto photos = garden.photos(photo.tree);  // earliest first
  if (!own || !photos) {
    return !own ? own.error() : photos.error();
  }
  std::set<store::BranchId> known;
  for (const OutlineRecord& outline : *own) {
    known.insert(outline.branch);
  }
  std::optional<Source> nearest;
  for (const store::Photo& candidate : *photos) {
    if (candidate.id == photo.id || !showSameSide(candidate, photo)) {
      continue;
    }
    const bool isLater = !store::isEarlier(candidate.takenAt, photo.takenAt);
    if (isLater && nearest) {
      break;
    }
    auto outlines = usableOutlines(garden, candidate.id, known);
    if (!outlines) {
      return outlines.error();
    }
    if (!outlines->empty()) {
      nearest = Source{.photo = candidate, .outlines = *std::move(outlines)};
    }
  }
  return nearest;
}

Homography scaling(double factor) { return {factor, 0, 0, 0, factor, 0, 0, 0, 1}; }

bool isSeen(const Outline& shape, const store::Photo& photo) {
  const PointPx centre = centroidPx(shape.polygon);
  return centre.x >= 0 && centre.y >= 0 && centre.x < photo.widthPx && centre.y < photo.heightPx;
}

Result<std::vector<OutlineRecord>> carriedTo(const store::Photo& photo,
                                             const Source& source,
                                             const RgbImage& before,
                                             const RgbImage& after) {
  const double beforePerFull = static_cast<double>(before.width()) / source.photo.widthPx;
  const double fullPerAfter = static_cast<double>(photo.widthPx) / after.width();
  std::vector<Outline> shapes;
  for (const OutlineRecord& outline : source.outlines) {
    shapes.push_back(mapped(scaling(beforePerFull), outline.shape));
  }
  const auto carried = vision::carriedOutlines(before, after, shapes);
  if (!carried) {
    return carried.error();
  }
  std::vector<OutlineRecord> records;
  for (std::size_t i = 0; i < carried->size(); ++i) {
    const auto& one = carried->at(i);
    const Outline shape = one ? mapped(scaling(fullPerAfter), one->shape) : Outline{};
    if (one && isSeen(shape, photo)) {
      records.push_back(
          {.id = store::OutlineId::create(),
           .photo = photo.id,
           .branch = source.outlines[i].branch,
           .shape = shape,
           .carriedFrom = source.photo.id,
           .residualPx = one->isCertain ? std::optional(one->errorPx * fullPerAfter) : std::nullopt,
           .confirmed = false});
    }
  }
  return records;
}

}  // namespace

int ProposedOutlines::guesses() const {
  return static_cast<int>(
      std::count_if(outlines.begin(), outlines.end(), [](const OutlineRecord& outline) {
        return !outline.residualPx;
      }));
}

Result<ProposedOutlines> proposeOutlines(const Garden& garden, const store::PhotoId& id) {
  const auto photo = require(garden, id, "photo");
  if (!photo) {
    return photo.error();
  }
  ProposedOutlines proposed;
  const auto source = sourceFor(garden, *photo);
  if (!source || !*source) {
    return !source ? Result<ProposedOutlines>(source.error()) : proposed;
  }
  proposed.from = (*source)->photo.id;
  const auto before = loadPreview(garden, (*source)->photo, kLargePreviewPx);
  const auto after = loadPreview(garden, *photo, kLargePreviewPx);
  if (!before || !after) {
    return !before ? before.error() : after.error();
  }
  auto records = carriedTo(*photo, **source, *before, *after);
  if (records) {
    proposed.outlines = *std::move(records);
  } else if (records.error().code != ErrorCode::NotMeasurable) {
    return records.error();
  }
  return proposed;
}

Result<CarriedTally> carryOutlines(Garden& garden,
                                   const std::vector<store::PhotoId>& photos,
                                   const std::function<bool(int done)>& goOn) {
  CarriedTally tally;
  for (std::size_t i = 0; i < photos.size(); ++i) {
    if (goOn && !goOn(static_cast<int>(i))) {
      break;
    }
    const auto proposed = proposeOutlines(garden, photos[i]);
    if (!proposed) {
      continue;
    }
    EDAMORI_RETURN_IF_ERROR(garden.inTransaction([&]() -> Result<void> {
      for (const OutlineRecord& outline : proposed->outlines) {
        EDAMORI_RETURN_IF_ERROR(garden.put(outline));
      }
      return {};
    }));
    tally.outlines += static_cast<int>(proposed->outlines.size());
    tally.photosWithoutAny += proposed->from && proposed->outlines.empty() ? 1 : 0;
  }
  return tally;
}

}  // namespace edamori::work
