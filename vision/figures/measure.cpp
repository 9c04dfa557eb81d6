// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/figures/measure.h"

#include "vision/figures/interval.h"
#include "vision/figures/region.h"
#include "vision/foliage/foliage.h"
#include "vision/load/load.h"
#include "vision/quality/quality.h"
#include "vision/spots/spots.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <exception>
#include <string>
#include <utility>

#include <nlohmann/json.hpp>
#include <opencv2/imgproc.hpp>

namespace edamori::vision {
namespace {

struct MeasureOptions {
  int workingSidePx = 1600;         // longer side of the outline's box while measuring
  double marginShare = 0.12;        // surroundings looked at, as a share of the box
  double unsureBelow = 0.35;        // decisions that a slightly other threshold would turn:
  double unsureAbove = 0.65;        //   probabilities between these two
  double leastShare = 0.15;         // least relative half-width of a spot fraction
  double leastHalfWidth = 0.004;    // least half-width of any fraction
  double minFoliageShare = 0.005;   // with less foliage in the outline there is no spot fraction
  double edgeErrorPx = 0.5;         // error of the foliage's edges, working px, ≥ 0
  double overruledErrorShare = 0.5; // share of overruled colours that may be wrong, 0…1
  double doubtfulSpotShare = 0.12;  // share of doubtful foliage that may be wrongly spotted, 0…1
  int minBlocks = 16;               // blocks grow no larger than leaves so many
  int resamples = 1000;
  std::uint64_t seed = 20260401;
};

constexpr double kUnusableSharpness = 0.06;
constexpr double kUnusableClipping = 0.97;
constexpr std::int64_t kSmallOutlinePx = 4 * kMinOutlinePx;
constexpr double kInseparableShare = 0.25;

cv::Mat viewOf(const Raster<1>& raster) {
  return {raster.height(), raster.width(), CV_8UC1, const_cast<std::uint8_t*>(raster.data())};
}

// The part of the photo that is measured, reduced to working size.
struct Work {
  PixelBox box;       // in full-size px, outline plus margin
  RgbImage image;     // working size
  LabelImage hints;   // working size, or empty
};

PixelBox widened(const PixelBox& box, double share, int width, int height) {
  const int margin = static_cast<int>(std::lround(share * std::max(box.width, box.height)));
  const int left = std::max(0, box.left - margin);
  const int top = std::max(0, box.top - margin);
  return {.left = left,
          .top = top,
          .width = std::min(width, box.left + box.width + margin) - left,
          .height = std::min(height, box.top + box.height + margin) - top};
}

Raster<1> croppedMask(const Raster<1>& mask, const PixelBox& box) {
  Raster<1> part(box.width, box.height);
  for (int y = 0; y < box.height; ++y) {
    std::memcpy(part.row(y), mask.row(box.top + y) + box.left, part.bytesPerRow());
  }
  return part;
}

// A thin stroke must survive the reduction: the painted pixel that comes first wins.
LabelImage reducedHints(const LabelImage& hints, const PixelBox& box, int width, int height) {
  LabelImage reduced(width, height, 0);
  for (int y = 0; y < box.height; ++y) {
    const std::uint8_t* const row = hints.row(box.top + y) + box.left;
    std::uint8_t* const target = reduced.row(static_cast<int>(std::int64_t{y} * height / box.height));
    for (int x = 0; x < box.width; ++x) {
      std::uint8_t& place = target[std::int64_t{x} * width / box.width];
      place = place == 0 ? row[x] : place;
    }
  }
  return reduced;
}

Work workOf(const RgbImage& photo,
            const PixelBox& outlineBox,
            const std::optional<LabelImage>& hints,
            const MeasureOptions& options) {
  Work work;
  work.box = widened(outlineBox, options.marginShare, photo.width(), photo.height());
  const double scale = static_cast<double>(options.workingSidePx) /
                       std::max(outlineBox.width, outlineBox.height);
  const int side = std::max(work.box.width, work.box.height);
  const int target = scale < 1.0 ? static_cast<int>(std::lround(side * scale)) : side;
  work.image = reducedToFit(
      cropped(photo, work.box.left, work.box.top, work.box.width, work.box.height), target);
  if (hints) {
    work.hints = reducedHints(*hints, work.box, work.image.width(), work.image.height());
  }
  return work;
}

ProbabilityMap enlarged(const ProbabilityMap& map, int width, int height) {
  if (map.width() == width && map.height() == height) {
    return map;
  }
  ProbabilityMap large(width, height);
  cv::Mat to = viewOf(large);
  cv::resize(viewOf(map), to, to.size(), 0, 0, cv::INTER_LINEAR);
  return large;
}

// The decision at full size, within the outline's box.
struct Decision {
  Mask inside;              // the outline
  ProbabilityMap foliage, spot;
  Mask foliageAtWork, outsideAtWork;  // foliage in the outline, and what is none; working size
  double contestedShare = 0.0;     // see contestedShare()
  double fullPerWorkingPx = 1.0;   // full-size px along one working px
};

Label labelOf(bool isFoliage, bool isSpot) {
  return !isFoliage ? Label::NotFoliage : isSpot ? Label::Spotted : Label::SoundFoliage;
}

LabelImage labelsOf(const Decision& decision, const PixelBox& box, int width, int height) {
  LabelImage labels(width, height, 0);
  for (int y = 0; y < box.height; ++y) {
    for (int x = 0; x < box.width; ++x) {
      const bool isFoliage =
          decision.inside.at(x, y) != 0 && decision.foliage.at(x, y) >= kDecision;
      const bool isSpot = decision.spot.at(x, y) >= kDecision;
      labels.at(box.left + x, box.top + y) = static_cast<std::uint8_t>(labelOf(isFoliage, isSpot));
    }
  }
  return labels;
}

// Painted pixels count as painted, at full size.
void overrideByHints(const LabelImage& hints, const PixelBox& box, Decision& decision) {
  for (int y = 0; y < box.height; ++y) {
    for (int x = 0; x < box.width; ++x) {
      const auto hint = static_cast<Hint>(hints.at(box.left + x, box.top + y));
      if (hint != Hint::None) {
        decision.foliage.at(x, y) = hint == Hint::NotFoliage ? 0 : 255;
        decision.spot.at(x, y) = hint == Hint::Spot ? 255 : 0;
      }
    }
  }
}

std::int64_t countAbove(const Raster<1>& map, const Mask& within, double share) {
  const auto limit = static_cast<std::uint8_t>(std::lround(255.0 * share));
  std::int64_t count = 0;
  for (std::size_t i = 0; i < map.byteCount(); ++i) {
    count += within.data()[i] != 0 && map.data()[i] >= limit ? 1 : 0;
  }
  return count;
}

// Fractions at the decision and at two thresholds beside it.
struct Fractions {
  double value = 0.0, strict = 0.0, lenient = 0.0;
};

Fractions fractionsOf(const ProbabilityMap& map, const Mask& whole, const MeasureOptions& options) {
  const auto pixels = static_cast<double>(std::max<std::int64_t>(1, countInside(whole)));
  const auto share = [&](double limit) {
    return static_cast<double>(countAbove(map, whole, limit)) / pixels;
  };
  return {.value = share(kDecision / 255.0),
          .strict = share(options.unsureAbove),
          .lenient = share(options.unsureBelow)};
}

Mask atLeast(const ProbabilityMap& map, const Mask& within, std::uint8_t limit) {
  Mask mask(map.width(), map.height());
  for (std::size_t i = 0; i < mask.byteCount(); ++i) {
    mask.data()[i] = within.data()[i] != 0 && map.data()[i] >= limit ? 255 : 0;
  }
  return mask;
}

// Side of the blocks: at least the correlation length, but so that minBlocks fit.
int blockSidePx(const Mask& part, const Mask& whole, const MeasureOptions& options) {
  const auto pixels = static_cast<double>(countInside(whole));
  const int largest = std::max(1, static_cast<int>(std::sqrt(pixels / options.minBlocks)));
  const int correlation = correlationLengthPx(part, whole, largest);
  return std::clamp(2 * correlation, std::max(1, largest / 4), largest);
}

Estimate combined(const Fractions& fractions, double below, double above) {
  const double down = std::hypot(below, fractions.value - fractions.strict);
  const double up = std::hypot(above, fractions.lenient - fractions.value);
  return {.value = fractions.value,
          .low = std::clamp(fractions.value - down, 0.0, fractions.value),
          .high = std::clamp(fractions.value + up, fractions.value, 1.0)};
}

// Neighbouring pixels of which one is in the class and one is not, per pixel of the whole.
double edgeShareOf(const Mask& part, const Mask& whole) {
  std::int64_t edges = 0;
  for (int y = 0; y + 1 < whole.height(); ++y) {
    for (int x = 0; x + 1 < whole.width(); ++x) {
      if (whole.at(x, y) != 0) {
        edges += whole.at(x + 1, y) != 0 && part.at(x, y) != part.at(x + 1, y) ? 1 : 0;
        edges += whole.at(x, y + 1) != 0 && part.at(x, y) != part.at(x, y + 1) ? 1 : 0;
      }
    }
  }
  return static_cast<double>(edges) / static_cast<double>(std::max<std::int64_t>(1, countInside(whole)));
}

// Pixels whose class a slightly other threshold would turn.
Mask unsureOf(const ProbabilityMap& map, const Mask& within, const MeasureOptions& options) {
  const auto low = static_cast<std::uint8_t>(std::lround(255 * options.unsureBelow));
  const auto high = static_cast<std::uint8_t>(std::lround(255 * options.unsureAbove));
  Mask mask(map.width(), map.height());
  for (std::size_t i = 0; i < mask.byteCount(); ++i) {
    const std::uint8_t p = map.data()[i];
    mask.data()[i] = within.data()[i] != 0 && p >= low && p < high ? 255 : 0;
  }
  return mask;
}

// Cover is a census of the outline: nothing of it is unseen, so that not the foliage is
// resampled, but what the decision may have got wrong: unsure pixels block by block,
// edges by a part of a working pixel, and colours that were overruled.
Estimate coverOf(const Decision& decision, const MeasureOptions& options) {
  const Fractions fractions = fractionsOf(decision.foliage, decision.inside, options);
  const Mask decided = atLeast(decision.foliage, decision.inside, kDecision);
  const int side = blockSidePx(decided, decision.inside, options);
  const Mask unsure = unsureOf(decision.foliage, decision.inside, options);
  const double sampling = 1.96 * blockStandardError(countBlocks(unsure, decision.inside, side));
  const double edges = options.edgeErrorPx * decision.fullPerWorkingPx *
                       edgeShareOf(decided, decision.inside);
  const double overruled = options.overruledErrorShare * decision.contestedShare;
  const double error = std::hypot(std::hypot(sampling, edges),
                                  std::hypot(overruled, options.leastHalfWidth));
  return combined(fractions, error, error);
}

Estimate spotShareOf(const ProbabilityMap& spot,
                     const Mask& foliage,
                     const Estimate& cover,
                     const MeasureOptions& options) {
  const Fractions fractions = fractionsOf(spot, foliage, options);
  const Mask decided = atLeast(spot, foliage, kDecision);
  const std::vector<BlockCount> blocks =
      countBlocks(decided, foliage, blockSidePx(decided, foliage, options));
  const Estimate bootstrap = blockBootstrap(blocks, options.resamples, options.seed);
  // Two experts who outline the same lesions differ by about this share of their area;
  // and what may not be foliage at all may have been taken for spotted.
  const double doubtful = (cover.high - cover.low) / (2.0 * std::max(cover.value, 0.01));
  const double least =
      std::hypot(std::hypot(options.leastHalfWidth, options.leastShare * fractions.value),
                 options.doubtfulSpotShare * doubtful);
  return combined(fractions, std::hypot(bootstrap.value - bootstrap.low, least),
                  std::hypot(bootstrap.high - bootstrap.value, least));
}

Result<void> checkUsable(const PhotoQuality& quality) {
  if (quality.clippedBright >= kUnusableClipping || quality.clippedDark >= kUnusableClipping) {
    return fail(ErrorCode::NotMeasurable,
                "nearly all of the outline is pure white or pure black; photograph it in softer light");
  }
  if (quality.sharpness > 0.0 && quality.sharpness < kUnusableSharpness) {
    return fail(ErrorCode::NotMeasurable,
                "the photo is too blurred here to measure; take it again and let the camera focus");
  }
  return {};
}

Result<Mask> checkedOutline(const RgbImage& photo, const MeasureRequest& request) {
  if (request.hints && (request.hints->width() != photo.width() ||
                        request.hints->height() != photo.height())) {
    return fail(ErrorCode::InvalidArgument,
                "the hints are not of the photo's size (" + std::to_string(photo.width()) + " × " +
                    std::to_string(photo.height()) + " px); make them anew");
  }
  auto mask = maskOf(request.outline, photo.width(), photo.height());
  if (!mask) {
    return mask;
  }
  const std::int64_t pixels = countInside(*mask);
  if (pixels == 0) {
    return fail(ErrorCode::NotMeasurable, "the outline lies outside the photo; draw it again");
  }
  if (pixels < kMinOutlinePx) {
    return fail(ErrorCode::NotMeasurable,
                "the outline holds only " + std::to_string(pixels) + " pixels, and " +
                    std::to_string(kMinOutlinePx) + " are needed; come closer with the camera");
  }
  return mask;
}

void addOwnCautions(const MeasureResult& result, const Fractions& foliage, std::vector<Caution>& cautions) {
  if (result.outlinePx < kSmallOutlinePx) {
    cautions.push_back({"small-outline", "The outline holds few pixels, so that the figures are "
                                         "coarse; a closer photo would help."});
  }
  if (foliage.lenient - foliage.strict > kInseparableShare) {
    cautions.push_back({"inseparable", "Foliage and background look alike here; paint hints, or "
                                       "photograph against a plain board."});
  }
  if (!result.spot) {
    cautions.push_back({"no-foliage", "Next to no foliage was found in the outline, so that there "
                                      "is no spot fraction."});
  }
}

std::string parametersJson(Subject subject,
                           bool hasHints,
                           const MeasureOptions& m,
                           const FoliageOptions& f,
                           const SpotOptions& s) {
  const nlohmann::json json{
      {"subject", subject == Subject::Leaf ? "leaf" : "needles"},
      {"hints", hasHints},
      {"working_side_px", m.workingSidePx},
      {"margin_share", m.marginShare},
      {"unsure_between", {m.unsureBelow, m.unsureAbove}},
      {"least_half_width", {m.leastHalfWidth, m.leastShare}},
      {"edge_error_px", m.edgeErrorPx},
      {"overruled_error_share", m.overruledErrorShare},
      {"doubtful_spot_share", m.doubtfulSpotShare},
      {"min_foliage_share", m.minFoliageShare},
      {"bootstrap", {{"min_blocks", m.minBlocks}, {"resamples", m.resamples}, {"seed", m.seed}}},
      {"foliage",
       {{"rounds", f.rounds},
        {"weights", {f.priorWeight, f.learnedWeight, f.contextWeight, f.focusWeight}},
        {"detail_bonus",
         subject == Subject::Leaf ? f.leafDetailBonus : f.needleDetailBonus},
        {"min_focus_detail", f.minFocusDetail},
        {"context_share", subject == Subject::Leaf ? f.leafContextShare : f.needleContextShare},
        {"max_hole_share", f.maxHoleShare},
        {"hint_weight", f.hintWeight}}},
      {"spots",
       {{"rounds", s.rounds},
        {"window_share", s.windowShare},
        {"global_weight", s.globalWeight},
        {"redness_step", {s.minRednessStep, s.maxRednessStep}},
        {"min_dark_step", s.minDarkStep},
        {"min_chroma_loss", s.minChromaLoss},
        {"spread_factor", s.spreadFactor},
        {"softness", s.softness},
        {"glint_lightness", s.glintLightness},
        {"min_area_px", subject == Subject::Leaf ? s.minAreaPx : s.minNeedleAreaPx},
        {"min_inner_share", s.minInnerShare},
        {"min_leaf_contact", s.minLeafContact},
        {"streaks", {s.maxStreakWidthPx, s.minStreakElongation}},
        {"leaf_edge_px", s.leafEdgePx}}}};
  return json.dump();
}

// Share of the outline on which the colour by itself says the opposite of the decision:
// hedges held for background, brown tissue held for foliage. Sampled, for speed.
double contestedShare(const Work& work, const ProbabilityMap& foliage, const Mask& inside) {
  constexpr int kStep = 3;
  std::int64_t looked = 0;
  std::int64_t contested = 0;
  for (int y = 0; y < work.image.height(); y += kStep) {
    const auto fullY = static_cast<int>(std::int64_t{y} * inside.height() / work.image.height());
    for (int x = 0; x < work.image.width(); x += kStep) {
      const auto fullX = static_cast<int>(std::int64_t{x} * inside.width() / work.image.width());
      if (inside.at(fullX, fullY) == 0) {
        continue;
      }
      const std::uint8_t* const rgb = work.image.row(y) + std::ptrdiff_t{x} * 3;
      const bool byColour = foliageLogOdds(rgb[0], rgb[1], rgb[2]) >= 0.0;
      ++looked;
      contested += byColour != (foliage.at(x, y) >= kDecision) ? 1 : 0;
    }
  }
  return looked > 0 ? static_cast<double>(contested) / static_cast<double>(looked) : 0.0;
}

Mask insideAtWork(const Work& work, const Mask& inside) {
  Mask mask(work.image.width(), work.image.height());
  cv::Mat to = viewOf(mask);
  cv::resize(viewOf(inside), to, to.size(), 0, 0, cv::INTER_NEAREST);
  return mask;
}

Mask outsideOf(const ProbabilityMap& foliage) {
  Mask mask(foliage.width(), foliage.height());
  for (std::size_t i = 0; i < mask.byteCount(); ++i) {
    mask.data()[i] = foliage.data()[i] < kDecision ? 255 : 0;
  }
  return mask;
}

Decision decide(const Work& work, const Mask& outline, Subject subject) {
  const ProbabilityMap foliage =
      foliageProbability(work.image, work.hints, subject, FoliageOptions{});
  const ProbabilityMap spot =
      spotProbability(work.image, foliage, work.hints, subject, SpotOptions{});
  Mask inside = croppedMask(outline, work.box);
  Mask foliageAtWork = atLeast(foliage, insideAtWork(work, inside), kDecision);
  const double contested = contestedShare(work, foliage, inside);
  return {.inside = std::move(inside),
          .foliage = enlarged(foliage, work.box.width, work.box.height),
          .spot = enlarged(spot, work.box.width, work.box.height),
          .foliageAtWork = std::move(foliageAtWork),
          .outsideAtWork = outsideOf(foliage),
          .contestedShare = contested,
          .fullPerWorkingPx = static_cast<double>(work.box.width) / work.image.width()};
}

// Sharpness is that of the outline. What is clipped matters on foliage alone, and a
// colour cast shows on what is no foliage, when there is enough of it.
Result<std::vector<Caution>> qualityCautions(const RgbImage& image,
                                             PhotoQuality quality,
                                             const Mask& foliage,
                                             const Mask& outside) {
  constexpr double kMinOutsideShare = 0.2;
  const auto onFoliage = assessQuality(image, foliage);
  const auto around = assessQuality(image, outside);
  if (!onFoliage || !around) {
    return onFoliage ? around.error() : onFoliage.error();
  }
  if (countInside(foliage) > 0) {
    quality.clippedBright = onFoliage->clippedBright;
    quality.clippedDark = onFoliage->clippedDark;
    quality.meanLightness = onFoliage->meanLightness;
  }
  const bool isEnough = static_cast<double>(countInside(outside)) >=
                        kMinOutsideShare * static_cast<double>(image.pixelCount());
  quality.castChroma = isEnough ? around->castChroma : 0.0;
  return cautionsFor(quality);
}

Result<MeasureResult> measureChecked(const RgbImage& photo, const MeasureRequest& request) {
  const MeasureOptions options;
  const auto outline = checkedOutline(photo, request);
  if (!outline) {
    return outline.error();
  }
  const PixelBox tight = boxAround(*outline);
  const RgbImage seen = cropped(photo, tight.left, tight.top, tight.width, tight.height);
  const auto quality = assessQuality(seen, croppedMask(*outline, tight));
  if (!quality) {
    return quality.error();
  }
  EDAMORI_RETURN_IF_ERROR(checkUsable(*quality));
  const Work work = workOf(photo, tight, request.hints, options);
  Decision decision = decide(work, *outline, request.subject);
  if (request.hints) {
    overrideByHints(*request.hints, work.box, decision);
  }
  MeasureResult result;
  result.outlinePx = countInside(decision.inside);
  result.labels = labelsOf(decision, work.box, photo.width(), photo.height());
  result.foliage = coverOf(decision, options);
  const Mask foliage = atLeast(decision.foliage, decision.inside, kDecision);
  if (result.foliage.value >= options.minFoliageShare) {
    result.spot = spotShareOf(decision.spot, foliage, result.foliage, options);
  }
  auto cautions =
      qualityCautions(work.image, *quality, decision.foliageAtWork, decision.outsideAtWork);
  if (!cautions) {
    return cautions.error();
  }
  result.cautions = *std::move(cautions);
  addOwnCautions(result, fractionsOf(decision.foliage, decision.inside, options), result.cautions);
  result.method = {.name = "foliage-and-spots",
                   .version = 1,
                   .parameters = parametersJson(request.subject, request.hints.has_value(), options,
                                                FoliageOptions{}, SpotOptions{})};
  return result;
}

}  // namespace

Result<MeasureResult> measure(const RgbImage& photo, const MeasureRequest& request) {
  try {
    return measureChecked(photo, request);
  } catch (const std::exception& error) {  // cv::Exception, std::bad_alloc
    return fail(ErrorCode::NotMeasurable,
                std::string("the photo could not be measured (") + error.what() + "); try a smaller one");
  }
}

}  // namespace edamori::vision
