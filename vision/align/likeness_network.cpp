// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/likeness_internal.h"

#include "vision/load/network_internal.h"

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
  static thread_local cv::dnn::Net network = networkIn(edamoriLikenessModel, edamoriLikenessModelEnd);
  return network;
}

}  // namespace

LikenessCells likenessCells(const cv::Mat& rgb) {
  cv::dnn::Net& network = networkOfThisThread();
  network.setInput(networkInput(rgb), "picture");
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
