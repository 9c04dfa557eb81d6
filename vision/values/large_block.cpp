// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/values/large_block.h"

#include <cstdlib>
#include <new>

#if defined(__linux__)
#include <sys/mman.h>
#endif

namespace edamori {
namespace {

constexpr std::size_t kHugePage = std::size_t{2} << 20U;  // x86-64 and most others

}  // namespace

void* largeBlock(std::size_t bytes) {
  if (bytes < kLargeBlockBytes) {
    return ::operator new(bytes);
  }
  const std::size_t whole = (bytes + kHugePage - 1) / kHugePage * kHugePage;
  void* const block = whole < bytes ? nullptr : std::aligned_alloc(kHugePage, whole);
  if (block == nullptr) {
    throw std::bad_alloc();
  }
#if defined(__linux__)
  // Only a wish: where it is refused, the memory is as good, but slower to touch first.
  (void)::madvise(block, whole, MADV_HUGEPAGE);
#endif
  return block;
}

void freeLargeBlock(void* block, std::size_t bytes) noexcept {
  if (bytes < kLargeBlockBytes) {
    ::operator delete(block);
  } else {
    std::free(block);
  }
}

}  // namespace edamori
