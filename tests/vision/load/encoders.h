// SPDX-License-Identifier: GPL-3.0-or-later
// Photo files made in the test by the reference libraries themselves.
#pragma once

#include "vision/values/raster.h"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace edamori::test {

using Bytes = std::vector<std::byte>;

[[nodiscard]] Bytes bytesOf(const std::string& text);
[[nodiscard]] std::string textOf(std::span<const std::byte> bytes);

struct PngSpec {
  int width = 0, height = 0;
  int bitDepth = 8;
  int colorType = 2;                  // as in the file: 0 grey, 2 RGB, 3 palette, 4 grey+A, 6 RGBA
  std::vector<std::uint8_t> samples{};  // as in the file, 16-bit big-endian
  Bytes iccProfile{};
  bool isInterlaced = false;
};
[[nodiscard]] Bytes pngFile(const PngSpec& spec);
// A PNG whose header claims a size, with one empty data chunk and a true checksum.
[[nodiscard]] Bytes pngHeaderOnly(std::uint32_t width, std::uint32_t height);

// Quality 100, no colour subsampling; 1 (grey), 3 (RGB) or 4 (CMYK) samples a pixel.
[[nodiscard]] Bytes jpegFile(const std::vector<std::uint8_t>& samples,
                             int width,
                             int height,
                             int channels,
                             const Bytes& iccProfile = {});
// The same photo claiming another size in its frame header.
[[nodiscard]] Bytes jpegClaiming(Bytes jpeg, int width, int height);

struct TiffSpec {
  int width = 0, height = 0;
  int bits = 8;
  int samplesPerPixel = 3;
  int tileSide = 0;  // 0: strips
  int orientation = 1;
  std::vector<std::uint8_t> samples{};  // 16-bit in the machine's order
};
[[nodiscard]] Bytes tiffFile(const TiffSpec& spec);

// Absent when libheif has no HEVC encoder here.
[[nodiscard]] std::optional<Bytes> heicFile(const RgbImage& image);

// Display P3: primaries (0.680, 0.320) (0.265, 0.690) (0.150, 0.060), white D65, the
// transfer curve of sRGB (SMPTE EG 432-1 and IEC 61966-2-1).
[[nodiscard]] Bytes displayP3Profile();
[[nodiscard]] Bytes srgbProfile();

}  // namespace edamori::test
