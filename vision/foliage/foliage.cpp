// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/foliage/foliage.h"

#include "vision/quality/colour.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <vector>

#include <opencv2/imgproc.hpp>

namespace edamori::vision {
namespace {

// Colours are told apart to 4 steps of 255: finer than any leaf is even.
constexpr int kLevels = 64;
constexpr std::size_t kColours = std::size_t{kLevels} * kLevels * kLevels;

std::size_t colourIndex(const std::uint8_t* rgb) {
  return (static_cast<std::size_t>(rgb[0] >> 2) * kLevels + (rgb[1] >> 2)) * kLevels +
         (rgb[2] >> 2);
}

double sigmoid(double x) { return 1.0 / (1.0 + std::exp(-x)); }

struct Knot {
  double hueDeg, logOdds;
};

// Chosen by eye on generated trees and real leaves: 0–40° red leaves, 50–80° bark, wood, soil
// and dead tissue, 100–190° green to blue-green, 225° and beyond sky, glaze and cloth.
constexpr std::array<Knot, 16> kHueKnots{{{0, 1.2},
                                          {20, 1.6},
                                          {34, 1.2},
                                          {44, 0.0},
                                          {55, -1.0},
                                          {70, -1.3},
                                          {80, -0.9},
                                          {90, 0.0},
                                          {98, 1.2},
                                          {108, 2.4},
                                          {170, 2.5},
                                          {205, 1.4},
                                          {225, -1.5},
                                          {260, -2.5},
                                          {320, -1.5},
                                          {360, 1.2}}};

double hueLogOdds(double hueDeg) {
  for (std::size_t i = 1; i < kHueKnots.size(); ++i) {
    const Knot& from = kHueKnots.at(i - 1);
    const Knot& to = kHueKnots.at(i);
    if (hueDeg <= to.hueDeg) {
      const double part = (hueDeg - from.hueDeg) / (to.hueDeg - from.hueDeg);
      return from.logOdds + part * (to.logOdds - from.logOdds);
    }
  }
  return kHueKnots.back().logOdds;
}

const std::vector<float>& priorTable() {
  static const std::vector<float> kTable = [] {
    std::vector<float> table(kColours);
    for (std::size_t i = 0; i < kColours; ++i) {
      const auto level = [](std::size_t v) { return static_cast<std::uint8_t>(v % kLevels * 4 + 2); };
      table[i] = static_cast<float>(
          foliageLogOdds(level(i / kLevels / kLevels), level(i / kLevels), level(i)));
    }
    return table;
  }();
  return kTable;
}

// Spreads the colour counts over their neighbours, so that one leaf's shades hold together.
void smoothColours(std::vector<float>& counts) {
  std::array<float, kLevels> line{};
  const auto smoothAlong = [&counts, &line](std::size_t stride, std::size_t start) {
    for (std::size_t i = 0; i < kLevels; ++i) {
      line[i] = counts[start + i * stride];
    }
    for (std::size_t i = 0; i < kLevels; ++i) {
      const float before = line[i == 0 ? 0 : i - 1];
      const float after = line[i == kLevels - 1 ? i : i + 1];
      counts[start + i * stride] = 0.25F * before + 0.5F * line[i] + 0.25F * after;
    }
  };
  constexpr std::size_t kRow = kLevels;
  constexpr std::size_t kPlane = std::size_t{kLevels} * kLevels;
  for (std::size_t i = 0; i < kLevels; ++i) {
    for (std::size_t j = 0; j < kLevels; ++j) {
      smoothAlong(1, i * kPlane + j * kRow);
      smoothAlong(kRow, i * kPlane + j);
      smoothAlong(kPlane, i * kRow + j);
    }
  }
}

// The working state: one probability and one colour index a pixel.
class Learner {
 public:
  Learner(const RgbImage& image, const LabelImage& hints, const FoliageOptions& options)
      : m_hints(hints),
        m_options(options),
        m_probability(image.height(), image.width(), CV_32F),
        m_colour(static_cast<std::size_t>(image.pixelCount())) {
    const std::vector<float>& prior = priorTable();
    auto* const probability = m_probability.ptr<float>();
    for (std::size_t i = 0; i < m_colour.size(); ++i) {
      m_colour[i] = static_cast<std::uint32_t>(colourIndex(image.data() + 3 * i));
      probability[i] = static_cast<float>(sigmoid(static_cast<double>(prior[m_colour[i]])));
    }
  }

