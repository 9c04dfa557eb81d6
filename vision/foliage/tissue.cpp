// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/foliage/tissue.h"

#include "vision/foliage/mat_memory_internal.h"
#include "vision/load/network_internal.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <exception>
#include <string>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

// The trained network travels inside the program, so that it can neither be lost nor replaced.
asm(".section .rodata\n"
    ".balign 16\n"
    ".global edamoriTissueModel\n"
    "edamoriTissueModel:\n"
    ".incbin \"" EDAMORI_TISSUE_MODEL "\"\n"
    ".global edamoriTissueModelEnd\n"
    "edamoriTissueModelEnd:\n"
    ".previous\n");
extern "C" const char edamoriTissueModel;
extern "C" const char edamoriTissueModelEnd;

namespace edamori::vision {
namespace {

// The deepest layer sees blocks of 64 pixels.
constexpr int kBlockPx = 64;
constexpr int kClasses = 3;

cv::dnn::Net& networkOfThisThread() {
  static thread_local cv::dnn::Net network = [] {
    useLargeBlocksForMat();  // the layers' memory, touched once, costs a third of a measuring
    return networkIn(edamoriTissueModel, edamoriTissueModelEnd);
  }();
  return network;
}

cv::Mat blobOf(const RgbImage& image) {
  const cv::Mat rgb(image.height(), image.width(), CV_8UC3,
                    const_cast<std::uint8_t*>(image.data()));
  const auto missing = [](int side) { return (kBlockPx - side % kBlockPx) % kBlockPx; };
  cv::Mat padded;
  cv::copyMakeBorder(rgb, padded, 0, missing(rgb.rows), 0, missing(rgb.cols), cv::BORDER_REPLICATE);
  return networkInput(padded);
}

// The logits of one row of pixels, a class a row; channel = class · 4 + 2 · row + column within 2 × 2.
void takeRow(const cv::Mat& logits, int y, cv::Mat& row) {
  for (int kind = 0; kind < kClasses; ++kind) {
    auto* const target = row.ptr<float>(kind);
    for (int column = 0; column < 2; ++column) {
      const float* const plane = logits.ptr<float>(0, 4 * kind + 2 * (y % 2) + column) +
                                 std::ptrdiff_t{y / 2} * logits.size[3];
      for (int x = column; x < row.cols; x += 2) {
        target[x] = plane[x / 2];
      }
    }
  }
}

// Softmax over the classes, row by row: a vectorised exponential takes a quarter of the time.
void readLogits(const cv::Mat& logits, TissueMap& map) {
  const auto width = static_cast<std::size_t>(map.width);
  map.foliage.resize(width * static_cast<std::size_t>(map.height));
  map.spotted.resize(map.foliage.size());
  cv::Mat row(kClasses, map.width, CV_32F), top;
  for (int y = 0; y < map.height; ++y) {
    takeRow(logits, y, row);
    cv::reduce(row, top, 0, cv::REDUCE_MAX);
    for (int kind = 0; kind < kClasses; ++kind) {
      row.row(kind) -= top;
    }
    cv::exp(row, row);
    const float* const none = row.ptr<float>(0);
    const float* const sound = row.ptr<float>(1);
    const float* const spotted = row.ptr<float>(2);
    float* const foliage = map.foliage.data() + static_cast<std::size_t>(y) * width;
    float* const dead = map.spotted.data() + static_cast<std::size_t>(y) * width;
    for (std::size_t x = 0; x < width; ++x) {
      const float each = 1.0F / (none[x] + sound[x] + spotted[x]);
      foliage[x] = (sound[x] + spotted[x]) * each;
      dead[x] = spotted[x] * each;
    }
  }
}

void readFeatures(const cv::Mat& features, TissueMap& map) {
  map.featureWidth = (map.width + 1) / 2;
  map.featureHeight = (map.height + 1) / 2;
  const auto plane = static_cast<std::size_t>(map.featureWidth) *
                     static_cast<std::size_t>(map.featureHeight);
  map.features.resize(kTissueFeatures * plane);
  float* target = map.features.data();
  for (int channel = 0; channel < kTissueFeatures; ++channel) {
    for (int y = 0; y < map.featureHeight; ++y) {
      const float* const row =
          features.ptr<float>(0, channel) + std::ptrdiff_t{y} * features.size[3];
      target = std::copy_n(row, map.featureWidth, target);
    }
  }
}

TissueMap lookedAt(const RgbImage& image) {
  cv::dnn::Net& network = networkOfThisThread();
  network.setInput(blobOf(image), "picture");
  std::vector<cv::Mat> outputs;
  network.forward(outputs, std::vector<cv::String>{"logits", "features"});
  TissueMap map;
  map.width = image.width();
  map.height = image.height();
  readLogits(outputs.at(0), map);
  readFeatures(outputs.at(1), map);
  return map;
}

RgbImage resized(const RgbImage& image, double scale) {
  const auto scaled = [scale](int side) {
    return std::max(1, static_cast<int>(std::lround(scale * side)));
  };
  RgbImage result(scaled(image.width()), scaled(image.height()));
  const cv::Mat from(image.height(), image.width(), CV_8UC3,
                     const_cast<std::uint8_t*>(image.data()));
  cv::Mat to(result.height(), result.width(), CV_8UC3, result.data());
  cv::resize(from, to, to.size(), 0, 0, cv::INTER_AREA);
  return result;
}

// The mean of what was seen at two sizes, at the size of the first.
void takeMean(std::vector<float>& first, cv::Size size, std::vector<float>& second, cv::Size sizeOfSecond) {
  cv::Mat mean(size, CV_32F, first.data());
  cv::Mat other;
  cv::resize(cv::Mat(sizeOfSecond, CV_32F, second.data()), other, size, 0, 0, cv::INTER_LINEAR);
  cv::addWeighted(mean, 0.5, other, 0.5, 0.0, mean);
}

}  // namespace

const char* tissueModelName() { return "tissue-2026-11-26"; }

Result<TissueMap> tissueOf(const RgbImage& image) {
  try {
    TissueMap map = lookedAt(image);
    TissueMap further = lookedAt(resized(image, kSecondLookScale));
    const cv::Size size(map.width, map.height);
    const cv::Size sizeOfSecond(further.width, further.height);
    takeMean(map.foliage, size, further.foliage, sizeOfSecond);
    takeMean(map.spotted, size, further.spotted, sizeOfSecond);
    return map;
  } catch (const std::exception& error) {  // cv::Exception, std::bad_alloc
    return fail(ErrorCode::NotMeasurable,
                std::string("the photo's foliage could not be looked for (") + error.what() +
                    "); close other programs and try again");
  }
}

}  // namespace edamori::vision
