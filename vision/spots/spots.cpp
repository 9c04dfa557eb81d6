// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/spots/spots.h"

#include "vision/quality/colour.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <vector>

#include <opencv2/imgproc.hpp>

namespace edamori::vision {
namespace {

// Robust spread: 1.4826 times the median absolute deviation is σ of a normal distribution.
constexpr double kSigmaOfMad = 1.4826;
// Sound tissue redder than this is a red leaf, on which spots are less red, too.
constexpr float kRedLeafRedness = 0.35F;
// Tissue below this is green beyond doubt.
constexpr double kGreenRedness = -0.5;
constexpr double kMinSoundPx = 50.0;

cv::Mat viewOf(const Raster<1>& raster) {
  return {raster.height(), raster.width(), CV_8UC1, const_cast<std::uint8_t*>(raster.data())};
}

// What is compared at each pixel.
struct Tissue {
  cv::Mat redness, lightness, chroma;  // 32-bit float, one channel
};

Tissue tissueOf(const RgbImage& image, Subject subject) {
  // A slight blur first: single pixels carry noise, and JPEG blocks.
  RgbImage smooth(image.width(), image.height());
  const cv::Mat from(image.height(), image.width(), CV_8UC3,
                     const_cast<std::uint8_t*>(image.data()));
  cv::Mat to(image.height(), image.width(), CV_8UC3, smooth.data());
  // Needles are two or three pixels wide themselves.
  const double sigmaPx = subject == Subject::Leaf ? 1.0 : 0.45;
  cv::GaussianBlur(from, to, cv::Size(5, 5), sigmaPx, sigmaPx, cv::BORDER_REFLECT_101);
  Tissue tissue{.redness = cv::Mat(image.height(), image.width(), CV_32F),
                .lightness = cv::Mat(image.height(), image.width(), CV_32F),
                .chroma = cv::Mat(image.height(), image.width(), CV_32F)};
  const std::uint8_t* rgb = smooth.data();
  for (std::int64_t i = 0; i < image.pixelCount(); ++i, rgb += 3) {
    const Lab lab = labOf(rgb[0], rgb[1], rgb[2]);
    tissue.redness.ptr<float>()[i] = static_cast<float>(rednessOf(rgb[0], rgb[1]));
    tissue.lightness.ptr<float>()[i] = static_cast<float>(lab.l);
    tissue.chroma.ptr<float>()[i] = static_cast<float>(chromaOf(lab));
  }
  return tissue;
}

// Quantile of the values where the weight is at least one half; 0 when there are none.
double quantileWhere(const cv::Mat& values, const cv::Mat& weight, double share) {
  // A hundred thousand values tell a quantile well enough; an odd step walks through all columns.
  constexpr std::size_t kEnough = 100'000;
  const std::size_t step = (values.total() / kEnough) | 1U;
  std::vector<float> kept;
  kept.reserve(values.total() / step + 1);
  const auto* const value = values.ptr<float>();
  const auto* const w = weight.ptr<float>();
  for (std::size_t i = 0; i < values.total(); i += step) {
    if (w[i] >= 0.5F) {
      kept.push_back(value[i]);
    }
  }
  if (kept.empty()) {
    return 0.0;
  }
  const auto place = kept.begin() + static_cast<std::ptrdiff_t>(
                                        share * static_cast<double>(kept.size() - 1));
  std::nth_element(kept.begin(), place, kept.end());
  return static_cast<double>(*place);
}

double medianWhere(const cv::Mat& values, const cv::Mat& weight) {
  return quantileWhere(values, weight, 0.5);
}

double spreadWhere(const cv::Mat& difference, const cv::Mat& weight) {
  const double centre = medianWhere(difference, weight);
  const cv::Mat deviation = cv::abs(difference - centre);
  return kSigmaOfMad * medianWhere(deviation, weight);
}

// Mean over a wide window of the pixels with weight, drawn towards the median of all.
class SoundTissue {
 public:
  SoundTissue(const cv::Mat& weight, int radiusPx, double globalWeight)
      : m_weight(weight), m_side(2 * radiusPx + 1, 2 * radiusPx + 1), m_global(globalWeight) {
    m_total = averaged(weight);
  }

