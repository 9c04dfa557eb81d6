// SPDX-License-Identifier: GPL-3.0-or-later
// What the decoders of single formats share. Private to vision/load.
#pragma once

#include "vision/load/load.h"
#include "vision/values/raster.h"
#include "vision/values/result.h"

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace edamori::vision {

enum class PhotoFormat { Jpeg, Png, Tiff, Heic };

struct DecodedPhoto {
  RgbImage image;                    // as stored, in the colours of the profile
  int fullWidthPx = 0;               // before reduction
  int fullHeightPx = 0;              // before reduction
  std::vector<std::byte> iccProfile;  // empty when none
  bool isUpright = false;            // the format has turned the photo itself
};

// The format by the leading bytes. Errors: UnsupportedFormat with what to do.
Result<PhotoFormat> formatOf(std::span<const std::byte> bytes, std::string_view name);

// Each reads the size alone; `name` is ready for messages.
Result<PhotoHeader> readJpegHeader(std::span<const std::byte> bytes, const std::string& name);
Result<PhotoHeader> readPngHeader(std::span<const std::byte> bytes, const std::string& name);
Result<PhotoHeader> readTiffHeader(std::span<const std::byte> bytes, const std::string& name);
Result<PhotoHeader> readHeicHeader(std::span<const std::byte> bytes, const std::string& name);

// Each decodes whole photos, within options.maxPixels; only JPEG heeds options.reduceBy.
Result<DecodedPhoto> decodeJpeg(std::span<const std::byte> bytes,
                                const std::string& name,
                                const LoadOptions& options);
Result<DecodedPhoto> decodePng(std::span<const std::byte> bytes,
                               const std::string& name,
                               const LoadOptions& options);
Result<DecodedPhoto> decodeTiff(std::span<const std::byte> bytes,
                                const std::string& name,
                                const LoadOptions& options);
Result<DecodedPhoto> decodeHeic(std::span<const std::byte> bytes,
                                const std::string& name,
                                const LoadOptions& options);

// A PNG of 8-bit grey as it is. Errors: UnsupportedFormat for any other kind of PNG.
Result<LabelImage> decodeLabelPng(std::span<const std::byte> bytes, const std::string& name);

// PNG bytes; colour is tagged as sRGB. Errors: Io when the library gives up.
Result<std::vector<std::byte>> encodePng(const RgbImage& image);
Result<std::vector<std::byte>> encodePng(const LabelImage& labels);

// Fails when the photo has no pixels or more than `maxPixels`.
Result<void> checkSize(std::int64_t widthPx,
                       std::int64_t heightPx,
                       std::int64_t maxPixels,
                       const std::string& name);

// "NAME is damaged (REASON); copy it again …".
[[nodiscard]] Error damaged(const std::string& name, const std::string& reason);

// Lays one 8-bit sample of opacity `alpha` on white.
[[nodiscard]] constexpr std::uint8_t onWhite(std::uint8_t sample, std::uint8_t alpha) {
  return static_cast<std::uint8_t>((sample * alpha + 255 * (255 - alpha) + 127) / 255);
}

}  // namespace edamori::vision
