// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/measuring.h"

#include "app/work/figure_inputs.h"
#include "app/work/hint_image.h"
#include "app/work/learning.h"
#include "app/work/pair_help.h"
#include "app/work/photos.h"
#include "app/work/required_internal.h"
#include "store/intake/originals.h"
#include "vision/load/load.h"

#include <algorithm>
#include <span>
#include <system_error>

namespace edamori::work {
namespace {

using store::Garden;
using store::Measurement;

Result<store::Tree> treeOf(const Garden& garden, const store::BranchId& branch) {
  auto record = require(garden, branch, "branch");
  if (!record) {
    return record.error();
  }
  return require(garden, record->tree, "tree");
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

// Gives the name of the file below the garden's folder.
Result<std::string> saveBelow(const Garden& garden,
                              const std::string& folder,
                              const std::string& stem,
                              const LabelImage& image) {
  const std::string name = folder + "/" + stem + ".png";
  std::error_code error;
  std::filesystem::create_directories(garden.folder() / folder, error);
  if (error) {
    return fail(ErrorCode::Io, "cannot make the folder " + folder + " in " +
                                   garden.folder().string() + ": " + error.message());
  }
  EDAMORI_RETURN_IF_ERROR(vision::saveLabels(garden.folder() / name, image));
  return name;
}

// Empty without hints. Many outlines of a photo share one file.
Result<std::string> saveHints(const Garden& garden, const std::optional<LabelImage>& hints) {
  if (!hints) {
    return std::string();
  }
  const std::string stem = store::sha256Of(std::as_bytes(std::span(hints->data(), hints->byteCount())));
  return saveBelow(garden, "hints", stem, *hints);
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
                     .hintMask = {},
                     .madeAt = store::now()};
}

// What speaks against the spotted share alone does not stand beside a figure of cover.
void dropCautionsOfSpots(Measurement& measurement) {
  std::erase_if(measurement.cautions, vision::isOfSpotsAlone);
}

// A likely place is a question to a person, not yet an outline.
Result<void> checkPlace(const store::OutlineRecord& outline) {
  if (outline.confirmed || outline.residualPx) {
    return {};
  }
  return fail(ErrorCode::NotMeasurable,
              "this outline is only the likeliest place of the branch; move it where it is off and confirm it on "
              "the Bench, then measure");
}

void addCautionOfPlace(const store::OutlineRecord& outline, std::vector<Caution>& cautions) {
  if (!outline.confirmed) {
    cautions.push_back({.code = "outline-unconfirmed",
                        .text = "The outline was carried over from another photo, and nobody has confirmed that it "
                                "lies right."});
  }
}

// A photo of the garden, ready to be measured.
struct OpenedOriginal {
  std::string sha256;
  RgbImage image;
};

Result<OpenedOriginal> openOriginal(const Garden& garden, const store::Photo& photo) {
  return loadOriginal(garden, photo).transform([&photo](RgbImage&& image) {
    return OpenedOriginal{.sha256 = photo.sha256, .image = std::move(image)};
  });
}

Result<void> putAll(Garden& garden, const std::vector<Measurement>& measurements) {
  return garden.inTransaction([&]() -> Result<void> {
    for (const Measurement& measurement : measurements) {
      EDAMORI_RETURN_IF_ERROR(garden.put(measurement));
    }
    return {};
  });
}

// The figures of one measuring, with all that is needed to recompute them.
Result<std::vector<Measurement>> figuresOf(const Garden& garden,
                                           const store::OutlineRecord& outline,
                                           vision::MeasureResult result,
                                           const Prior& prior,
                                           const std::optional<LabelImage>& hints) {
  result.method.parameters = withInputs(result.method.parameters,
                                        {.learned = prior.weights,
                                         .earlierPhotos = prior.earlierPhotos,
                                         .outline = outline.shape,
                                         .outlineAfter = {}});
  addCautionOfPlace(outline, result.cautions);
  std::vector<Measurement> made{measurementOf(outline, "foliage", result.foliage, result)};
  dropCautionsOfSpots(made.front());
  if (result.spot) {
    made.push_back(measurementOf(outline, "spot", *result.spot, result));
  }
  auto mask = saveBelow(garden, "labels", made.front().id.text, result.labels);
  auto hintMask = saveHints(garden, hints);
  if (!mask || !hintMask) {
    return !mask ? mask.error() : hintMask.error();
  }
  for (Measurement& measurement : made) {
    measurement.labelMask = *mask;
    measurement.hintMask = *hintMask;
  }
  return made;
}

Result<MeasuringInputs> inputsOf(const Garden& garden,
                                 const store::OutlineRecord& outline,
                                 const std::string& photoSha256) {
  auto reason = whyNoFoliage(garden, outline.branch);
  if (!reason) {
    return reason.error();
  }
  if (!reason->empty()) {
    return fail(ErrorCode::NotMeasurable, *reason);
  }
  EDAMORI_RETURN_IF_ERROR(checkPlace(outline));
  auto tree = treeOf(garden, outline.branch);
  if (!tree) {
    return tree.error();
  }
  LearningPlace place{.tree = tree->id,
                      .subject = tree->subject,
                      .photoSha256 = photoSha256,
                      .outline = outline.id};
  return priorFor(garden, place).transform([&](Prior&& prior) {
    return MeasuringInputs{
        .outline = outline, .place = std::move(place), .prior = std::move(prior)};
  });
}

// Hints that the caller gives stand in for the strokes kept with the photo.
Result<std::vector<Measurement>> measureOn(Garden& garden,
                                           const OpenedOriginal& original,
                                           const store::OutlineRecord& outline,
                                           const std::optional<LabelImage>& given) {
  const auto inputs = inputsOf(garden, outline, original.sha256);
  if (!inputs) {
    return inputs.error();
  }
  const auto strokes = garden.hintStrokes(outline.photo);
  if (!strokes) {
    return strokes.error();
  }
  const std::optional<LabelImage> hints =
      given ? given : hintImage(*strokes, original.image.width(), original.image.height());
  auto result = vision::measure(original.image, {.outline = outline.shape,
                                                 .subject = inputs->place.subject,
                                                 .hints = hints,
                                                 .learned = inputs->prior.weights});
  if (!result) {
    return result.error();
  }
  const vision::Correction learned = result->learned;
  auto made = figuresOf(garden, outline, std::move(*result), inputs->prior, hints);
  if (!made) {
    return made.error();
  }
  EDAMORI_RETURN_IF_ERROR(garden.inTransaction([&]() -> Result<void> {
    EDAMORI_RETURN_IF_ERROR(putAll(garden, *made));
    return keepLearned(garden, inputs->place, inputs->prior, learned);
  }));
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

// Two photos of one branch, with what the garden knows of it.
struct PairToCompare {
  store::Photo before, after;
  store::Tree tree;
  store::OutlineRecord outlineBefore;
  std::optional<store::OutlineRecord> outlineAfter;
  std::optional<store::PairHelp> help;
};

Result<PairToCompare> pairToCompare(const Garden& garden,
                                    const store::BranchId& branch,
                                    const store::PhotoId& before,
                                    const store::PhotoId& after) {
  auto photoBefore = require(garden, before, "earlier photo");
  auto photoAfter = require(garden, after, "later photo");
  auto tree = treeOf(garden, branch);
  auto outlineBefore = outlineOf(garden, before, branch);
  auto outlineAfter = outlineOf(garden, after, branch);
  auto help = garden.pairHelp(branch, before, after);
  if (!help) {
    return help.error();
  }
  if (!photoBefore || !photoAfter || !tree || !outlineBefore || !outlineAfter) {
    return !photoBefore     ? photoBefore.error()
           : !photoAfter    ? photoAfter.error()
           : !tree          ? tree.error()
           : !outlineBefore ? outlineBefore.error()
                            : outlineAfter.error();
  }
  if (!outlineBefore->has_value()) {
    return fail(ErrorCode::InvalidArgument, photoBefore->originalName +
                                                " has no outline of this branch; draw it on the "
                                                "Bench first");
  }
  return PairToCompare{.before = std::move(*photoBefore),
                       .after = std::move(*photoAfter),
                       .tree = std::move(*tree),
                       .outlineBefore = std::move(**outlineBefore),
                       .outlineAfter = std::move(*outlineAfter),
                       .help = std::move(*help)};
}

vision::CompareRequest requestFor(const PairToCompare& pair, const Prior& prior) {
  vision::CompareRequest request{.outlineBefore = pair.outlineBefore.shape,
                                 .outlineAfter = {},
                                 .subject = pair.tree.subject,
                                 .learned = prior.weights};
  // An outline drawn afresh on the later photo may take in other twigs; only one
  // that was carried over and then set right by a person is the same region.
  if (pair.outlineAfter && pair.outlineAfter->confirmed) {
    request.drawnAfter = pair.outlineAfter->shape;
    if (pair.outlineAfter->carriedFrom) {
      request.outlineAfter = pair.outlineAfter->shape;
    }
  }
  if (pair.help) {
    request.points = pointPairsOf(*pair.help);
    if (!pair.help->outlineAfter.empty()) {
      request.outlineAfter =
          Outline{.polygon = pair.help->outlineAfter, .holes = pair.help->holesAfter};
    }
  }
  return request;
}

// Errors: Cancelled when the listener wants no more.
Result<void> goOn(const CompareListener& listener, const char* doing) {
  if (listener && !listener(doing)) {
    return fail(ErrorCode::Cancelled, "comparing was stopped; nothing was stored");
  }
  return {};
}

// Cautions that the pixels do not know of, and no figures where there is no foliage.
Result<void> addWhatThePairAsks(const Garden& garden, const PairToCompare& pair, vision::Comparison& comparison) {
  const auto reason = whyNoFoliage(garden, pair.outlineBefore.branch);
  if (!reason) {
    return reason.error();
  }
  if (comparison.aligned && !reason->empty()) {
    leaveOutFigures(comparison, *reason);
  }
  addCautionOfPlace(pair.outlineBefore, comparison.cautions);
  if (comparison.aligned && pair.help && !pair.help->outlineAfter.empty()) {
    comparison.cautions.push_back(
        {.code = "outline-by-hand", .text = "A person moved the outline on the later photo for this pair."});
  }
  const store::LocalTime& before = pair.before.takenAt;
  const store::LocalTime& after = pair.after.takenAt;
  if (before.isKnown() && after.isKnown() && before.date > after.date) {
    comparison.cautions.push_back(
        {.code = "dates-swapped",
         .text = "By the dates of the photos the one taken for the earlier is the later one; swap the two, or set "
                 "their dates right."});
  }
  return {};
}

// What a comparison leaves in the garden.
std::vector<Measurement> changesOf(const vision::Comparison& comparison,
                                   const store::OutlineRecord& outlineBefore,
                                   const store::PhotoId& before,
                                   const store::PhotoId& after,
                                   const FigureInputs& inputs) {
  std::vector<Measurement> made;
  const auto add = [&](const std::string& figure, const std::optional<Estimate>& estimate) {
    if (!estimate) {
      return;
    }
    Measurement change = measurementOf(outlineBefore, figure, *estimate, *comparison.after);
    change.photo = after;
    change.baselinePhoto = before;
    change.cautions = comparison.cautions;
    change.method.parameters = withInputs(change.method.parameters, inputs);
    if (figure != "spot-change") {
      dropCautionsOfSpots(change);
    }
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

// A change that comparing the pair stated earlier and does not state now would stay its latest word.
Result<void> removeOutdated(Garden& garden, const PairToCompare& pair, const std::vector<Measurement>& made) {
  const auto earlier = garden.measurements(pair.after.id);
  if (!earlier) {
    return earlier.error();
  }
  for (const Measurement& old : *earlier) {
    const bool isOfPair = old.branch == pair.outlineBefore.branch && old.baselinePhoto == pair.before.id;
    if (isOfPair && std::ranges::find(made, old.figure, &Measurement::figure) == made.end()) {
      EDAMORI_RETURN_IF_ERROR(garden.remove(old.id));
    }
  }
  return {};
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

Result<MeasuringInputs> measuringInputs(const Garden& garden, const store::OutlineId& id) {
  auto outline = require(garden, id, "outline");
  if (!outline) {
    return outline.error();
  }
  auto photo = require(garden, outline->photo, "photo");
  if (!photo) {
    return photo.error();
  }
  return inputsOf(garden, *outline, photo->sha256);
}

Result<std::vector<Measurement>> measureOutline(Garden& garden,
                                                const store::OutlineId& id,
                                                const std::optional<LabelImage>& hints) {
  auto outline = require(garden, id, "outline");
  if (!outline) {
    return outline.error();
  }
  auto photo = require(garden, outline->photo, "photo");
  if (!photo) {
    return photo.error();
  }
  auto original = openOriginal(garden, *photo);
  if (!original) {
    return original.error();
  }
  return measureOn(garden, *original, *outline, hints);
}

Result<PhotoMeasuring> measurePhoto(Garden& garden,
                                    const store::PhotoId& id,
                                    const std::optional<LabelImage>& hints) {
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
  auto original = openOriginal(garden, *photo);
  if (!original) {
    return original.error();
  }
  for (const store::OutlineRecord& outline : *outlines) {
    auto made = measureOn(garden, *original, outline, hints);
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
                                       const store::PhotoId& after,
                                       const CompareListener& listener) {
  const auto pair = pairToCompare(garden, branch, before, after);
  if (!pair) {
    return pair.error();
  }
  EDAMORI_RETURN_IF_ERROR(goOn(listener, "Reading the earlier photo"));
  auto imageBefore = loadOriginal(garden, pair->before);
  if (!imageBefore) {
    return imageBefore.error();
  }
  EDAMORI_RETURN_IF_ERROR(goOn(listener, "Reading the later photo"));
  auto imageAfter = loadOriginal(garden, pair->after);
  if (!imageAfter) {
    return imageAfter.error();
  }
  EDAMORI_RETURN_IF_ERROR(goOn(listener, "Laying one photo on the other and measuring both"));
  const auto prior = priorFor(garden, {.tree = pair->tree.id, .subject = pair->tree.subject});
  if (!prior) {
    return prior.error();
  }
  const vision::CompareRequest request = requestFor(*pair, *prior);
  auto comparison = vision::compare(*imageBefore, *imageAfter, request);
  if (!comparison) {
    return comparison.error();
  }
  EDAMORI_RETURN_IF_ERROR(goOn(listener, "Keeping the figures"));
  EDAMORI_RETURN_IF_ERROR(addWhatThePairAsks(garden, *pair, *comparison));
  StoredComparison stored{.comparison = std::move(*comparison),
                          .outlineBefore = pair->outlineBefore.shape,
                          .measurements = {}};
  if (stored.comparison.aligned && stored.comparison.after) {
    stored.measurements = changesOf(stored.comparison,
                                    pair->outlineBefore,
                                    before,
                                    after,
                                    {.learned = prior->weights,
                                     .earlierPhotos = prior->earlierPhotos,
                                     .outline = request.outlineBefore,
                                     .outlineAfter = request.outlineAfter,
                                     .drawnAfter = request.drawnAfter,
                                     .points = request.points,
                                     .compareVersion = vision::kCompareVersion,
                                     .coverBefore = stored.comparison.before->foliage,
                                     .coverAfter = stored.comparison.after->foliage,
                                     .placedAfter = stored.comparison.outlineAfter});
  }
  EDAMORI_RETURN_IF_ERROR(garden.inTransaction([&]() -> Result<void> {
    EDAMORI_RETURN_IF_ERROR(removeOutdated(garden, *pair, stored.measurements));
    return putAll(garden, stored.measurements);
  }));
  return stored;
}

}  // namespace edamori::work
