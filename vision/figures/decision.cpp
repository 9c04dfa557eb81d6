// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/figures/decision_internal.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstring>

namespace edamori::vision {
namespace {

// How pixels are spread over the probabilities 0…255.
class Spread {
 public:
  // Of the pixels whose probability in `within` is at least `from`. Four counts in turn, because
  // neighbours are alike and one count would have to wait for the last.
  Spread(const ProbabilityMap& map, const ProbabilityMap& within, std::uint8_t from) {
    constexpr std::size_t kElsewhere = 256;
    std::array<std::array<std::uint32_t, kElsewhere + 1>, 4> counts{};
    for (std::size_t i = 0; i < map.byteCount(); ++i) {
      ++counts[i % 4][within.data()[i] >= from ? map.data()[i] : kElsewhere];
    }
    for (const auto& part : counts) {
      for (std::size_t p = 0; p < m_counts.size(); ++p) {
        m_counts[p] += part[p];
        m_total += part[p];
      }
    }
  }

  // Takes pixels of probability 0 out that do not belong to the region.
  void leaveOut(std::int64_t pixels) {
    m_counts[0] -= pixels;
    m_total -= pixels;
  }

  // Mean of min(p, 1 − p): 0 when every pixel is clear, 0.5 when none is.
  [[nodiscard]] double doubt() const {
    return meanOf([](double p) { return std::min(p, 1.0 - p); });
  }

  // The limit with which as many pixels count as the mean probability says.
  [[nodiscard]] std::uint8_t limit(DecisionLimits limits) const {
    const double wanted = meanOf([](double p) { return p; }) * static_cast<double>(m_total);
    std::int64_t above = 0;
    int best = limits.most;
    double smallest = static_cast<double>(m_total) + 1.0;
    for (int p = 255; p >= limits.least; --p) {
      above += m_counts.at(static_cast<std::size_t>(p));
      const double gap = std::abs(static_cast<double>(above) - wanted);
      if (p <= limits.most && gap < smallest) {
        smallest = gap;
        best = p;
      }
    }
    return static_cast<std::uint8_t>(best);
  }

  [[nodiscard]] std::int64_t pixelsFrom(std::uint8_t limit) const {
    std::int64_t pixels = 0;
    for (std::size_t p = limit; p < m_counts.size(); ++p) {
      pixels += m_counts.at(p);
    }
    return pixels;
  }

 private:
  [[nodiscard]] double meanOf(const auto& value) const {
    double sum = 0.0;
    for (std::size_t p = 0; p < m_counts.size(); ++p) {
      sum += value(static_cast<double>(p) / 255.0) * static_cast<double>(m_counts.at(p));
    }
    return m_total > 0 ? sum / static_cast<double>(m_total) : 0.0;
  }

  std::array<std::int64_t, 256> m_counts{};
  std::int64_t m_total = 0;
};

}  // namespace

Decision decided(const Judgement& judgement, std::int64_t outlinePx, DecisionLimits limits) {
  Spread foliage(judgement.foliage, judgement.foliage, 0);
  foliage.leaveOut(judgement.foliage.pixelCount() - outlinePx);
  Decision decision;
  decision.foliageFrom = foliage.limit(limits);
  decision.foliagePx = foliage.pixelsFrom(decision.foliageFrom);
  decision.foliageDoubt = foliage.doubt();
  const Spread spotted(judgement.spotted, judgement.foliage, decision.foliageFrom);
  decision.spottedFrom = spotted.limit(limits);
  decision.spottedPx = spotted.pixelsFrom(decision.spottedFrom);
  decision.spottedDoubt = spotted.doubt();
  return decision;
}

LabelImage labelsOf(const Judgement& judgement,
                    const Decision& decision,
                    const PixelBox& box,
                    int width,
                    int height) {
  static_assert(static_cast<int>(Label::NotFoliage) == 0);
  LabelImage labels(width, height);
  std::memset(labels.data(), 0, labels.byteCount());
  for (int y = 0; y < box.height; ++y) {
    const std::uint8_t* const foliage = judgement.foliage.row(y);
    const std::uint8_t* const spotted = judgement.spotted.row(y);
    std::uint8_t* const target = labels.row(box.top + y) + box.left;
    for (int x = 0; x < box.width; ++x) {
      const Label tissue =
          spotted[x] >= decision.spottedFrom ? Label::Spotted : Label::SoundFoliage;
      target[x] =
          foliage[x] >= decision.foliageFrom ? static_cast<std::uint8_t>(tissue) : std::uint8_t{0};
    }
  }
  return labels;
}

}  // namespace edamori::vision
