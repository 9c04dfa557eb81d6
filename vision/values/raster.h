// SPDX-License-Identifier: GPL-3.0-or-later
// Pixel values: 8-bit rasters without padding, rows from the top.
#pragma once

#include "vision/values/large_block.h"

#include <cassert>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <utility>
#include <vector>

namespace edamori {

// Leaves new elements uninitialised, because filling a photo that a decoder is about to overwrite
// costs as much as decoding it. Whole photos lie in huge pages where the system lends them: touching
// 12 megapixels of fresh memory in small pages costs more than any one step of measuring.
template <typename T>
class UninitialisedAllocator : public std::allocator<T> {
 public:
  template <typename U>
  struct rebind {
    using other = UninitialisedAllocator<U>;
  };
  [[nodiscard]] T* allocate(std::size_t count) {
    return static_cast<T*>(largeBlock(count * sizeof(T)));
  }
  void deallocate(T* block, std::size_t count) { freeLargeBlock(block, count * sizeof(T)); }
  template <typename U>
  void construct(U* place) {
    ::new (static_cast<void*>(place)) U;
  }
  template <typename U, typename... Arguments>
  void construct(U* place, Arguments&&... arguments) {
    ::new (static_cast<void*>(place)) U(std::forward<Arguments>(arguments)...);
  }
};

// width × height pixels of `Channels` bytes each, contiguous, row-major.
template <int Channels>
class Raster {
 public:
  static constexpr int kChannels = Channels;

  Raster() = default;
  // Bytes are uninitialised. Both sides must be ≥ 0.
  Raster(int width, int height)
      : m_width(width), m_height(height), m_bytes(byteCountOf(width, height)) {}
  Raster(int width, int height, std::uint8_t fill)
      : m_width(width), m_height(height), m_bytes(byteCountOf(width, height), fill) {}

  [[nodiscard]] int width() const { return m_width; }
  [[nodiscard]] int height() const { return m_height; }
  [[nodiscard]] bool isEmpty() const { return m_bytes.empty(); }
  [[nodiscard]] std::int64_t pixelCount() const { return std::int64_t{m_width} * m_height; }
  [[nodiscard]] std::size_t byteCount() const { return m_bytes.size(); }
  [[nodiscard]] std::size_t bytesPerRow() const {
    return static_cast<std::size_t>(m_width) * Channels;
  }
  [[nodiscard]] std::uint8_t* data() { return m_bytes.data(); }
  [[nodiscard]] const std::uint8_t* data() const { return m_bytes.data(); }
  [[nodiscard]] std::uint8_t* row(int y) { return m_bytes.data() + offset(0, y); }
  [[nodiscard]] const std::uint8_t* row(int y) const { return m_bytes.data() + offset(0, y); }
  [[nodiscard]] std::uint8_t& at(int x, int y, int channel = 0) {
    return m_bytes[offset(x, y) + static_cast<std::size_t>(channel)];
  }
  [[nodiscard]] std::uint8_t at(int x, int y, int channel = 0) const {
    return m_bytes[offset(x, y) + static_cast<std::size_t>(channel)];
  }
  friend bool operator==(const Raster&, const Raster&) = default;

 private:
  static std::size_t byteCountOf(int width, int height) {
    assert(width >= 0 && height >= 0);
    return static_cast<std::size_t>(width) * static_cast<std::size_t>(height) * Channels;
  }
  [[nodiscard]] std::size_t offset(int x, int y) const {
    return (static_cast<std::size_t>(y) * static_cast<std::size_t>(m_width) +
            static_cast<std::size_t>(x)) *
           Channels;
  }

  int m_width = 0;
  int m_height = 0;
  std::vector<std::uint8_t, UninitialisedAllocator<std::uint8_t>> m_bytes;
};

// sRGB, 8 bits per channel, order R, G, B, upright.
using RgbImage = Raster<3>;
// 255 inside, 0 outside.
using Mask = Raster<1>;
// One of the Label values per pixel.
using LabelImage = Raster<1>;

// Values of a label image: what measuring found. Written to files; never renumber.
enum class Label : std::uint8_t {
  NotFoliage = 0,      // not foliage, or outside the outline
  SoundFoliage = 128,  // foliage without a lesion
  Spotted = 255,       // spotted or blighted foliage
};

// Values of a hint image: what a person painted. Written to files; never renumber.
enum class Hint : std::uint8_t {
  None = 0,
  NotFoliage = 64,
  SoundFoliage = 128,
  Spot = 255,
};

}  // namespace edamori
