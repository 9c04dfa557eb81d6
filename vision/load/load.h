// SPDX-License-Identifier: GPL-3.0-or-later
// From a photo file to upright sRGB pixels, and back to files for masks and pictures.
#pragma once

#include "vision/values/pixel_box.h"
#include "vision/values/raster.h"
#include "vision/values/result.h"

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace edamori::vision {

struct LoadOptions {
  // Exif orientation 1…8, read by the caller from the file's metadata; anything
  // else counts as 1. HEIC carries its own turn, so that there it is ignored.
  int exifOrientation = 1;
  // Decode at 1/1, 1/2, 1/4 or 1/8 of each side where the format can (JPEG);
  // others are decoded whole and reduced.
  int reduceBy = 1;
  // Larger photos are refused before any memory is taken for them.
  std::int64_t maxPixels = 160'000'000;
};

struct LoadedPhoto {
  RgbImage image;          // upright sRGB, at 1/reduceBy size
  int fullWidthPx = 0;     // upright, before reduction
  int fullHeightPx = 0;    // upright, before reduction
  bool hadProfile = false; // an ICC profile other than sRGB was embedded and converted
  std::string profileName; // its description, e.g. "Display P3"; empty when none
};

// Decodes a JPEG, PNG, TIFF or HEIC photo. The format is told by the bytes, not the name.
//
// Output: upright RGB in sRGB (embedded ICC profiles converted, relative
//         colorimetric); 16-bit samples are reduced to 8; alpha is laid on white; greyscale is repeated.
// Errors: NotFound, Unreadable (permission, a folder), UnsupportedFormat (empty file,
//         text, unknown format), Corrupt (truncated, damaged, more than maxPixels);
//         each message is one line that names the file and says what to do.
// Thread: safe to call from any thread.
Result<LoadedPhoto> loadPhoto(const std::filesystem::path& file, const LoadOptions& options = {});

// The same from bytes in memory; `name` is used in messages.
Result<LoadedPhoto> decodePhoto(std::span<const std::byte> bytes,
                                std::string_view name,
                                const LoadOptions& options = {});

struct PhotoHeader {
  std::string format;  // "jpeg", "png", "tiff", "heic"
  int widthPx = 0;     // as stored, before orientation (HEIC: after its own turn)
  int heightPx = 0;
};

// Reads format and size without decoding. Errors as loadPhoto.
Result<PhotoHeader> readHeader(std::span<const std::byte> bytes, std::string_view name);

// Reads an 8-bit one-channel PNG (labels or hints); no colour conversion.
//
// Errors: as loadPhoto; UnsupportedFormat when it is not 8-bit one-channel PNG.
Result<LabelImage> loadLabels(const std::filesystem::path& file);

// Writes an 8-bit one-channel PNG. The file appears whole or not at all. Errors: Io.
Result<void> saveLabels(const std::filesystem::path& file, const LabelImage& labels);

// Writes a PNG or JPEG (by the name's ending; quality 90). Whole or not at all.
// Errors: InvalidArgument for another ending; Io.
Result<void> savePicture(const std::filesystem::path& file, const RgbImage& image);

// JPEG bytes; quality 1…100, 4:2:0, sRGB.
Result<std::vector<std::byte>> encodeJpeg(const RgbImage& image, int quality);

// Area-averaged copy whose longer side is at most `longSidePx`; never enlarged. Pictures with even
// sides are halved as often as that leaves enough, which is quick; the rest is evened out after that.
[[nodiscard]] RgbImage reducedToFit(const RgbImage& image, int longSidePx);
// The same of a part, which must lie within the image.
[[nodiscard]] RgbImage reducedToFit(const RgbImage& image, const PixelBox& part, int longSidePx);

// The part of `image` inside the box, clipped to the image; empty when outside.
[[nodiscard]] RgbImage cropped(const RgbImage& image, int left, int top, int width, int height);

// Turned upright by an Exif orientation 1…8 (anything else: unchanged copy).
[[nodiscard]] RgbImage uprighted(const RgbImage& image, int exifOrientation);

}  // namespace edamori::vision