  // Log-odds that are the same in every round.
  void setOwn(cv::Mat logOdds) { m_own = std::move(logOdds); }

  void learn(int contextRadiusPx) {
    const std::vector<float> byColour = judgementByColour();
    cv::Mat context;
    const int side = 2 * contextRadiusPx + 1;
    cv::blur(m_probability, context, cv::Size(side, side), cv::Point(-1, -1), cv::BORDER_REFLECT);
    auto* const probability = m_probability.ptr<float>();
    const auto* const around = context.ptr<float>();
    const auto weight = static_cast<float>(m_options.contextWeight);
    for (std::size_t i = 0; i < m_colour.size(); ++i) {
      const float own = m_own.empty() ? 0.0F : m_own.ptr<float>()[i];
      const float logOdds = byColour[m_colour[i]] + own + weight * (around[i] - 0.5F);
      probability[i] = 1.0F / (1.0F + std::exp(-logOdds));
    }
  }

  [[nodiscard]] const cv::Mat& probability() const { return m_probability; }
  [[nodiscard]] const std::vector<std::uint32_t>& colours() const { return m_colour; }

 private:
  // Log-odds of each colour: the general ones, and the mean judgement of its pixels.
  [[nodiscard]] std::vector<float> judgementByColour() const {
    std::vector<float> foliage(kColours);
    std::vector<float> all(kColours);
    const auto* const probability = m_probability.ptr<float>();
    for (std::size_t i = 0; i < m_colour.size(); ++i) {
      foliage[m_colour[i]] += probability[i];
      all[m_colour[i]] += 1.0F;
    }
    addHints(foliage, all);
    smoothColours(foliage);
    smoothColours(all);
    const std::vector<float>& prior = priorTable();
    std::vector<float> logOdds(kColours);
    for (std::size_t i = 0; i < kColours; ++i) {
      const double general = static_cast<double>(prior[i]);
      double learned = general;
      if (all[i] > 1e-3F) {
        const double share = std::clamp(static_cast<double>(foliage[i] / all[i]), 0.01, 0.99);
        learned = std::log(share / (1.0 - share));
      }
      logOdds[i] = static_cast<float>(m_options.priorWeight * general +
                                      m_options.learnedWeight * learned);
    }
    return logOdds;
  }

  void addHints(std::vector<float>& foliage, std::vector<float>& all) const {
    if (m_hints.isEmpty()) {
      return;
    }
    const auto weight = static_cast<float>(m_options.hintWeight);
    for (std::size_t i = 0; i < m_colour.size(); ++i) {
      const auto hint = static_cast<Hint>(m_hints.data()[i]);
      if (hint == Hint::None) {
        continue;
      }
      all[m_colour[i]] += weight;
      foliage[m_colour[i]] += hint == Hint::NotFoliage ? 0.0F : weight;
    }
  }

