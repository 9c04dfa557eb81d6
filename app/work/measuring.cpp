// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/measuring.h"

#include "app/work/photos.h"
#include "store/intake/originals.h"
#include "vision/load/load.h"

#include <algorithm>
#include <system_error>

namespace edamori::work {
namespace {

using store::Garden;
using store::Measurement;

template <typename Id>
auto require(const Garden& garden, const Id& id, const std::string& what) {
  auto found = garden.find(id);
  using Record = std::remove_cvref_t<decltype(**found)>;
  if (!found) {
    return Result<Record>(found.error());
  }
  if (!found->has_value()) {
    return Result<Record>(fail(ErrorCode::NotFound, "the " + what + " is no longer in the garden"));
  }
  return Result<Record>(std::move(**found));
}

Result<Subject> subjectOf(const Garden& garden, const store::BranchId& branch) {
  auto record = require(garden, branch, "branch");
  if (!record) {
    return record.error();
  }
  return require(garden, record->tree, "tree").transform([](store::Tree&& tree) {
    return tree.subject;
  });
}

// Empty when foliage can be measured there, else why not.
Result<std::string> whyNoFoliage(const Garden& garden, const store::BranchId& id) {
  return require(garden, id, "branch").transform([](store::Branch&& branch) {
    return store::carriesFoliage(branch.kind)
               ? std::string()
               : "\"" + branch.name + "\" is of the kind " + store::toText(branch.kind) +
                     " and carries no foliage to measure; count its marks instead";
  });
}

void leaveOutFigures(vision::Comparison& comparison, const std::string& reason) {
  comparison.lossByCover.reset();
  comparison.lossByLight.reset();
  comparison.spotChange.reset();
  comparison.before.reset();
  comparison.after.reset();
  comparison.verdict = Verdict::CannotTell;
  comparison.cautions = {{.code = "no-foliage-here", .text = reason}};
}

Result<std::string> saveMask(const Garden& garden,
                             const store::MeasurementId& id,
                             const LabelImage& labels) {
  const std::string name = "labels/" + id.text + ".png";
  std::error_code error;
  std::filesystem::create_directories(garden.folder() / "labels", error);
  if (error) {
    return fail(ErrorCode::Io, "cannot make the folder labels in " + garden.folder().string() +
                                   ": " + error.message());
  }
  EDAMORI_RETURN_IF_ERROR(vision::saveLabels(garden.folder() / name, labels));
  return name;
}

Measurement measurementOf(const store::OutlineRecord& outline,
                          const std::string& figure,
                          const Estimate& estimate,
                          const vision::MeasureResult& result) {
  return Measurement{.id = store::MeasurementId::create(),
                     .photo = outline.photo,
                     .branch = outline.branch,
                     .outline = outline.id,
                     .baselinePhoto = {},
                     .figure = figure,
                     .estimate = estimate,
                     .unit = "1",
                     .verdict = {},
                     .method = result.method,
                     .cautions = result.cautions,
                     .labelMask = {},
                     .madeAt = store::now()};
}

Result<void> putAll(Garden& garden, const std::vector<Measurement>& measurements) {
  return garden.inTransaction([&]() -> Result<void> {
    for (const Measurement& measurement : measurements) {
      EDAMORI_RETURN_IF_ERROR(garden.put(measurement));
    }
    return {};
  });
}

Result<std::vector<Measurement>> measureOn(Garden& garden,
                                           const RgbImage& image,
                                           const store::OutlineRecord& outline) {
  auto reason = whyNoFoliage(garden, outline.branch);
  if (!reason) {
    return reason.error();
  }
  if (!reason->empty()) {
    return fail(ErrorCode::NotMeasurable, *reason);
  }
  auto subject = subjectOf(garden, outline.branch);
  if (!subject) {
    return subject.error();
  }
  auto result = vision::measure(
      image, {.outline = outline.shape, .subject = *subject, .hints = std::nullopt});
  if (!result) {
    return result.error();
  }
  std::vector<Measurement> made;
  made.push_back(measurementOf(outline, "foliage", result->foliage, *result));
  auto mask = saveMask(garden, made.front().id, result->labels);
  if (!mask) {
    return mask.error();
  }
  made.front().labelMask = *mask;
  if (result->spot) {
    made.push_back(measurementOf(outline, "spot", *result->spot, *result));
    made.back().labelMask = *mask;
  }
  EDAMORI_RETURN_IF_ERROR(putAll(garden, made));
  return made;
}

// The outline of the branch on the photo, the newest when there are several.
Result<std::optional<store::OutlineRecord>> outlineOf(const Garden& garden,
                                                      const store::PhotoId& photo,
                                                      const store::BranchId& branch) {
  auto outlines = garden.outlines(photo);
  if (!outlines) {
    return outlines.error();
  }
  std::optional<store::OutlineRecord> newest;
  for (store::OutlineRecord& outline : *outlines) {
    if (outline.branch == branch && (!newest || newest->id < outline.id)) {
      newest = std::move(outline);
    }
  }
  return newest;
}

// What a comparison leaves in the garden.
std::vector<Measurement> changesOf(const vision::Comparison& comparison,
                                   const store::OutlineRecord& outlineBefore,
                                   const store::PhotoId& before,
                                   const store::PhotoId& after) {
  std::vector<Measurement> made;
  const auto add = [&](const std::string& figure, const std::optional<Estimate>& estimate) {
    if (!estimate) {
      return;
    }
    Measurement change = measurementOf(outlineBefore, figure, *estimate, *comparison.after);
    change.photo = after;
    change.baselinePhoto = before;
    change.cautions = comparison.cautions;
    made.push_back(std::move(change));
  };
  add("loss-by-cover", comparison.lossByCover);
  if (!made.empty()) {
    made.back().verdict = toText(comparison.verdict);
  }
  add("loss-by-light", comparison.lossByLight);
  add("spot-change", comparison.spotChange);
  return made;
}

// The nearest earlier photo of the same tree and view that has outlines.
Result<std::optional<store::Photo>> photoToCarryFrom(const Garden& garden,
                                                     const store::Photo& photo) {
  auto photos = garden.photos(photo.tree);
  if (!photos) {
    return photos.error();
  }
  std::optional<store::Photo> nearest;
  for (store::Photo& candidate : *photos) {
    const bool isCandidate =
        candidate.id != photo.id && store::isEarlier(candidate.takenAt, photo.takenAt) &&
        (photo.view == store::View::Unknown || candidate.view == store::View::Unknown ||
         candidate.view == photo.view);
    if (!isCandidate) {
      continue;
    }
    auto outlines = garden.outlines(candidate.id);
    if (!outlines) {
      return outlines.error();
    }
    if (!outlines->empty()) {
      nearest = std::move(candidate);
    }
  }
  return nearest;
}

}  // namespace

Result<OpenedPhoto> openPhotoFile(const std::filesystem::path& file) {
  auto bytes = store::readFile(file);
  if (!bytes) {
    return bytes.error();
  }
  auto metadata = store::readMetadata(file);
  if (!metadata) {
    return metadata.error();
  }
  auto loaded = vision::decodePhoto(
      *bytes, file.string(), {.exifOrientation = metadata->exifOrientation});
  if (!loaded) {
    return loaded.error();
  }
  return OpenedPhoto{.file = file,
                     .sha256 = store::sha256Of(*bytes),
                     .metadata = std::move(*metadata),
                     .image = std::move(loaded->image)};
}

Result<std::vector<Measurement>> measureOutline(Garden& garden, const store::OutlineId& id) {
  auto outline = require(garden, id, "outline");
  if (!outline) {
    return outline.error();
  }
  auto photo = require(garden, outline->photo, "photo");
  if (!photo) {
    return photo.error();
  }
  auto image = loadOriginal(garden, *photo);
  if (!image) {
    return image.error();
  }
  return measureOn(garden, *image, *outline);
}

Result<PhotoMeasuring> measurePhoto(Garden& garden, const store::PhotoId& id) {
  auto photo = require(garden, id, "photo");
  if (!photo) {
    return photo.error();
  }
  auto outlines = garden.outlines(id);
  if (!outlines) {
    return outlines.error();
  }
  PhotoMeasuring done;
  if (outlines->empty()) {
    return done;
  }
  auto image = loadOriginal(garden, *photo);
  if (!image) {
    return image.error();
  }
  for (const store::OutlineRecord& outline : *outlines) {
    auto made = measureOn(garden, *image, outline);
    if (made) {
      done.made.insert(done.made.end(), made->begin(), made->end());
    } else if (made.error().code == ErrorCode::NotMeasurable) {
      done.refused.emplace_back(outline.id, made.error().message);
    } else {
      return made.error();
    }
  }
  return done;
}

Result<StoredComparison> comparePhotos(Garden& garden,
                                       const store::BranchId& branch,
                                       const store::PhotoId& before,
                                       const store::PhotoId& after) {
  auto photoBefore = require(garden, before, "earlier photo");
  auto photoAfter = require(garden, after, "later photo");
  auto subject = subjectOf(garden, branch);
  auto outlineBefore = outlineOf(garden, before, branch);
  auto outlineAfter = outlineOf(garden, after, branch);
  if (!photoBefore || !photoAfter || !subject || !outlineBefore || !outlineAfter) {
    return !photoBefore  ? photoBefore.error()
           : !photoAfter ? photoAfter.error()
           : !subject    ? subject.error()
           : !outlineBefore ? outlineBefore.error()
                            : outlineAfter.error();
  }
  if (!outlineBefore->has_value()) {
    return fail(ErrorCode::InvalidArgument, photoBefore->originalName +
                                                " has no outline of this branch; draw it on the "
                                                "Bench first");
  }
  auto imageBefore = loadOriginal(garden, *photoBefore);
  if (!imageBefore) {
    return imageBefore.error();
  }
  auto imageAfter = loadOriginal(garden, *photoAfter);
  if (!imageAfter) {
    return imageAfter.error();
  }
  vision::CompareRequest request{
      .outlineBefore = (*outlineBefore)->shape, .outlineAfter = {}, .subject = *subject};
  // An outline drawn afresh on the later photo may take in other twigs; only one
  // that was carried over and then set right by a person is the same region.
  if (*outlineAfter && (*outlineAfter)->carriedFrom && (*outlineAfter)->confirmed) {
    request.outlineAfter = (*outlineAfter)->shape;
  }
  auto comparison = vision::compare(*imageBefore, *imageAfter, request);
  if (!comparison) {
    return comparison.error();
  }
  auto reason = whyNoFoliage(garden, branch);
  if (!reason) {
    return reason.error();
  }
  if (comparison->aligned && !reason->empty()) {
    leaveOutFigures(*comparison, *reason);
  }
  StoredComparison stored{.comparison = std::move(*comparison), .measurements = {}};
  if (stored.comparison.aligned && stored.comparison.after) {
    stored.measurements = changesOf(stored.comparison, **outlineBefore, before, after);
    EDAMORI_RETURN_IF_ERROR(putAll(garden, stored.measurements));
  }
  return stored;
}

Result<int> carryOutlines(Garden& garden, const store::PhotoId& id) {
  auto photo = require(garden, id, "photo");
  if (!photo) {
    return photo.error();
  }
  auto source = photoToCarryFrom(garden, *photo);
  if (!source) {
    return source.error();
  }
  if (!source->has_value()) {
    return 0;
  }
  auto before = loadPreview(garden, **source, kLargePreviewPx);
  auto after = loadPreview(garden, *photo, kLargePreviewPx);
  auto outlines = garden.outlines((*source)->id);
  if (!before || !after || !outlines) {
    return !before ? before.error() : !after ? after.error() : outlines.error();
  }
  const auto alignment = vision::align(*before, *after, std::nullopt);
  if (!alignment) {
    return 0;
  }
  const double beforePerFull = static_cast<double>(before->width()) / (*source)->widthPx;
  const double fullPerAfter = static_cast<double>(photo->widthPx) / after->width();
  const Homography shrink{beforePerFull, 0, 0, 0, beforePerFull, 0, 0, 0, 1};
  const Homography grow{fullPerAfter, 0, 0, 0, fullPerAfter, 0, 0, 0, 1};
  int carried = 0;
  const Result<void> stored = garden.inTransaction([&]() -> Result<void> {
    for (const store::OutlineRecord& outline : *outlines) {
      const Outline shape =
          mapped(grow, mapped(alignment->afterFromBefore, mapped(shrink, outline.shape)));
      const PointPx centre = centroidPx(shape.polygon);
      const bool isSeen = centre.x >= 0 && centre.y >= 0 && centre.x < photo->widthPx &&
                          centre.y < photo->heightPx;
      if (!isSeen) {
        continue;
      }
      EDAMORI_RETURN_IF_ERROR(
          garden.put(store::OutlineRecord{.id = store::OutlineId::create(),
                                          .photo = id,
                                          .branch = outline.branch,
                                          .shape = shape,
                                          .carriedFrom = (*source)->id,
                                          .residualPx = alignment->residualPx * fullPerAfter,
                                          .confirmed = false}));
      ++carried;
    }
    return {};
  });
  if (!stored) {
    return stored.error();
  }
  return carried;
}

}  // namespace edamori::work
