// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/load/network_internal.h"

#include <cstddef>

namespace edamori::vision {

cv::dnn::Net networkIn(const char& begin, const char& end) {
  cv::dnn::Net network = cv::dnn::readNetFromONNX(&begin, static_cast<std::size_t>(&end - &begin));
  network.setPreferableBackend(cv::dnn::DNN_BACKEND_OPENCV);
  return network;
}

cv::Mat networkInput(const cv::Mat& rgb) {
  return cv::dnn::blobFromImage(rgb, 1.0 / 255.0, cv::Size(), cv::Scalar::all(127.5), false, false, CV_32F);
}

}  // namespace edamori::vision
