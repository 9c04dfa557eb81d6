// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/nearest_internal.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>

namespace edamori::vision {

namespace {

// Rows of a times rows of b whose products stay in registers.
constexpr int kRows = 4;
constexpr int kWide = 24;
using Products = std::array<std::array<float, kWide>, kRows>;
using Rows = std::array<const float*, kRows>;

// Blocks of kWide rows, column after column; what the last block lacks is 0.
std::vector<float> blocksOf(const cv::Mat& rows) {
  const auto width = static_cast<std::size_t>(rows.cols) * kWide;
  const auto count = static_cast<std::size_t>((rows.rows + kWide - 1) / kWide);
  std::vector<float> blocks(count * width, 0.0F);
  for (int i = 0; i < rows.rows; ++i) {
    const auto* const from = rows.ptr<float>(i);
    float* const to = blocks.data() + static_cast<std::size_t>(i / kWide) * width + static_cast<std::size_t>(i % kWide);
    for (int k = 0; k < rows.cols; ++k) {
      to[static_cast<std::size_t>(k) * kWide] = from[k];
    }
  }
  return blocks;
}

// Wider registers where the processor has them. Without fused multiply-add, which rounds once less.
// The choice is made before the thread sanitizer is ready for it.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(__SANITIZE_THREAD__)
__attribute__((target_clones("avx2", "default")))
#endif
void multiply(const Rows& a, const float* block, int columns, Products& products) {
  Products sums{};
  for (int k = 0; k < columns; ++k) {
    const float* const b = block + static_cast<std::ptrdiff_t>(k) * kWide;
    for (std::size_t row = 0; row < kRows; ++row) {
      for (std::size_t j = 0; j < kWide; ++j) {
        sums[row][j] += a[row][k] * b[j];
      }
    }
  }
  products = sums;
}

// Largest and second largest product so far.
struct Best {
  int index = -1;
  float first = -2.0F, second = -2.0F;
};

void take(Best& best, int index, float product) {
  if (product > best.first) {
    best = {.index = index, .first = product, .second = best.first};
  } else if (product > best.second) {
    best.second = product;
  }
}

float distanceOf(float product) { return std::sqrt(std::clamp(2.0F - 2.0F * product, 0.0F, 4.0F)); }

}  // namespace

NearestBothWays nearestBothWays(const cv::Mat& a, const cv::Mat& b) {
  std::vector<Best> inB(static_cast<std::size_t>(a.rows));
  std::vector<Best> inA(static_cast<std::size_t>(b.rows));
  const std::vector<float> blocks = blocksOf(b);
  Products products;
  for (int i = 0; i < a.rows; i += kRows) {
    Rows rows;
    for (int row = 0; row < kRows; ++row) {
      rows[static_cast<std::size_t>(row)] = a.ptr<float>(std::min(i + row, a.rows - 1));
    }
    for (int j = 0; j < b.rows; j += kWide) {
      multiply(rows, blocks.data() + static_cast<std::ptrdiff_t>(j) * b.cols, b.cols, products);
      for (int row = 0; row < std::min(kRows, a.rows - i); ++row) {
        for (int column = 0; column < std::min(kWide, b.rows - j); ++column) {
          const float product = products[static_cast<std::size_t>(row)][static_cast<std::size_t>(column)];
          take(inB[static_cast<std::size_t>(i + row)], j + column, product);
          take(inA[static_cast<std::size_t>(j + column)], i + row, product);
        }
      }
    }
  }
  NearestBothWays nearest;
  for (const Best& best : inB) {
    nearest.inB.push_back({.index = best.index,
                           .distance = distanceOf(best.first),
                           .nextDistance = b.rows > 1 ? distanceOf(best.second) : 0.0F});
  }
  for (const Best& best : inA) {
    nearest.inA.push_back(best.index);
  }
  return nearest;
}

}  // namespace edamori::vision
