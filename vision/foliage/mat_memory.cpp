// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/foliage/mat_memory_internal.h"

#include "vision/values/large_block.h"

#include <opencv2/core.hpp>

namespace edamori::vision {
namespace {

// Small pictures keep OpenCV's own memory, which is aligned for vector instructions.
void* taken(std::size_t bytes) {
  return bytes < kLargeBlockBytes ? cv::fastMalloc(bytes) : largeBlock(bytes);
}

void givenBack(void* block, std::size_t bytes) {
  if (bytes < kLargeBlockBytes) {
    cv::fastFree(block);
  } else {
    freeLargeBlock(block, bytes);
  }
}

class LargeBlocks final : public cv::MatAllocator {
 public:
  // `steps` are bytes from one element of a dimension to the next: given with `given`, else set.
  cv::UMatData* allocate(int dimensions, const int* sizes, int type, void* given, std::size_t* steps,
                         cv::AccessFlag /*flags*/, cv::UMatUsageFlags /*usage*/) const override {
    auto bytes = static_cast<std::size_t>(CV_ELEM_SIZE(type));
    for (int i = dimensions - 1; i >= 0; --i) {
      if (steps != nullptr) {
        const bool isSet = given != nullptr && steps[i] != cv::Mat::AUTO_STEP;
        bytes = isSet ? steps[i] : bytes;
        steps[i] = bytes;
      }
      bytes *= static_cast<std::size_t>(sizes[i]);
    }
    auto* const data = new cv::UMatData(this);
    data->size = bytes;
    data->data = data->origdata = static_cast<uchar*>(given != nullptr ? given : taken(bytes));
    if (given != nullptr) {
      data->flags |= cv::UMatData::USER_ALLOCATED;
    }
    return data;
  }

  bool allocate(cv::UMatData* data, cv::AccessFlag /*flags*/, cv::UMatUsageFlags /*usage*/) const override {
    return data != nullptr;
  }

  void deallocate(cv::UMatData* data) const override {
    if (data != nullptr) {
      if ((data->flags & cv::UMatData::USER_ALLOCATED) == 0) {
        givenBack(data->origdata, data->size);
      }
      delete data;
    }
  }
};

}  // namespace

void useLargeBlocksForMat() {
  static const LargeBlocks* const once = [] {
    // Never destroyed: pictures may outlive every other static object.
    static auto* const blocks = new LargeBlocks;
    cv::Mat::setDefaultAllocator(blocks);
    return blocks;
  }();
  (void)once;
}

}  // namespace edamori::vision