  [[nodiscard]] cv::Mat meanOf(const cv::Mat& values) const {
    const cv::Mat weighted = averaged(values.mul(m_weight));
    const double median = medianWhere(values, m_weight);
    cv::Mat mean;
    cv::divide(weighted + m_global * median, m_total + m_global, mean);
    return mean;
  }

 private:
  [[nodiscard]] cv::Mat averaged(const cv::Mat& values) const {
    cv::Mat mean;
    cv::blur(values, mean, m_side, cv::Point(-1, -1), cv::BORDER_REFLECT);
    return mean;
  }

  cv::Mat m_weight;
  cv::Size m_side;
  double m_global;
  cv::Mat m_total;
};

// Evidence 1 stands on the decision; below 1 sound, above spotted.
cv::Mat evidenceOf(const Tissue& tissue,
                   const cv::Mat& sound,
                   int radiusPx,
                   const SpotOptions& options) {
  const SoundTissue around(sound, radiusPx, options.globalWeight);
  const cv::Mat redness = around.meanOf(tissue.redness);
  const cv::Mat lightness = around.meanOf(tissue.lightness);
  const cv::Mat chroma = around.meanOf(tissue.chroma);
  const cv::Mat shift = tissue.redness - redness;
  const cv::Mat loss = lightness - tissue.lightness;
  const double spread = options.spreadFactor * spreadWhere(shift, sound);
  const bool isRedFoliage =
      medianWhere(tissue.redness, sound) > static_cast<double>(kRedLeafRedness);
  // Red foliage turns through every tone in autumn; green foliage that varies much is sick.
  const double rednessStep =
      std::max(options.minRednessStep,
               isRedFoliage ? spread : std::min(spread, options.maxRednessStep));
  const double darkStep =
      std::max(options.minDarkStep, options.spreadFactor * spreadWhere(loss, sound));
  const auto redUnit = static_cast<float>(1.0 / rednessStep);
  const auto darkUnit = static_cast<float>(1.0 / darkStep);
  const auto chromaLeft = static_cast<float>(1.0 - options.minChromaLoss);
  const auto glint = static_cast<float>(options.glintLightness);
  cv::Mat evidence(sound.rows, sound.cols, CV_32F);
  for (std::size_t i = 0; i < evidence.total(); ++i) {
    const float l = tissue.lightness.ptr<float>()[i];
    const float c = tissue.chroma.ptr<float>()[i];
    float e = shift.ptr<float>()[i] * redUnit;
    if (redness.ptr<float>()[i] > kRedLeafRedness) {
      e = std::max(e, -0.8F * e);
    }
    // Shade takes lightness and chroma together; a dark lesion has lost its colour.
    const float expectedChroma =
        chroma.ptr<float>()[i] * l / std::max(1.0F, lightness.ptr<float>()[i]);
    if (c < chromaLeft * expectedChroma) {
      e = std::max(e, loss.ptr<float>()[i] * darkUnit);
    }
    evidence.ptr<float>()[i] = l > glint && c < 18.0F ? 0.0F : e;
  }
  return evidence;
}

cv::Mat probabilityOf(const cv::Mat& evidence, const cv::Mat& tissueMask, double softness) {
  cv::Mat probability(evidence.rows, evidence.cols, CV_32F);
  const auto unit = static_cast<float>(1.0 / softness);
  for (std::size_t i = 0; i < evidence.total(); ++i) {
    const float logOdds = (evidence.ptr<float>()[i] - 1.0F) * unit;
    probability.ptr<float>()[i] =
        tissueMask.ptr<std::uint8_t>()[i] != 0 ? 1.0F / (1.0F + std::exp(-logOdds)) : 0.0F;
  }
  return probability;
}

struct SpotShape {
  double area = 0.0, boundary = 0.0, onFoliage = 0.0, inner = 0.0;
};

std::vector<SpotShape> shapesOf(const cv::Mat& labels,
                                int count,
                                const cv::Mat& foliage,
                                const cv::Mat& inner) {
  std::vector<SpotShape> shapes(static_cast<std::size_t>(count));
  for (int y = 0; y < labels.rows; ++y) {
    for (int x = 0; x < labels.cols; ++x) {
      const int own = labels.at<int>(y, x);
      if (own == 0) {
        continue;
      }
      SpotShape& shape = shapes[static_cast<std::size_t>(own)];
      shape.area += 1.0;
      shape.inner += inner.at<std::uint8_t>(y, x) != 0 ? 1.0 : 0.0;
      for (const auto& [dx, dy] : {std::pair{1, 0}, {-1, 0}, {0, 1}, {0, -1}}) {
        const int nx = x + dx;
        const int ny = y + dy;
        if (nx < 0 || ny < 0 || nx >= labels.cols || ny >= labels.rows) {
          // The photo's edge cuts a spot; what lies beyond is unknown, so that it counts half.
          shape.boundary += 1.0;
          shape.onFoliage += 0.5;
        } else if (labels.at<int>(ny, nx) != own) {
          shape.boundary += 1.0;
          shape.onFoliage += foliage.at<std::uint8_t>(ny, nx) != 0 ? 1.0 : 0.0;
        }
      }
    }
  }
  return shapes;
}

bool isSpot(const SpotShape& shape, Subject subject, const SpotOptions& options) {
  if (subject == Subject::Needles) {
    return shape.area >= options.minNeedleAreaPx;  // Blight takes whole needles, thin as they are.
  }
  if (shape.area < options.minAreaPx) {
    return false;
  }
  // A strip of width w has the mean width w; a disc has a fivefold elongation by this measure.
  const double meanWidthPx = 2.0 * shape.area / std::max(1.0, shape.boundary);
  const double elongation = shape.area / (meanWidthPx * meanWidthPx);
  if (meanWidthPx < options.maxStreakWidthPx && elongation > options.minStreakElongation) {
    return false;
  }
  return shape.inner >= options.minInnerShare * shape.area && shape.onFoliage >= options.minLeafContact * shape.boundary;
}

// Takes back what is too small, too thin, at the margin, or not enclosed by foliage.
void keepSpots(const cv::Mat& foliage, Subject subject, const SpotOptions& options, cv::Mat& probability) {
  cv::Mat spotted = probability >= 0.5;
  cv::Mat inner = foliage;
  if (subject == Subject::Leaf) {
    const int side = 2 * options.leafEdgePx + 1;
    const cv::Mat disc = cv::getStructuringElement(cv::MORPH_ELLIPSE, cv::Size(side, side));
    // Beyond the photo the leaf goes on, as far as anybody knows.
    cv::erode(foliage, inner, disc);
    const cv::Mat small = cv::getStructuringElement(cv::MORPH_ELLIPSE, cv::Size(3, 3));
    cv::morphologyEx(spotted, spotted, cv::MORPH_OPEN, small);
    cv::morphologyEx(spotted, spotted, cv::MORPH_CLOSE, disc);
    spotted &= foliage;
  }
  cv::Mat labels;
  const int count = cv::connectedComponents(spotted, labels, 8);
  const std::vector<SpotShape> shapes = shapesOf(labels, count, foliage, inner);
  for (int y = 0; y < labels.rows; ++y) {
    for (int x = 0; x < labels.cols; ++x) {
      const auto own = static_cast<std::size_t>(labels.at<int>(y, x));
      float& p = probability.at<float>(y, x);
      if (own == 0 || !isSpot(shapes[own], subject, options)) {
        p = std::min(p, 0.3F);
      } else {
        p = std::max(p, 0.6F);  // closed holes within a spot belong to it
      }
    }
  }
}

cv::Mat soundAtFirst(const Tissue& tissue, const cv::Mat& foliage, const SpotOptions& options) {
  cv::Mat sound;
  foliage.convertTo(sound, CV_32F, 1.0 / 255.0);
  // Where a good part is clearly green, that is the sound tissue, however much is not:
  // half of a blighted branch may be brown.
  const double green = quantileWhere(tissue.redness, sound, 0.25);
  const bool isGreen = green < kGreenRedness;
  const double centre = isGreen ? green : medianWhere(tissue.redness, sound);
  const double spread = options.spreadFactor * spreadWhere(tissue.redness, sound);
  const double step = std::max(1.5 * options.minRednessStep,
                               isGreen ? std::min(spread, options.maxRednessStep) : spread);
  for (std::size_t i = 0; i < sound.total(); ++i) {
    if (std::abs(static_cast<double>(tissue.redness.ptr<float>()[i]) - centre) > step) {
      sound.ptr<float>()[i] = 0.0F;
    }
  }
  return sound;
}

void useHints(const LabelImage& hints, cv::Mat& sound) {
  for (std::size_t i = 0; i < hints.byteCount(); ++i) {
    switch (static_cast<Hint>(hints.data()[i])) {
      case Hint::SoundFoliage:
        // Painted tissue shapes the reference of its whole surroundings.
        sound.ptr<float>()[i] = 8.0F;
        break;
      case Hint::Spot:
      case Hint::NotFoliage:
        sound.ptr<float>()[i] = 0.0F;
        break;
      case Hint::None:
        break;
    }
  }
}

// Shift of the decision that puts the painted spots above it and the painted sound
// tissue below it, half way between their medians; 0 when only one kind is painted.
float decisionShift(const LabelImage& hints, const cv::Mat& evidence) {
  std::vector<float> spots;
  std::vector<float> sound;
  for (std::size_t i = 0; i < hints.byteCount(); ++i) {
    const auto hint = static_cast<Hint>(hints.data()[i]);
    if (hint == Hint::Spot) {
      spots.push_back(evidence.ptr<float>()[i]);
    } else if (hint == Hint::SoundFoliage) {
      sound.push_back(evidence.ptr<float>()[i]);
    }
  }
  const auto quantile = [](std::vector<float>& values, double share) {
    const auto place = values.begin() + static_cast<std::ptrdiff_t>(
                                            share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), place, values.end());
    return *place;
  };
  float decision = 1.0F;
  if (!spots.empty()) {
    decision = std::min(decision, quantile(spots, 0.25));
  }
  if (!sound.empty()) {
    decision = std::max(decision, quantile(sound, 0.9) + 0.15F);
  }
  return std::clamp(decision, 0.4F, 2.5F) - 1.0F;
}

void applyHints(const LabelImage& hints, ProbabilityMap& map) {
  for (std::size_t i = 0; i < hints.byteCount(); ++i) {
    const auto hint = static_cast<Hint>(hints.data()[i]);
    if (hint != Hint::None) {
      map.data()[i] = hint == Hint::Spot ? 255 : 0;
    }
  }
}

}  // namespace

