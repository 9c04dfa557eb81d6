// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/figures/measure.h"

#include "vision/figures/decision_internal.h"
#include "vision/figures/interval.h"
#include "vision/figures/outline_part_internal.h"
#include "vision/figures/region.h"
#include "vision/foliage/hints.h"
#include "vision/foliage/tissue.h"
#include "vision/quality/quality.h"

#include <algorithm>
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
  // The network looks at 960 px of the longer side, and a little around the outline. A
  // small box is enlarged: that much was best on the calibration sets, docs/decisions/0005.
  PartSizes sizes{.marginShare = kMeasuredAroundShare, .workingSidePx = 960, .mostEnlarged = 2.0};
  double minFoliageShare = 0.005;  // with less foliage in the outline there is no spot fraction
  DecisionLimits limits;
};

constexpr double kUnusableSharpness = 0.06;
constexpr double kUnusableClipping = 0.97;
constexpr std::int64_t kSmallOutlinePx = 4 * kMinOutlinePx;
// Doubt, as a mean of min(p, 1 − p), from which foliage and background are hard to tell apart.
constexpr double kInseparableDoubt = 0.2;
// Half of all that a share can be. Chosen, no source; docs/figures.md.
constexpr double kWidestUsefulSpot = 0.5;

cv::Mat viewOf(const Raster<1>& raster) {
  return {raster.height(), raster.width(), CV_8UC1, const_cast<std::uint8_t*>(raster.data())};
}

// Calls `visit(x, y, value)` for each painted pixel within the box, in the box's own coordinates,
// row by row. Strokes cover little of a photo, so that what is bare is passed over by words.
void visitPainted(const LabelImage& hints, const PixelBox& box, const auto& visit) {
  for (int y = 0; y < box.height; ++y) {
    const std::uint8_t* const row = hints.row(box.top + y) + box.left;
    for (int x = 0; x < box.width;) {
      std::uint64_t word = 0;
      if (x + 8 <= box.width) {
        std::memcpy(&word, row + x, sizeof(word));
        if (word == 0) {
          x += 8;
          continue;
        }
      }
      if (row[x] != 0) {
        visit(x, y, row[x]);
      }
      ++x;
    }
  }
}

LabelImage enlargedHints(const LabelImage& hints, const PixelBox& box, int width, int height) {
  LabelImage enlarged(width, height, 0);
  const cv::Mat from = viewOf(hints)({box.left, box.top, box.width, box.height});
  cv::Mat to = viewOf(enlarged);
  cv::resize(from, to, to.size(), 0, 0, cv::INTER_NEAREST);
  return enlarged;
}

// A thin stroke must survive a reduction: the painted pixel that comes first wins.
LabelImage hintsAtSize(const LabelImage& hints, const PixelBox& box, int width, int height) {
  if (width > box.width) {
    return enlargedHints(hints, box, width, height);
  }
  LabelImage reduced(width, height, 0);
  visitPainted(hints, box, [&](int x, int y, std::uint8_t value) {
    std::uint8_t& place = reduced.at(static_cast<int>(std::int64_t{x} * width / box.width),
                                     static_cast<int>(std::int64_t{y} * height / box.height));
    place = place == 0 ? value : place;
  });
  return reduced;
}

// A plane of probabilities at full size, 8 bits.
ProbabilityMap enlarged(const std::vector<float>& plane, const OutlinePart& part) {
  const cv::Mat from(part.work.height(), part.work.width(), CV_32F, const_cast<float*>(plane.data()));
  cv::Mat bytes;
  from.convertTo(bytes, CV_8U, 255.0);
  ProbabilityMap large(part.box.width, part.box.height);
  cv::Mat to = viewOf(large);
  cv::resize(bytes, to, to.size(), 0, 0, cv::INTER_LINEAR);
  return large;
}

// Probability of spotted among foliage.
std::vector<float> spottedAmongFoliage(const TissueShares& shares) {
  std::vector<float> among(shares.foliage.size());
  for (std::size_t i = 0; i < among.size(); ++i) {
    among[i] = shares.spotted[i] / std::max(1e-6F, shares.foliage[i]);
  }
  return among;
}

