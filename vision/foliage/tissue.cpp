// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/foliage/tissue.h"

#include "vision/foliage/mat_memory_internal.h"

#include <array>
#include <cmath>
#include <exception>
#include <span>
#include <string>

#include <opencv2/core.hpp>
#include <opencv2/dnn.hpp>
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
    const char* const begin = &edamoriTissueModel;
    const auto size = static_cast<std::size_t>(&edamoriTissueModelEnd - begin);
    cv::dnn::Net loaded = cv::dnn::readNetFromONNX(begin, size);
    loaded.setPreferableBackend(cv::dnn::DNN_BACKEND_OPENCV);
    return loaded;
  }();
  return network;
}

cv::Mat blobOf(const RgbImage& image) {
  const cv::Mat rgb(image.height(), image.width(), CV_8UC3,
                    const_cast<std::uint8_t*>(image.data()));
  const auto missing = [](int side) { return (kBlockPx - side % kBlockPx) % kBlockPx; };
  cv::Mat padded;
  cv::copyMakeBorder(rgb, padded, 0, missing(rgb.rows), 0, missing(rgb.cols), cv::BORDER_REPLICATE);
  return cv::dnn::blobFromImage(padded, 1.0 / 255.0, cv::Size(), cv::Scalar::all(127.5), false, false,
                                CV_32F);
}

// Softmax over the classes of one pixel; channel = class · 4 + 2 · row + column within 2 × 2.
void readPixel(const std::array<const float*, 12>& planes, std::size_t at, std::size_t place,
               std::size_t target, TissueMap& map) {
  const float none = planes[place][at];
  const float sound = planes[4 + place][at];
  const float spotted = planes[8 + place][at];
  const float top = std::max({none, sound, spotted});
  const float n = std::exp(none - top);
  const float s = std::exp(sound - top);
  const float x = std::exp(spotted - top);
  const float sum = n + s + x;
  map.foliage[target] = (s + x) / sum;
  map.spotted[target] = x / sum;
}

void readLogits(const cv::Mat& logits, TissueMap& map) {
  const int columns = logits.size[3];
  std::array<const float*, 12> planes{};
  for (int channel = 0; channel < 4 * kClasses; ++channel) {
    planes.at(static_cast<std::size_t>(channel)) = logits.ptr<float>(0, channel);
  }
  map.foliage.resize(static_cast<std::size_t>(map.width) * static_cast<std::size_t>(map.height));
  map.spotted.resize(map.foliage.size());
  std::size_t target = 0;
  for (int y = 0; y < map.height; ++y) {
    for (int x = 0; x < map.width; ++x, ++target) {
      const auto at = static_cast<std::size_t>(y / 2) * static_cast<std::size_t>(columns) +
                      static_cast<std::size_t>(x / 2);
      readPixel(planes, at, static_cast<std::size_t>(2 * (y % 2) + x % 2), target, map);
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

}  // namespace

const char* tissueModelName() { return "tissue-2026-11-26"; }

Result<TissueMap> tissueOf(const RgbImage& image) {
  try {
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
  } catch (const std::exception& error) {  // cv::Exception, std::bad_alloc
    return fail(ErrorCode::NotMeasurable,
                std::string("the photo's foliage could not be looked for (") + error.what() +
                    "); close other programs and try again");
  }
}

}  // namespace edamori::vision
