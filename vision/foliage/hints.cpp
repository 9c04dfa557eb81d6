// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/foliage/hints.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstdint>
#include <vector>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace edamori::vision {
namespace {

using Terms = std::array<double, kCorrectionTerms>;

// How far strokes reach. Chosen on the calibration sets with three strokes each, where less would be
// better still, and so that one stroke can bring back leaves that were missed altogether.
struct Reach {
  // Total weight of all painted pixels of one kind, however long the stroke is.
  double strokeWeight;
  // Pixels nobody painted hold nothing in place when their colour is nearer than about this to
  // painted ones: there, the person knows better. In units of the colour terms.
  double sameColour;
};
constexpr Reach kFoliageReach{.strokeWeight = 80.0, .sameColour = 0.45};
constexpr Reach kSpottedReach{.strokeWeight = 60.0, .sameColour = 0.6};
// Total weight of the pixels that nobody painted.
constexpr double kAnchorWeight = 3000.0;
constexpr std::size_t kAnchors = 1500;
constexpr std::size_t kMaxPainted = 1500;
// Pull towards what was known before. Colour is what a stroke shows best; the network's features
// also tell a leaf's middle from its edge, which the person did not mean.
constexpr double kFeatureRidge = 1.0;
constexpr double kColourRidge = 0.2;
constexpr int kMaxRounds = 12;
constexpr double kSettled = 1e-4;  // length of a step that changes no probability that shows
constexpr double kMaxLogOdds = 7.0;

double sigmoid(double x) { return 1.0 / (1.0 + std::exp(-x)); }

double logOddsOf(double p) {
  return std::clamp(std::log(std::max(p, 1e-6) / std::max(1.0 - p, 1e-6)), -kMaxLogOdds, kMaxLogOdds);
}

double spottedShare(const TissueMap& map, std::size_t i) {
  return static_cast<double>(map.spotted[i]) / std::max(1e-6, static_cast<double>(map.foliage[i]));
}

constexpr float kMaxFeature = 4.0F;
// L*, a*, b* in OpenCV's 8 bits; about −2…2 over the colours that photographs hold.
constexpr float kMiddleColour = 128.0F;
constexpr std::array kColourUnits = {50.0, 16.0, 16.0};

cv::Mat labOf(const RgbImage& image) {
  const cv::Mat rgb(image.height(), image.width(), CV_8UC3, const_cast<std::uint8_t*>(image.data()));
  cv::Mat lab;
  cv::GaussianBlur(rgb, lab, cv::Size(3, 3), 0.8, 0.8, cv::BORDER_REFLECT);
  cv::cvtColor(lab, lab, cv::COLOR_RGB2Lab);
  return lab;
}

// Terms of any pixel of one photo.
class TermReader {
 public:
  TermReader(const TissueMap& map, const RgbImage& image) : m_map(map), m_lab(labOf(image)) {}

  [[nodiscard]] Terms at(std::size_t i) const {
    const auto width = static_cast<std::size_t>(m_map.width);
    const auto featureWidth = static_cast<std::size_t>(m_map.featureWidth);
    const std::size_t plane = featureWidth * static_cast<std::size_t>(m_map.featureHeight);
    const std::size_t feature = i / width / 2 * featureWidth + i % width / 2;
    Terms terms{};
    for (std::size_t k = 0; k < kTissueFeatures; ++k) {
      terms.at(k) = static_cast<double>(std::min(kMaxFeature, m_map.features[k * plane + feature]));
    }
    const std::uint8_t* const lab = m_lab.data + 3 * i;
    for (std::size_t k = 0; k < 3; ++k) {
      const double fromMiddle = static_cast<double>(static_cast<float>(lab[k]) - kMiddleColour);
      terms.at(kTissueFeatures + k) = fromMiddle / kColourUnits.at(k);
    }
    terms.back() = 1.0;
    return terms;
  }

