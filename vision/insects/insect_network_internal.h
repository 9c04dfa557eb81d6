// SPDX-License-Identifier: GPL-3.0-or-later
// The trained network that tells scale insects of 4…8 px radius; for vision/insects alone.
#pragma once

#include <vector>

#include <opencv2/core.hpp>

namespace edamori::vision {

inline constexpr int kCellPx = 4;

struct CellAnswer {
  double x = 0.0, y = 0.0;  // px of the picture
  double radius = 0.0;      // px
  double score = 0.0;       // calibrated, 0…1
};

// Answers of at least `leastScore` that are the best among their neighbouring cells.
// `rgb`: 8 bits, R G B; both sides multiples of kCellPx. Throws cv::Exception.
[[nodiscard]] std::vector<CellAnswer> answersOn(const cv::Mat& rgb, double leastScore);

// The network's own answer as a probability: fitted on the calibration scenes (docs/accuracy.md).
[[nodiscard]] double calibrated(double logit);

}  // namespace edamori::vision