ProbabilityMap spotProbability(const RgbImage& image,
                               const ProbabilityMap& foliage,
                               const LabelImage& hints,
                               Subject subject,
                               const SpotOptions& options) {
  assert(foliage.width() == image.width() && foliage.height() == image.height());
  const cv::Mat foliageMask = viewOf(foliage) >= kDecision;
  ProbabilityMap map(image.width(), image.height(), 0);
  const double foliagePx = cv::countNonZero(foliageMask);
  if (foliagePx < kMinSoundPx) {
    applyHints(hints, map);
    return map;
  }
  const Tissue tissue = tissueOf(image, subject);
  const int radius = std::max(8, static_cast<int>(options.windowShare * std::sqrt(foliagePx)));
  cv::Mat sound = soundAtFirst(tissue, foliageMask, options);
  useHints(hints, sound);
  cv::Mat probability;
  for (int round = 0; round < options.rounds; ++round) {
    cv::Mat evidence = evidenceOf(tissue, sound, radius, options);
    evidence -= decisionShift(hints, evidence);
    probability = probabilityOf(evidence, foliageMask, options.softness);
    sound = cv::Mat(probability < 0.5F) & foliageMask;
    sound.convertTo(sound, CV_32F, 1.0 / 255.0);
    useHints(hints, sound);
  }
  keepSpots(foliageMask, subject, options, probability);
  for (std::size_t i = 0; i < map.byteCount(); ++i) {
    map.data()[i] = static_cast<std::uint8_t>(std::lround(255.0F * probability.ptr<float>()[i]));
  }
  applyHints(hints, map);
  return map;
}

}  // namespace edamori::vision