 private:
  const TissueMap& m_map;
  cv::Mat m_lab;
};

struct Sample {
  Terms terms;
  double offset = 0.0;  // log-odds by the network
  double target = 0.0;  // 0…1
  double weight = 1.0;
};

double ridgeOf(int term) { return term < kTissueFeatures ? kFeatureRidge : kColourRidge; }

double dot(const Terms& a, const Terms& b) {
  double sum = 0.0;
  for (std::size_t k = 0; k < a.size(); ++k) {
    sum += a.at(k) * b.at(k);
  }
  return sum;
}

// One step of Newton's method for the penalised likelihood; gives the step's length.
double improve(const std::vector<Sample>& samples, const Terms& prior, Terms& weights) {
  cv::Mat hessian = cv::Mat::zeros(kCorrectionTerms, kCorrectionTerms, CV_64F);
  cv::Mat gradient(kCorrectionTerms, 1, CV_64F);
  for (int k = 0; k < kCorrectionTerms; ++k) {
    const auto index = static_cast<std::size_t>(k);
    gradient.at<double>(k) = ridgeOf(k) * (prior.at(index) - weights.at(index));
    hessian.at<double>(k, k) = ridgeOf(k);
  }
  for (const Sample& sample : samples) {
    const double p = sigmoid(sample.offset + dot(weights, sample.terms));
    const double slope = sample.weight * std::max(p * (1.0 - p), 1e-4);
    for (int j = 0; j < kCorrectionTerms; ++j) {
      const double term = sample.terms.at(static_cast<std::size_t>(j));
      gradient.at<double>(j) += sample.weight * (sample.target - p) * term;
      for (int k = 0; k <= j; ++k) {
        hessian.at<double>(j, k) += slope * term * sample.terms.at(static_cast<std::size_t>(k));
      }
    }
  }
  cv::completeSymm(hessian, true);
  cv::Mat step;
  cv::solve(hessian, gradient, step, cv::DECOMP_CHOLESKY);
  // A long step overshoots where the curve is flat.
  const double length = cv::norm(step);
  const double factor = std::min(1.0, 4.0 / std::max(length, 1e-9));
  for (int k = 0; k < kCorrectionTerms; ++k) {
    weights.at(static_cast<std::size_t>(k)) += factor * step.at<double>(k);
  }
  return length;
}

Terms fitted(const std::vector<Sample>& samples, const Terms& prior) {
  Terms weights = prior;
  for (int round = 0; round < kMaxRounds; ++round) {
    if (improve(samples, prior, weights) < kSettled) {
      break;
    }
  }
  return weights;
}

struct Painted {
  std::vector<std::size_t> notFoliage, sound, spotted;
};

Painted paintedIn(const LabelImage& hints) {
  Painted painted;
  for (std::size_t i = 0; i < hints.byteCount(); ++i) {
    switch (static_cast<Hint>(hints.data()[i])) {
      case Hint::NotFoliage:
        painted.notFoliage.push_back(i);
        break;
      case Hint::SoundFoliage:
        painted.sound.push_back(i);
        break;
      case Hint::Spot:
        painted.spotted.push_back(i);
        break;
      case Hint::None:
        break;
    }
  }
  return painted;
}

// Every n-th of the pixels, so that at most kMaxPainted remain.
void add(const std::vector<std::size_t>& pixels, double target, double weight, const TermReader& terms,
         const auto& offsetAt, std::vector<Sample>& samples) {
  const std::size_t step = pixels.size() / kMaxPainted + 1;
  const double each =
      weight * static_cast<double>(step) / static_cast<double>(std::max<std::size_t>(1, pixels.size()));
  for (std::size_t i = 0; i < pixels.size(); i += step) {
    samples.push_back({.terms = terms.at(pixels[i]), .offset = offsetAt(pixels[i]),
                       .target = target, .weight = each});
  }
}

double colourDistance(const Terms& a, const Terms& b) {
  double squares = 0.0;
  for (std::size_t k = kTissueFeatures; k < kTissueFeatures + 3; ++k) {
    squares += (a.at(k) - b.at(k)) * (a.at(k) - b.at(k));
  }
  return std::sqrt(squares);
}

// 0 for a colour that was painted … 1 for one far from all painted ones.
double unlikePainted(const Terms& terms, const std::vector<Terms>& painted, double sameColour) {
  double nearest = 1e3;
  for (const Terms& own : painted) {
    nearest = std::min(nearest, colourDistance(terms, own));
  }
  const double ratio = nearest / sameColour;
  return 1.0 - std::exp(-ratio * ratio);
}

// Some of the painted samples' terms.
std::vector<Terms> someOf(const std::vector<Sample>& samples) {
  constexpr std::size_t kSome = 90;
  std::vector<Terms> some;
  for (std::size_t i = 0; i < samples.size(); i += samples.size() / kSome + 1) {
    some.push_back(samples[i].terms);
  }
  return some;
}

// Pixels nobody painted keep their judgement, where it was a clear one.
void addAnchors(const LabelImage& hints, double sameColour, const TermReader& terms, const auto& offsetAt,
                const auto& isKnown, std::vector<Sample>& samples) {
  const std::vector<Terms> painted = someOf(samples);
  const std::size_t step = (hints.byteCount() / kAnchors) | 1U;
  for (std::size_t i = step / 2; i < hints.byteCount(); i += step) {
    if (hints.data()[i] == 0 && isKnown(i)) {
      const double offset = offsetAt(i);
      const double p = sigmoid(offset);
      const Terms own = terms.at(i);
      samples.push_back({.terms = own, .offset = offset, .target = p,
                         .weight = kAnchorWeight / kAnchors * std::abs(2.0 * p - 1.0) *
                                   unlikePainted(own, painted, sameColour)});
    }
  }
}

// What weights add to the log-odds of any pixel. Features are shared by 2 x 2 pixels, so that their
// part is summed once for each of them.
class ShiftReader {
 public:
  ShiftReader(const TissueMap& map, const Terms& weights) : m_featureWidth(map.featureWidth) {
    const auto plane = static_cast<std::size_t>(map.featureWidth) * static_cast<std::size_t>(map.featureHeight);
    m_byFeatures.assign(plane, static_cast<float>(weights.back()));
    for (std::size_t k = 0; k < kTissueFeatures; ++k) {
      const float* const feature = map.features.data() + k * plane;
      const auto weight = static_cast<float>(weights.at(k));
      for (std::size_t i = 0; i < plane; ++i) {
        m_byFeatures[i] += weight * std::min(kMaxFeature, feature[i]);
      }
    }
    for (std::size_t k = 0; k < 3; ++k) {
      m_byColour.at(k) = static_cast<float>(weights.at(kTissueFeatures + k) / kColourUnits.at(k));
    }
  }

