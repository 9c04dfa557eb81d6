// SPDX-License-Identifier: GPL-3.0-or-later
// The trained networks that are part of the program.
#pragma once

#include <opencv2/core.hpp>
#include <opencv2/dnn.hpp>

namespace edamori::vision {

// The network of an ONNX file that lies in memory from `begin` up to `end`. Throws cv::Exception. Not to
// be run by two threads at once.
[[nodiscard]] cv::dnn::Net networkIn(const char& begin, const char& end);

// What all of them look at: CV_8UC3 RGB as 1 × 3 × height × width, −0.5…0.5.
[[nodiscard]] cv::Mat networkInput(const cv::Mat& rgb);

}  // namespace edamori::vision
