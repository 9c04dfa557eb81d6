// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/likeness_internal.h"

#include <opencv2/dnn.hpp>

// Part of the program, as the tissue network is (vision/foliage/tissue.cpp).
asm(".section .rodata\n"
    ".balign 16\n"
    ".global edamoriLikenessModel\n"
    "edamoriLikenessModel:\n"
    ".incbin \"" EDAMORI_LIKENESS_MODEL "\"\n"
    ".global edamoriLikenessModelEnd\n"
    "edamoriLikenessModelEnd:\n"
    ".previous\n");
extern "C" const char edamoriLikenessModel;
extern "C" const char edamoriLikenessModelEnd;

namespace edamori::vision {
namespace {

cv::dnn::Net& networkOfThisThread() {
  static thread_local cv::dnn::Net network = [] {
    const char* const begin = &edamoriLikenessModel;
    const auto size = static_cast<std::size_t>(&edamoriLikenessModelEnd - begin);
    cv::dnn::Net loaded = cv::dnn::readNetFromONNX(begin, size);
    loaded.setPreferableBackend(cv::dnn::DNN_BACKEND_OPENCV);
    return loaded;
  }();
  return network;
}

}  // namespace

LikenessCells likenessCells(const cv::Mat& rgb) {
  cv::dnn::Net& network = networkOfThisThread();
  network.setInput(cv::dnn::blobFromImage(rgb, 1.0 / 255.0, cv::Size(), cv::Scalar::all(127.5), false, false, CV_32F),
                   "picture");
  const cv::Mat out = network.forward("cells");
  LikenessCells cells{.columns = out.size[3], .rows = out.size[2], .descriptors = {}, .missing = {}};
  const int count = cells.columns * cells.rows;
  const int length = out.size[1] - 1;
  const cv::Mat planes(length + 1, count, CV_32F, const_cast<float*>(out.ptr<float>()));
  cv::transpose(planes.rowRange(0, length), cells.descriptors);
  const auto* const missing = planes.ptr<float>(length);
  cells.missing.assign(missing, missing + count);
  return cells;
}

}  // namespace edamori::vision