  [[nodiscard]] float at(int x, int y, const std::uint8_t* lab) const {
    float shift = m_byFeatures[static_cast<std::size_t>(y / 2 * m_featureWidth + x / 2)];
    for (std::size_t k = 0; k < 3; ++k) {
      shift += m_byColour[k] * (static_cast<float>(lab[k]) - kMiddleColour);
    }
    return shift;
  }

 private:
  int m_featureWidth;
  std::vector<float> m_byFeatures;
  std::array<float, 3> m_byColour{};
};

// The probability whose log-odds lie `shift` above those of `p`.
float shifted(float p, float shift) {
  constexpr float kLeast = 9.110512e-4F;  // log-odds of -kMaxLogOdds
  constexpr float kMostShift = 60.0F;     // e^60 is far from overflow
  const float clear = std::clamp(p, kLeast, 1.0F - kLeast);
  const float odds = clear * std::exp(std::clamp(shift, -kMostShift, kMostShift));
  return odds / (odds + 1.0F - clear);
}

}  // namespace

Correction learnedFrom(const TissueMap& map, const RgbImage& image, const LabelImage& hints,
                       const Correction& prior) {
  assert(hints.width() == map.width && hints.height() == map.height);
  const Painted painted = paintedIn(hints);
  const TermReader terms(map, image);
  Correction learned = prior;
  const auto foliageOffset = [&map](std::size_t i) { return logOddsOf(static_cast<double>(map.foliage[i])); };
  if (!painted.notFoliage.empty() || !painted.sound.empty() || !painted.spotted.empty()) {
    std::vector<Sample> samples;
    const auto [weight, sameColour] = kFoliageReach;
    add(painted.notFoliage, 0.0, weight, terms, foliageOffset, samples);
    add(painted.sound, 1.0, weight, terms, foliageOffset, samples);
    add(painted.spotted, 1.0, weight, terms, foliageOffset, samples);
    addAnchors(hints, sameColour, terms, foliageOffset, [](std::size_t) { return true; }, samples);
    learned.foliage = fitted(samples, prior.foliage);
  }
  const auto spotOffset = [&map](std::size_t i) { return logOddsOf(spottedShare(map, i)); };
  if (!painted.sound.empty() || !painted.spotted.empty()) {
    std::vector<Sample> samples;
    const auto [weight, sameColour] = kSpottedReach;
    add(painted.sound, 0.0, weight, terms, spotOffset, samples);
    add(painted.spotted, 1.0, weight, terms, spotOffset, samples);
    addAnchors(hints, sameColour, terms, spotOffset, [&map](std::size_t i) { return map.foliage[i] > 0.5F; }, samples);
    learned.spotted = fitted(samples, prior.spotted);
  }
  return learned;
}

TissueShares corrected(const TissueMap& map, const RgbImage& image, const Correction& correction) {
  TissueShares shares{.foliage = map.foliage, .spotted = map.spotted};
  if (correction == Correction{}) {
    return shares;
  }
  const ShiftReader foliageShift(map, correction.foliage), spottedShift(map, correction.spotted);
  const cv::Mat lab = labOf(image);
  std::size_t i = 0;
  for (int y = 0; y < map.height; ++y) {
    const std::uint8_t* const row = lab.ptr(y);
    for (int x = 0; x < map.width; ++x, ++i) {
      const float foliage = shifted(map.foliage[i], foliageShift.at(x, y, row + 3 * x));
      const float among = map.spotted[i] / std::max(1e-6F, map.foliage[i]);
      shares.foliage[i] = foliage;
      shares.spotted[i] = foliage * shifted(among, spottedShift.at(x, y, row + 3 * x));
    }
  }
  return shares;
}

}  // namespace edamori::vision
