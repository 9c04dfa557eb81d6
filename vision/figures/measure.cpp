// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/figures/measure.h"

#include "vision/figures/interval.h"
#include "vision/figures/region.h"
#include "vision/foliage/hints.h"
#include "vision/foliage/tissue.h"
#include "vision/load/load.h"
#include "vision/quality/quality.h"

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

// Probability of a class, 0 (certainly not) … 255 (certainly).
using ProbabilityMap = Raster<1>;

struct MeasureOptions {
  int workingSidePx = 960;         // longer side of what the network looks at
  double marginShare = 0.12;       // surroundings looked at, as a share of the outline's box
  double minFoliageShare = 0.005;  // with less foliage in the outline there is no spot fraction
  int leastDecision = 64;          // probability, of 255, from which a pixel may count …
  int mostDecision = 192;          // … and from which it counts whatever the shares say
};

constexpr double kUnusableSharpness = 0.06;
constexpr double kUnusableClipping = 0.97;
constexpr std::int64_t kSmallOutlinePx = 4 * kMinOutlinePx;
// Doubt, as a mean of min(p, 1 − p), from which foliage and background are hard to tell apart.
constexpr double kInseparableDoubt = 0.2;

cv::Mat viewOf(const Raster<1>& raster) {
  return {raster.height(), raster.width(), CV_8UC1, const_cast<std::uint8_t*>(raster.data())};
}

