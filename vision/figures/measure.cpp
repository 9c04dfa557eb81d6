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
  work.image = reducedToFit(
      cropped(photo, work.box.left, work.box.top, work.box.width, work.box.height),
      options.workingSidePx);
  if (hints) {
    work.hints = reducedHints(*hints, work.box, work.image.width(), work.image.height());
  }
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
std::vector<float> spottedAmongFoliage(const TissueMap& map) {
  std::vector<float> share(map.foliage.size());
  for (std::size_t i = 0; i < share.size(); ++i) {
    share[i] = map.spotted[i] / std::max(1e-6F, map.foliage[i]);
  }
  return share;
}

// The judgement at full size, within the outline's box.
struct Judgement {
  Mask inside;             // the outline
  ProbabilityMap foliage;  // of each pixel
  ProbabilityMap spotted;  // given that it is foliage
};

// Painted pixels count as painted, at full size.
void overrideByHints(const LabelImage& hints, const PixelBox& box, Judgement& judgement) {
  for (int y = 0; y < box.height; ++y) {
    for (int x = 0; x < box.width; ++x) {
      const auto hint = static_cast<Hint>(hints.at(box.left + x, box.top + y));
      if (hint != Hint::None) {
        judgement.foliage.at(x, y) = hint == Hint::NotFoliage ? 0 : 255;
        judgement.spotted.at(x, y) = hint == Hint::Spot ? 255 : 0;
      }
    }
  }
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

Decision decided(const Judgement& judgement, const MeasureOptions& options) {
  const Spread foliage(judgement.foliage, judgement.inside);
  Decision decision;
  decision.foliage = atLeast(judgement.foliage, judgement.inside,
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

std::string parametersJson(const MeasureRequest& request, const MeasureOptions& options) {
  const nlohmann::json json{
      {"subject", request.subject == Subject::Leaf ? "leaf" : "needles"},
      {"hints", request.hints.has_value()},
      {"learned", request.learned != Correction{}},
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
Mask outsideOf(const TissueMap& map) {
  Mask mask(map.width, map.height);
  for (std::size_t i = 0; i < mask.byteCount(); ++i) {
    mask.data()[i] = map.foliage[i] < 0.5F ? 255 : 0;
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

// The network's map, put right by what was learned before and by the hints.
Result<TissueMap> learnedMap(const Work& work, const MeasureRequest& request, Correction& learned) {
  auto map = tissueOf(work.image);
  if (!map) {
    return map;
  }
  if (request.hints) {
    learned = learnedFrom(*map, work.image, work.hints, request.learned);
  }
  return corrected(*std::move(map), work.image, learned);
}

Judgement judgementOf(const TissueMap& map, const Work& work, const Mask& outline,
                      const std::optional<LabelImage>& hints) {
  Judgement judgement{.inside = croppedMask(outline, work.box),
                      .foliage = enlarged(map.foliage, work),
                      .spotted = enlarged(spottedAmongFoliage(map), work)};
  if (hints) {
    overrideByHints(*hints, work.box, judgement);
  }
  return judgement;
}

MeasureResult figuresOf(const Judgement& judgement, const Decision& decision, Subject subject,
                        const MeasureOptions& options) {
  MeasureResult result;
  result.outlinePx = countInside(judgement.inside);
  const double cover = shareOf(decision.foliage, judgement.inside);
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
  Correction learned = request.learned;
  const auto map = learnedMap(work, request, learned);
  if (!map) {
    return map.error();
  }
  const Judgement judgement = judgementOf(*map, work, *outline, request.hints);
  const Decision decision = decided(judgement, options);
  MeasureResult result = figuresOf(judgement, decision, request.subject, options);
  result.labels = labelsOf(decision, work.box, photo.width(), photo.height());
  result.learned = learned;
  auto cautions =
      qualityCautions(work.image, *quality, reduced(decision.foliage, work), outsideOf(*map));
  if (!cautions) {
    return cautions.error();
  }
  result.cautions = *std::move(cautions);
  addOwnCautions(result, decision, result.cautions);
  result.method = {.name = "foliage-and-spots",
                   .version = kMeasureVersion,
                   .parameters = parametersJson(request, options)};
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
