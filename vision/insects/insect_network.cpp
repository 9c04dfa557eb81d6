// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/insects/insect_network_internal.h"

#include "vision/load/network_internal.h"

#include <algorithm>
#include <cmath>

// Part of the program, as the tissue network is (vision/foliage/tissue.cpp).
asm(".section .rodata\n"
    ".balign 16\n"
    ".global edamoriInsectModel\n"
    "edamoriInsectModel:\n"
    ".incbin \"" EDAMORI_INSECT_MODEL "\"\n"
    ".global edamoriInsectModelEnd\n"
    "edamoriInsectModelEnd:\n"
    ".previous\n");
extern "C" const char edamoriInsectModel;
extern "C" const char edamoriInsectModelEnd;

namespace edamori::vision {
namespace {

// Platt's two numbers (Platt 1999, Advances in Large Margin Classifiers, 61-74).
constexpr double kSlope = 2.705;
constexpr double kShift = -1.592;
// Radius for which the network answers 0.
constexpr double kMiddleRadiusPx = 5.0;

cv::dnn::Net& networkOfThisThread() {
  static thread_local cv::dnn::Net network = networkIn(edamoriInsectModel, edamoriInsectModelEnd);
  return network;
}

// Whether a cell is the best of its 3 × 3; of equals the first.
bool isPeak(const float* logits, int columns, int rows, int x, int y) {
  const float own = logits[std::ptrdiff_t{y} * columns + x];
  for (int b = std::max(0, y - 1); b <= std::min(rows - 1, y + 1); ++b) {
    for (int a = std::max(0, x - 1); a <= std::min(columns - 1, x + 1); ++a) {
      const float other = logits[std::ptrdiff_t{b} * columns + a];
      const bool isEarlier = b < y || (b == y && a < x);
      if (other > own || (other == own && isEarlier)) {
        return false;
      }
    }
  }
  return true;
}

}  // namespace

double calibrated(double logit) { return 1.0 / (1.0 + std::exp(-(kSlope * logit + kShift))); }

std::vector<CellAnswer> answersOn(const cv::Mat& rgb, double leastScore) {
  cv::dnn::Net& network = networkOfThisThread();
  network.setInput(networkInput(rgb), "picture");
  const cv::Mat out = network.forward("answers");
  const int rows = out.size[2];
  const int columns = out.size[3];
  const float* const logits = out.ptr<float>(0, 0);
  std::vector<CellAnswer> answers;
  for (int y = 0; y < rows; ++y) {
    for (int x = 0; x < columns; ++x) {
      const auto at = std::ptrdiff_t{y} * columns + x;
      const double score = calibrated(static_cast<double>(logits[at]));
      if (score < leastScore || !isPeak(logits, columns, rows, x, y)) {
        continue;
      }
      const auto value = [&out, at](int channel) { return static_cast<double>(out.ptr<float>(0, channel)[at]); };
      answers.push_back({.x = (x + 0.5 + value(1)) * kCellPx,
                         .y = (y + 0.5 + value(2)) * kCellPx,
                         .radius = kMiddleRadiusPx * std::exp2(std::clamp(value(3), -2.0, 2.0)),
                         .score = score});
    }
  }
  return answers;
}

}  // namespace edamori::vision
