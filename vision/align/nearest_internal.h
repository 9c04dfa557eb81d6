// SPDX-License-Identifier: GPL-3.0-or-later
// Which rows of two matrices are most alike, by exhaustive search.
#pragma once

#include <vector>

#include <opencv2/core.hpp>

namespace edamori::vision {

// The two rows that are most like one row, as distances of vectors of unit length (0 … 2).
struct NearestTwo {
  int index = -1;  // of the nearest; −1 where there is none
  float distance = 2.0F;
  float nextDistance = 0.0F;  // 0 where there is no second
};

struct NearestBothWays {
  std::vector<NearestTwo> inB;  // of each row of a
  std::vector<int> inA;         // of each row of b; −1 where a has no row
};

// a, b: CV_32F, the same number of columns, rows of unit length; may be empty. Of rows that are equally
// alike, the first counts. Both ways at the cost of one, and the same bits on every x86-64 machine.
[[nodiscard]] NearestBothWays nearestBothWays(const cv::Mat& a, const cv::Mat& b);

}  // namespace edamori::vision