  const LabelImage& m_hints;
  FoliageOptions m_options;
  cv::Mat m_probability;
  cv::Mat m_own;
  std::vector<std::uint32_t> m_colour;
};

// How much fine detail lies around each pixel, in steps of 255: mean difference
// between a pixel and its neighbourhood.
cv::Mat detailOf(const RgbImage& image, int radiusPx) {
  const cv::Mat rgb(image.height(), image.width(), CV_8UC3,
                    const_cast<std::uint8_t*>(image.data()));
  cv::Mat grey;
  cv::cvtColor(rgb, grey, cv::COLOR_RGB2GRAY);
  cv::Mat soft;
  cv::blur(grey, soft, cv::Size(5, 5), cv::Point(-1, -1), cv::BORDER_REFLECT);
  cv::Mat difference;
  cv::absdiff(grey, soft, difference);
  difference.convertTo(difference, CV_32F);
  const int side = 2 * radiusPx + 1;
  cv::Mat detail;
  cv::blur(difference, detail, cv::Size(side, side), cv::Point(-1, -1), cv::BORDER_REFLECT);
  return detail;
}

// Hedges and lawns behind a tree are green, too, but out of focus: what has far less
// detail than the foliage in focus is held for background.
cv::Mat focusLogOdds(const cv::Mat& detail,
                     const cv::Mat& foliage,
                     Subject subject,
                     const FoliageOptions& options) {
  std::vector<float> ofFoliage;
  for (std::size_t i = 0; i < detail.total(); i += 7) {
    if (foliage.ptr<float>()[i] >= 0.5F) {
      ofFoliage.push_back(detail.ptr<float>()[i]);
    }
  }
  if (ofFoliage.size() < 100) {
    return {};
  }
  const auto place = ofFoliage.begin() + static_cast<std::ptrdiff_t>(ofFoliage.size() * 3 / 4);
  std::nth_element(ofFoliage.begin(), place, ofFoliage.end());
  const float focused = *place;
  if (static_cast<double>(focused) < options.minFocusDetail) {
    return {};
  }
  cv::Mat logOdds(detail.rows, detail.cols, CV_32F);
  const auto weight = static_cast<float>(options.focusWeight);
  const auto bonus = static_cast<float>(subject == Subject::Leaf ? options.leafDetailBonus
                                                            : options.needleDetailBonus);
  for (std::size_t i = 0; i < detail.total(); ++i) {
    const float relative = detail.ptr<float>()[i] / focused;
    logOdds.ptr<float>()[i] = bonus * std::clamp((relative - 0.6F) / 0.6F, 0.0F, 1.0F) -
                              weight * std::clamp((0.5F - relative) / 0.35F, 0.0F, 1.0F);
  }
  return logOdds;
}

struct Components {
  cv::Mat labels;  // 32-bit signed, 0 = not in any
  cv::Mat stats;
  int count = 0;
};

Components componentsOf(const cv::Mat& mask) {
  Components components;
  cv::Mat centroids;
  components.count =
      cv::connectedComponentsWithStats(mask, components.labels, components.stats, centroids, 4);
  return components;
}

// For each component: the share of its boundary that borders on foliage.
std::vector<double> foliageContact(const Components& components, const cv::Mat& foliage) {
  std::vector<double> touching(static_cast<std::size_t>(components.count));
  std::vector<double> boundary(static_cast<std::size_t>(components.count));
  const int rows = foliage.rows;
  const int columns = foliage.cols;
  for (int y = 0; y < rows; ++y) {
    const int* const labels = components.labels.ptr<int>(y);
    for (int x = 0; x < columns; ++x) {
      if (labels[x] == 0) {
        continue;
      }
      const auto own = static_cast<std::size_t>(labels[x]);
      for (const auto& [dx, dy] : {std::pair{1, 0}, {-1, 0}, {0, 1}, {0, -1}}) {
        const int nx = x + dx;
        const int ny = y + dy;
        const bool isInside = nx >= 0 && ny >= 0 && nx < columns && ny < rows;
        if (isInside && components.labels.at<int>(ny, nx) == labels[x]) {
          continue;
        }
        boundary[own] += 1.0;
        touching[own] += isInside && foliage.at<std::uint8_t>(ny, nx) != 0 ? 1.0 : 0.0;
      }
    }
  }
  for (std::size_t i = 0; i < touching.size(); ++i) {
    touching[i] = boundary[i] > 0.0 ? touching[i] / boundary[i] : 0.0;
  }
  return touching;
}

// How common each hole's colours are in the background at large, as a multiple of what
// they would be if the background had a thousand colours.
std::vector<double> likenessToBackground(const Components& components,
                                         const std::vector<bool>& isHole,
                                         const std::vector<std::uint32_t>& colours) {
  std::vector<float> background(kColours);
  double total = 0.0;
  const int* const labels = components.labels.ptr<int>();
  for (std::size_t i = 0; i < colours.size(); ++i) {
    if (labels[i] != 0 && !isHole[static_cast<std::size_t>(labels[i])]) {
      background[colours[i]] += 1.0F;
      total += 1.0;
    }
  }
  smoothColours(background);
  smoothColours(background);
  std::vector<double> likeness(isHole.size());
  std::vector<double> pixels(isHole.size());
  for (std::size_t i = 0; i < colours.size(); ++i) {
    const auto own = static_cast<std::size_t>(labels[i]);
    if (own != 0 && isHole[own]) {
      likeness[own] += total > 0.0 ? 1000.0 * static_cast<double>(background[colours[i]]) / total : 0.0;
      pixels[own] += 1.0;
    }
  }
  for (std::size_t i = 0; i < likeness.size(); ++i) {
    likeness[i] = pixels[i] > 0.0 ? likeness[i] / pixels[i] : 0.0;
  }
  return likeness;
}

constexpr double kMinContact = 0.55;
constexpr double kMaxLikeness = 0.35;

// Raises holes within foliage that do not look like what lies behind: lesions.
void fillLesions(const Learner& learner, Subject subject, double maxShare, cv::Mat& probability) {
  const cv::Mat foliage = probability >= 0.5;
  const Components components = componentsOf(~foliage);
  const double foliagePx = cv::countNonZero(foliage);
  const std::vector<double> contact = foliageContact(components, foliage);
  // Needles show their background through many small gaps; only specks can be lesions there.
  const double limit = (subject == Subject::Leaf ? maxShare : maxShare / 60) * foliagePx;
  std::vector<bool> isHole(static_cast<std::size_t>(components.count));
  for (int i = 1; i < components.count; ++i) {
    const auto index = static_cast<std::size_t>(i);
    isHole[index] = contact[index] >= kMinContact &&
                    components.stats.at<int>(i, cv::CC_STAT_AREA) <= limit;
  }
  const std::vector<double> likeness = likenessToBackground(components, isHole, learner.colours());
  for (int y = 0; y < probability.rows; ++y) {
    const int* const labels = components.labels.ptr<int>(y);
    auto* const row = probability.ptr<float>(y);
    for (int x = 0; x < probability.cols; ++x) {
      const auto own = static_cast<std::size_t>(labels[x]);
      if (own != 0 && isHole[own] && likeness[own] <= kMaxLikeness) {
        row[x] = std::max(row[x], 0.75F);
      }
    }
  }
}

void applyHints(const LabelImage& hints, ProbabilityMap& map) {
  for (std::size_t i = 0; i < hints.byteCount(); ++i) {
    const auto hint = static_cast<Hint>(hints.data()[i]);
    if (hint != Hint::None) {
      map.data()[i] = hint == Hint::NotFoliage ? 0 : 255;
    }
  }
}

}  // namespace

double foliageLogOdds(std::uint8_t r, std::uint8_t g, std::uint8_t b) {
  constexpr double kGrey = -2.2;
  constexpr double kDark = -0.7;
  const Lab lab = labOf(r, g, b);
  const double chroma = chromaOf(lab);
  // Saturation, not chroma, tells tinted greys from dark needles.
  const double saturation = chroma / std::max(1.0, std::hypot(chroma, lab.l));
  const double coloured = sigmoid((saturation - 0.17) / 0.035);
  const double grey = lab.l < 12.0 ? kDark : kGrey;
  const double hue = hueDegOf(lab);
  // Autumn leaves are orange and yellow in far purer tones than wood, soil and clay.
  const double pure = hue > 40.0 && hue < 100.0 ? std::clamp((chroma - 39.0) / 12.0, 0.0, 1.0) : 0.0;
  const double logOdds =
      coloured * std::lerp(hueLogOdds(hue), 1.5, pure) + (1.0 - coloured) * grey;
  // Near black, hue is noise.
  const double lit = std::clamp((lab.l - 3.0) / 9.0, 0.0, 1.0);
  return lit * logOdds + (1.0 - lit) * kDark;
}

ProbabilityMap foliageProbability(const RgbImage& image,
                                  const LabelImage& hints,
                                  Subject subject,
                                  const FoliageOptions& options) {
  assert(hints.isEmpty() || (hints.width() == image.width() && hints.height() == image.height()));
  const double share =
      subject == Subject::Leaf ? options.leafContextShare : options.needleContextShare;
  const int radius =
      std::max(2, static_cast<int>(std::lround(share * std::max(image.width(), image.height()))));
  Learner learner(image, hints, options);
  learner.setOwn(focusLogOdds(detailOf(image, std::max(3, radius / 2)), learner.probability(), subject,
                              options));
  for (int round = 0; round < options.rounds; ++round) {
    learner.learn(radius);
  }
  cv::Mat probability = learner.probability().clone();
  fillLesions(learner, subject, options.maxHoleShare, probability);
  ProbabilityMap map(image.width(), image.height());
  const auto* const from = probability.ptr<float>();
  for (std::size_t i = 0; i < map.byteCount(); ++i) {
    map.data()[i] = static_cast<std::uint8_t>(std::lround(255.0F * from[i]));
  }
  applyHints(hints, map);
  return map;
}

}  // namespace edamori::vision