// The part of the photo that is measured, reduced to working size.
struct Work {
  PixelBox box;    // in full-size px, outline plus margin
  RgbImage image;  // working size
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

// A thin stroke must survive the reduction: the painted pixel that comes first wins.
LabelImage reducedHints(const LabelImage& hints, const PixelBox& box, int width, int height) {
  LabelImage reduced(width, height, 0);
  visitPainted(hints, box, [&](int x, int y, std::uint8_t value) {
    std::uint8_t& place = reduced.at(static_cast<int>(std::int64_t{x} * width / box.width),
                                     static_cast<int>(std::int64_t{y} * height / box.height));
    place = place == 0 ? value : place;
  });
  return reduced;
}

Work workOf(const RgbImage& photo, const PixelBox& outlineBox, const MeasureOptions& options) {
  Work work;
  work.box = widened(outlineBox, options.marginShare, photo.width(), photo.height());
  work.image = reducedToFit(
      cropped(photo, work.box.left, work.box.top, work.box.width, work.box.height),
      options.workingSidePx);
  return work;
}

// A plane of probabilities at full size, 8 bits.
ProbabilityMap enlarged(const std::vector<float>& plane, const Work& work) {
  const cv::Mat from(work.image.height(), work.image.width(), CV_32F,
                     const_cast<float*>(plane.data()));
  cv::Mat bytes;
  from.convertTo(bytes, CV_8U, 255.0);
  ProbabilityMap large(work.box.width, work.box.height);
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

// The judgement at full size, within the outline's box.
struct Judgement {
  ProbabilityMap foliage;  // of each pixel
  ProbabilityMap spotted;  // given that it is foliage
};

// Painted pixels count as painted, at full size.
void overrideByHints(const LabelImage& hints, const PixelBox& box, Judgement& judgement) {
  visitPainted(hints, box, [&judgement](int x, int y, std::uint8_t value) {
    const auto hint = static_cast<Hint>(value);
    judgement.foliage.at(x, y) = hint == Hint::NotFoliage ? 0 : 255;
    judgement.spotted.at(x, y) = hint == Hint::Spot ? 255 : 0;
  });
}

// How the pixels of a region are spread over the probabilities 0…255.
class Spread {
 public:
  Spread(const ProbabilityMap& map, const Mask& region) {
    for (std::size_t i = 0; i < map.byteCount(); ++i) {
      m_counts.at(map.data()[i]) += region.data()[i] != 0 ? 1 : 0;
    }
    for (const std::int64_t count : m_counts) {
      m_total += count;
    }
  }

  // Mean probability: the share of the region that the class is estimated to fill.
  [[nodiscard]] double mean() const {
    double sum = 0.0;
    for (std::size_t p = 0; p < m_counts.size(); ++p) {
      sum += static_cast<double>(p) / 255.0 * static_cast<double>(m_counts.at(p));
    }
    return m_total > 0 ? sum / static_cast<double>(m_total) : 0.0;
  }

  // Mean of min(p, 1 − p): 0 when every pixel is clear, 0.5 when none is.
  [[nodiscard]] double doubt() const {
    double sum = 0.0;
    for (std::size_t p = 0; p < m_counts.size(); ++p) {
      sum += std::min(static_cast<double>(p), 255.0 - static_cast<double>(p)) / 255.0 *
             static_cast<double>(m_counts.at(p));
    }
    return m_total > 0 ? sum / static_cast<double>(m_total) : 0.0;
  }

  // The decision that marks as many pixels as the mean says, within the limits: a mask cut
  // at one half would lose thin needles, whose pixels are all partly background.
  [[nodiscard]] std::uint8_t decision(int least, int most) const {
    const double wanted = mean() * static_cast<double>(m_total);
    std::int64_t above = 0;
    int best = most;
    double smallest = static_cast<double>(m_total) + 1.0;
    for (int p = 255; p >= least; --p) {
      above += m_counts.at(static_cast<std::size_t>(p));
      const double gap = std::abs(static_cast<double>(above) - wanted);
      if (p <= most && gap < smallest) {
        smallest = gap;
        best = p;
      }
    }
    return static_cast<std::uint8_t>(best);
  }

 private:
  std::array<std::int64_t, 256> m_counts{};
  std::int64_t m_total = 0;
};

Mask atLeast(const ProbabilityMap& map, const Mask& within, std::uint8_t limit) {
  Mask mask(map.width(), map.height());
  for (std::size_t i = 0; i < mask.byteCount(); ++i) {
    mask.data()[i] = within.data()[i] != 0 && map.data()[i] >= limit ? 255 : 0;
  }
  return mask;
}

double shareOf(const Mask& part, const Mask& whole) {
  return static_cast<double>(countInside(part)) /
         static_cast<double>(std::max<std::int64_t>(1, countInside(whole)));
}

// What was decided, and how clearly.
struct Decision {
  Mask foliage, spotted;
  double foliageDoubt = 0.0;  // of the outline's pixels
  double spottedDoubt = 0.0;  // of the foliage's pixels
};

Decision decided(const Judgement& judgement, const Mask& inside, const MeasureOptions& options) {
  const Spread foliage(judgement.foliage, inside);
  Decision decision;
  decision.foliage = atLeast(judgement.foliage, inside,
                             foliage.decision(options.leastDecision, options.mostDecision));
  decision.foliageDoubt = foliage.doubt();
  const Spread spotted(judgement.spotted, decision.foliage);
  decision.spotted = atLeast(judgement.spotted, decision.foliage,
                             spotted.decision(options.leastDecision, options.mostDecision));
  decision.spottedDoubt = spotted.doubt();
  return decision;
}

LabelImage labelsOf(const Decision& decision, const PixelBox& box, int width, int height) {
  LabelImage labels(width, height, static_cast<std::uint8_t>(Label::NotFoliage));
  for (int y = 0; y < box.height; ++y) {
    for (int x = 0; x < box.width; ++x) {
      if (decision.foliage.at(x, y) != 0) {
        labels.at(box.left + x, box.top + y) = static_cast<std::uint8_t>(
            decision.spotted.at(x, y) != 0 ? Label::Spotted : Label::SoundFoliage);
      }
    }
  }
  return labels;
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

Result<Mask> checkedOutline(const RgbImage& photo, const std::optional<Outline>& outline) {
  auto mask = maskOf(outline, photo.width(), photo.height());
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

void addOwnCautions(const MeasureResult& result, const Decision& decision, std::vector<Caution>& cautions) {
  if (result.outlinePx < kSmallOutlinePx) {
    cautions.push_back({"small-outline", "The outline holds few pixels, so that the figures are "
                                         "coarse; a closer photo would help."});
  }
  if (decision.foliageDoubt > kInseparableDoubt) {
    cautions.push_back({"inseparable", "Foliage and background look alike here; paint hints, or "
                                       "photograph against a plain board."});
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
      {"working_side_px", options.workingSidePx},
      {"margin_share", options.marginShare},
      {"min_foliage_share", options.minFoliageShare},
      {"decision_between", {options.leastDecision, options.mostDecision}},
      {"interval", nlohmann::json::parse(intervalParametersJson())}};
  return json.dump();
}

// The mask at working size.
Mask reduced(const Mask& mask, const Work& work) {
  Mask small(work.image.width(), work.image.height());
  cv::Mat to = viewOf(small);
  cv::resize(viewOf(mask), to, to.size(), 0, 0, cv::INTER_NEAREST);
  return small;
}

// All of the working image that is no foliage, in the outline or not.
Mask outsideOf(const TissueShares& shares, const Work& work) {
  Mask mask(work.image.width(), work.image.height());
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

MeasureResult figuresOf(const Decision& decision, const Mask& inside, Subject subject,
                        const MeasureOptions& options) {
  MeasureResult result;
  result.outlinePx = countInside(inside);
  const double cover = shareOf(decision.foliage, inside);
  result.foliage = coverInterval(cover, decision.foliageDoubt, subject);
  if (cover >= options.minFoliageShare) {
    result.spot = spotInterval(shareOf(decision.spotted, decision.foliage),
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
  Work m_work;
  Mask m_inside;  // the outline within the working image's box, full size
  TissueMap m_map;
};

Result<OutlineReading::Parts> OutlineReading::Parts::create(const RgbImage& photo,
                                                            const std::optional<Outline>& outline) {
  const auto mask = checkedOutline(photo, outline);
  if (!mask) {
    return mask.error();
  }
  const PixelBox tight = boxAround(*mask);
  const RgbImage seen = cropped(photo, tight.left, tight.top, tight.width, tight.height);
  const auto quality = assessQuality(seen, croppedMask(*mask, tight));
  if (!quality) {
    return quality.error();
  }
  EDAMORI_RETURN_IF_ERROR(checkUsable(*quality));
  Parts parts;
  parts.m_width = photo.width();
  parts.m_height = photo.height();
  parts.m_quality = *quality;
  parts.m_work = workOf(photo, tight, parts.m_options);
  parts.m_inside = croppedMask(*mask, parts.m_work.box);
  auto map = tissueOf(parts.m_work.image);
  if (!map) {
    return map.error();
  }
  parts.m_map = *std::move(map);
  return parts;
}

Judgement OutlineReading::Parts::judgementOf(const TissueShares& shares,
                                                 const LabelImage* hints) const {
  Judgement judgement{.foliage = enlarged(shares.foliage, m_work),
                      .spotted = enlarged(spottedAmongFoliage(shares), m_work)};
  if (hints != nullptr) {
    overrideByHints(*hints, m_work.box, judgement);
  }
  return judgement;
}

Result<MeasureResult> OutlineReading::Parts::judged(const Judging& judging) const {
  Correction learned = judging.learned;
  if (judging.hints != nullptr) {
    EDAMORI_RETURN_IF_ERROR(checkHints(*judging.hints, m_width, m_height));
    const LabelImage hints =
        reducedHints(*judging.hints, m_work.box, m_work.image.width(), m_work.image.height());
    learned = learnedFrom(m_map, m_work.image, hints, judging.learned);
  }
  const TissueShares shares = corrected(m_map, m_work.image, learned);
  const Decision decision = decided(judgementOf(shares, judging.hints), m_inside, m_options);
  MeasureResult result = figuresOf(decision, m_inside, judging.subject, m_options);
  result.labels = labelsOf(decision, m_work.box, m_width, m_height);
  result.learned = learned;
  auto cautions =
      qualityCautions(m_work.image, m_quality, reduced(decision.foliage, m_work), outsideOf(shares, m_work));
  if (!cautions) {
    return cautions.error();
  }
  result.cautions = *std::move(cautions);
  addOwnCautions(result, decision, result.cautions);
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

}  // namespace edamori::vision
