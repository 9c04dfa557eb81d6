// SPDX-License-Identifier: GPL-3.0-or-later
// Photos of a garden as pixels: originals upright, and previews kept on disk.
#pragma once

#include "store/garden/garden.h"
#include "vision/load/load.h"
#include "vision/values/raster.h"
#include "vision/values/result.h"

#include <filesystem>

namespace edamori::work {

// Longer sides of the previews that are kept, in px.
inline constexpr int kSmallPreviewPx = 512;
inline constexpr int kLargePreviewPx = 1600;

// The original, upright and in sRGB. Errors: as vision::loadPhoto; NotFound when it is missing.
Result<RgbImage> loadOriginal(const store::Garden& garden, const store::Photo& photo);

// Where a photo's pixels lie, so that a worker needs no garden of its own to read them.
struct PhotoFiles {
  std::filesystem::path original;
  std::filesystem::path largePreview;  // of kLargePreviewPx; may not be there
};
[[nodiscard]] PhotoFiles filesOf(const store::Garden& garden, const store::Photo& photo);

// The quickest picture of the photo, upright: its kept large preview, else the Exif thumbnail, cut
// to the photo's sides where the camera has padded it. Errors: NotFound when there is neither.
Result<RgbImage> loadGlimpse(const PhotoFiles& files, const store::Photo& photo);
// As loadOriginal and loadPreview, with kLargePreviewPx.
Result<RgbImage> loadOriginal(const PhotoFiles& files, const store::Photo& photo);
Result<RgbImage> loadLargePreview(const PhotoFiles& files, const store::Photo& photo);

// A preview whose longer side is at most `longSidePx` (one of the constants above). Read from
// previews/, made and kept there when missing; a failure to keep it is no error.
// Thread: safe with a Garden of the calling thread.
Result<RgbImage> loadPreview(const store::Garden& garden, const store::Photo& photo, int longSidePx);

// The part of the photo around the outline's box with a margin of 5 %, longer side at most `longSidePx`.
Result<RgbImage> loadCrop(const store::Garden& garden,
                          const store::Photo& photo,
                          const Outline& outline,
                          int longSidePx);

}  // namespace edamori::work
