// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/figures/interval.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstddef>

namespace edamori::vision {
namespace {

// SplitMix64 (Steele, Lea & Flood 2014): small, and the same on every machine, which
// the distributions of <random> are not.
class Random {
 public:
  explicit Random(std::uint64_t seed) : m_state(seed) {}

  std::size_t below(std::size_t limit) {
    m_state += 0x9E3779B97F4A7C15U;
    std::uint64_t z = m_state;
    z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9U;
    z = (z ^ (z >> 27U)) * 0x94D049BB133111EBU;
    z ^= z >> 31U;
    // The bias for limits far below 2³² is under one in a million.
    return ((z >> 32U) * limit) >> 32U;
  }

 private:
  std::uint64_t m_state;
};

double quantileOf(const std::vector<double>& sorted, double share) {
  const double place = share * static_cast<double>(sorted.size() - 1);
  const auto index = static_cast<std::size_t>(place);
  const std::size_t next = std::min(index + 1, sorted.size() - 1);
  return sorted[index] + (place - static_cast<double>(index)) * (sorted[next] - sorted[index]);
}

struct Pairs {
  double count = 0.0, product = 0.0;
};

Pairs pairsAt(const Mask& part, const Mask& whole, int dx, int dy, double mean) {
  Pairs pairs;
  // Some hundred thousand pairs tell a correlation well enough.
  constexpr double kEnough = 200'000;
  const int step =
      std::max(3, static_cast<int>(std::sqrt(static_cast<double>(whole.pixelCount()) / kEnough)));
  for (int y = 0; y + dy < whole.height(); y += step) {
    for (int x = 0; x + dx < whole.width(); x += step) {
      if (whole.at(x, y) != 0 && whole.at(x + dx, y + dy) != 0) {
        const double here = (part.at(x, y) != 0 ? 1.0 : 0.0) - mean;
        const double there = (part.at(x + dx, y + dy) != 0 ? 1.0 : 0.0) - mean;
        pairs.count += 1.0;
        pairs.product += here * there;
      }
    }
  }
  return pairs;
}

}  // namespace

double ratioOf(std::span<const BlockCount> blocks) {
  double part = 0.0;
  double whole = 0.0;
  for (const BlockCount& block : blocks) {
    part += block.part;
    whole += block.whole;
  }
  return whole > 0.0 ? part / whole : 0.0;
}

double blockStandardError(std::span<const BlockCount> blocks) {
  if (blocks.size() < 2) {
    return 0.0;
  }
  const double ratio = ratioOf(blocks);
  double squares = 0.0;
  double whole = 0.0;
  for (const BlockCount& block : blocks) {
    const double residual = block.part - ratio * block.whole;
    squares += residual * residual;
    whole += block.whole;
  }
  return whole > 0.0 ? std::sqrt(squares) / whole : 0.0;
}

Estimate blockBootstrap(std::span<const BlockCount> blocks, int resamples, std::uint64_t seed) {
  const double value = ratioOf(blocks);
  if (blocks.size() < 2 || resamples < 1) {
    return {.value = value, .low = value, .high = value};
  }
  Random random(seed);
  std::vector<double> ratios;
  ratios.reserve(static_cast<std::size_t>(resamples));
  for (int i = 0; i < resamples; ++i) {
    double part = 0.0;
    double whole = 0.0;
    for (std::size_t j = 0; j < blocks.size(); ++j) {
      const BlockCount& block = blocks[random.below(blocks.size())];
      part += block.part;
      whole += block.whole;
    }
    ratios.push_back(whole > 0.0 ? part / whole : value);
  }
  std::sort(ratios.begin(), ratios.end());
  return {.value = value,
          .low = std::min(value, quantileOf(ratios, 0.025)),
          .high = std::max(value, quantileOf(ratios, 0.975))};
}

std::vector<BlockCount> countBlocks(const Mask& part, const Mask& whole, int sidePx) {
  assert(part.width() == whole.width() && part.height() == whole.height() && sidePx >= 1);
  const int columns = (whole.width() + sidePx - 1) / sidePx;
  const int rows = (whole.height() + sidePx - 1) / sidePx;
  std::vector<BlockCount> blocks(static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows));
  for (int y = 0; y < whole.height(); ++y) {
    BlockCount* const row = blocks.data() + std::ptrdiff_t{y / sidePx} * columns;
    for (int x = 0; x < whole.width(); ++x) {
      if (whole.at(x, y) != 0) {
        row[x / sidePx].whole += 1.0;
        row[x / sidePx].part += part.at(x, y) != 0 ? 1.0 : 0.0;
      }
    }
  }
  std::erase_if(blocks, [](const BlockCount& block) { return block.whole <= 0.0; });
  return blocks;
}

int correlationLengthPx(const Mask& part, const Mask& whole, int maxLagPx) {
  const Pairs all = pairsAt(part, whole, 0, 0, 0.0);
  const double mean = all.count > 0.0 ? all.product / all.count : 0.0;
  const double variance = mean * (1.0 - mean);
  if (variance <= 0.0) {
    return 1;
  }
  constexpr double kLimit = 0.36787944117144233;  // 1/e
  for (int lag = 1; lag < maxLagPx; lag = std::max(lag + 1, lag * 5 / 4)) {
    const Pairs along = pairsAt(part, whole, lag, 0, mean);
    const Pairs down = pairsAt(part, whole, 0, lag, mean);
    const double count = along.count + down.count;
    if (count <= 0.0 || (along.product + down.product) / count < kLimit * variance) {
      return lag;
    }
  }
  return std::max(1, maxLagPx);
}

}  // namespace edamori::vision