// Painted pixels count as painted, at full size.
void overrideByHints(const LabelImage& hints, const PixelBox& box, Judgement& judgement) {
  visitPainted(hints, box, [&judgement](int x, int y, std::uint8_t value) {
    const auto hint = static_cast<Hint>(value);
    judgement.foliage.at(x, y) = hint == Hint::NotFoliage ? 0 : 255;
    judgement.spotted.at(x, y) = hint == Hint::Spot ? 255 : 0;
  });
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

Result<void> checkHints(const LabelImage& hints, int width, int height) {
  if (hints.width() != width || hints.height() != height) {
    return fail(ErrorCode::InvalidArgument, "the hints are not of the photo's size (" +
                                                std::to_string(width) + " × " +
                                                std::to_string(height) + " px); make them anew");
  }
  return {};
}

constexpr const char* kSpotHardlyTold = "spot-hardly-told";

// Of the outline, beyond the photo, from which the figures are of another branch part than was drawn.
constexpr double kNoticedBeyondShare = 0.02;

// What a person can still do depends on whether they have painted hints already.
std::string advice(bool hasHints, const char* withoutHints, const char* withHints) {
  return hasHints ? std::string(", in spite of the hints; ") + withHints : std::string("; ") + withoutHints;
}

void addOwnCautions(const MeasureResult& result, const Decision& decision, double beyondShare, bool hasHints,
                    std::vector<Caution>& cautions) {
  if (beyondShare >= kNoticedBeyondShare) {
    cautions.push_back({"outline-cut", std::to_string(std::lround(100.0 * beyondShare)) +
                                           " % of the outline lies beyond the photo and was not measured; draw it "
                                           "within the photo."});
  }
  if (result.outlinePx < kSmallOutlinePx) {
    cautions.push_back({"small-outline", "The outline holds few pixels, so that the figures are "
                                         "coarse; a closer photo would help."});
  }
  if (decision.foliageDoubt > kInseparableDoubt) {
    cautions.push_back({"inseparable",
                        "Foliage and background look alike here" +
                            advice(hasHints, "paint hints, or photograph against a plain board.",
                                   "photograph against a plain board.")});
  }
  if (result.spot && result.spot->high - result.spot->low > kWidestUsefulSpot) {
    cautions.push_back({kSpotHardlyTold,
                        "How much of the foliage is spotted can hardly be told here" +
                            advice(hasHints, "paint hints on sound and on spotted foliage, or come closer.",
                                   "come closer with the camera, in even light.")});
  }
  if (!result.spot) {
    cautions.push_back({"no-foliage", "Next to no foliage was found in the outline, so that there "
                                      "is no spot fraction."});
  }
}

// All weights, bit for bit: what was learned changes later, and the figure must stay reproducible.
nlohmann::json learnedJson(const Correction& learned) {
  if (learned == Correction{}) {
    return false;
  }
  return {{"foliage", learned.foliage}, {"spotted", learned.spotted}};
}

std::string parametersJson(const Judging& judging, const MeasureOptions& options) {
  const nlohmann::json json{
      {"subject", judging.subject == Subject::Leaf ? "leaf" : "needles"},
      {"hints", judging.hints != nullptr},
      {"learned", learnedJson(judging.learned)},
      {"network", tissueModelName()},
      {"second_look_scale", kSecondLookScale},
      {"working_side_px", options.sizes.workingSidePx},
      {"margin_share", options.sizes.marginShare},
      {"most_enlarged", options.sizes.mostEnlarged},
      {"min_foliage_share", options.minFoliageShare},
      {"decision_between", {options.limits.least, options.limits.most}},
      {"interval", nlohmann::json::parse(intervalParametersJson())}};
  return json.dump();
}

// What counts as foliage, at working size.
Mask foliageAtSize(const Judgement& judgement, const Decision& decision, const RgbImage& work) {
  Mask foliage = atSize(judgement.foliage, work.width(), work.height());
  cv::Mat view = viewOf(foliage);
  cv::compare(view, decision.foliageFrom, view, cv::CMP_GE);
  return foliage;
}

// All of the working image that is no foliage, in the outline or not.
Mask outsideOf(const TissueShares& shares, const RgbImage& work) {
  Mask mask(work.width(), work.height());
  for (std::size_t i = 0; i < mask.byteCount(); ++i) {
    mask.data()[i] = shares.foliage[i] < 0.5F ? 255 : 0;
  }
  return mask;
}

// Sharpness is that of the outline. What is clipped matters on foliage alone, and a
// colour cast shows on what is no foliage, when there is enough of it.
Result<std::vector<Caution>> qualityCautions(const RgbImage& image,
                                             PhotoQuality quality,
                                             const Mask& foliage,
                                             const Mask& outside) {
  constexpr double kMinOutsideShare = 0.2;
  const auto onFoliage = assessLight(image, foliage);
  const auto around = assessLight(image, outside);
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

double share(std::int64_t part, std::int64_t whole) {
  return static_cast<double>(part) / static_cast<double>(std::max<std::int64_t>(1, whole));
}

MeasureResult figuresOf(const Decision& decision, std::int64_t outlinePx, Subject subject,
                        const MeasureOptions& options) {
  MeasureResult result;
  result.outlinePx = outlinePx;
  const double cover = share(decision.foliagePx, outlinePx);
  result.foliage = coverInterval(cover, decision.foliageDoubt, subject);
  if (cover >= options.minFoliageShare) {
    result.spot = spotInterval(share(decision.spottedPx, decision.foliagePx),
                               {.ofFoliage = decision.foliageDoubt,
                                .ofSpots = decision.spottedDoubt,
                                .cover = cover},
                               subject);
  }
  return result;
}

Error notMeasured(const std::exception& error) {  // cv::Exception, std::bad_alloc
  return fail(ErrorCode::NotMeasurable,
              std::string("the photo could not be measured (") + error.what() + "); try a smaller one");
}

}  // namespace

// What does not depend on hints.
class OutlineReading::Parts {
 public:
  static Result<Parts> create(const RgbImage& photo, const std::optional<Outline>& outline);
  [[nodiscard]] Result<MeasureResult> judged(const Judging& judging) const;

 private:
  [[nodiscard]] Judgement judgementOf(const TissueShares& shares, const LabelImage* hints) const;

  MeasureOptions m_options;
  int m_width = 0, m_height = 0;  // of the photo, px
  PhotoQuality m_quality;         // within the outline
  OutlinePart m_part;             // without what the quality was read on
  TissueMap m_map;
};

Result<OutlineReading::Parts> OutlineReading::Parts::create(const RgbImage& photo,
                                                            const std::optional<Outline>& outline) {
  Parts parts;
  auto part = partOf(photo, outline, parts.m_options.sizes);
  if (!part) {
    return part.error();
  }
  const auto quality =
      assessQuality(part->seen, atSize(part->inside, part->seen.width(), part->seen.height()));
  if (!quality) {
    return quality.error();
  }
  EDAMORI_RETURN_IF_ERROR(checkUsable(*quality));
  part->seen = {};
  auto map = tissueOf(part->work);
  if (!map) {
    return map.error();
  }
  parts.m_width = photo.width();
  parts.m_height = photo.height();
  parts.m_quality = *quality;
  parts.m_part = *std::move(part);
  parts.m_map = *std::move(map);
  return parts;
}

Judgement OutlineReading::Parts::judgementOf(const TissueShares& shares,
                                                 const LabelImage* hints) const {
  Judgement judgement{.foliage = enlarged(shares.foliage, m_part),
                      .spotted = enlarged(spottedAmongFoliage(shares), m_part)};
  if (hints != nullptr) {
    overrideByHints(*hints, m_part.box, judgement);
  }
  cv::Mat foliage = viewOf(judgement.foliage);
  cv::bitwise_and(foliage, viewOf(m_part.inside), foliage);
  return judgement;
}

Result<MeasureResult> OutlineReading::Parts::judged(const Judging& judging) const {
  Correction learned = judging.learned;
  if (judging.hints != nullptr) {
    EDAMORI_RETURN_IF_ERROR(checkHints(*judging.hints, m_width, m_height));
    const LabelImage hints =
        hintsAtSize(*judging.hints, m_part.box, m_part.work.width(), m_part.work.height());
    learned = learnedFrom(m_map, m_part.work, hints, judging.learned);
  }
  const TissueShares shares = corrected(m_map, m_part.work, learned);
  const Judgement judgement = judgementOf(shares, judging.hints);
  const Decision decision = decided(judgement, m_part.outlinePx, m_options.limits);
  MeasureResult result = figuresOf(decision, m_part.outlinePx, judging.subject, m_options);
  result.labels = labelsOf(judgement, decision, m_part.box, m_width, m_height);
  result.learned = learned;
  auto cautions = qualityCautions(m_part.work, m_quality, foliageAtSize(judgement, decision, m_part.work),
                                  outsideOf(shares, m_part.work));
  if (!cautions) {
    return cautions.error();
  }
  result.cautions = *std::move(cautions);
  addOwnCautions(result, decision, m_part.beyondShare, judging.hints != nullptr, result.cautions);
  result.method = {.name = "foliage-and-spots",
                   .version = kMeasureVersion,
                   .parameters = parametersJson(judging, m_options)};
  return result;
}

OutlineReading::OutlineReading(std::unique_ptr<Parts> parts) : m_parts(std::move(parts)) {}
OutlineReading::OutlineReading(OutlineReading&&) noexcept = default;
OutlineReading& OutlineReading::operator=(OutlineReading&&) noexcept = default;
OutlineReading::~OutlineReading() = default;

Result<OutlineReading> OutlineReading::create(const RgbImage& photo,
                                              const std::optional<Outline>& outline) {
  try {
    return Parts::create(photo, outline).transform([](Parts&& parts) {
      return OutlineReading(std::make_unique<Parts>(std::move(parts)));
    });
  } catch (const std::exception& error) {
    return notMeasured(error);
  }
}

Result<MeasureResult> OutlineReading::judged(const Judging& judging) const {
  try {
    return m_parts->judged(judging);
  } catch (const std::exception& error) {
    return notMeasured(error);
  }
}

Result<MeasureResult> measure(const RgbImage& photo, const MeasureRequest& request) {
  if (request.hints) {
    EDAMORI_RETURN_IF_ERROR(checkHints(*request.hints, photo.width(), photo.height()));
  }
  const auto reading = OutlineReading::create(photo, request.outline);
  if (!reading) {
    return reading.error();
  }
  return reading->judged({.subject = request.subject,
                          .hints = request.hints ? &*request.hints : nullptr,
                          .learned = request.learned});
}

bool isOfSpotsAlone(const Caution& caution) { return caution.code == kSpotHardlyTold; }

}  // namespace edamori::vision
