// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/photos.h"

#include "app/work/previews_internal.h"

#include <algorithm>
#include <cmath>
#include <system_error>

namespace edamori::work {

int reductionFor(int longSidePx, int wantedLongSidePx) {
  int reduceBy = 1;
  while (reduceBy < 8 && longSidePx / (reduceBy * 2) >= wantedLongSidePx) {
    reduceBy *= 2;
  }
  return reduceBy;
}

std::filesystem::path previewFile(const store::Garden& garden,
                                  const store::Photo& photo,
                                  int longSidePx) {
  return garden.previewsFolder() / photo.sha256.substr(0, 2) /
         (photo.sha256 + "-" + std::to_string(longSidePx) + ".jpg");
}

void keepPreview(const store::Garden& garden,
                 const store::Photo& photo,
                 const RgbImage& preview,
                 int longSidePx) {
  const std::filesystem::path file = previewFile(garden, photo, longSidePx);
  std::error_code ignored;
  std::filesystem::create_directories(file.parent_path(), ignored);
  // A preview can be made again at any time, so that failing to keep it costs
  // only time.
  (void)vision::savePicture(file, preview);
}

Result<RgbImage> loadOriginal(const store::Garden& garden, const store::Photo& photo) {
  const vision::LoadOptions options{.exifOrientation = photo.exifOrientation};
  return vision::loadPhoto(garden.originalFile(photo), options)
      .transform([](vision::LoadedPhoto&& loaded) { return std::move(loaded.image); });
}

Result<RgbImage> loadPreview(const store::Garden& garden,
                             const store::Photo& photo,
                             int longSidePx) {
  if (auto kept = vision::loadPhoto(previewFile(garden, photo, longSidePx))) {
    return std::move(kept->image);
  }
  const vision::LoadOptions options{
      .exifOrientation = photo.exifOrientation,
      .reduceBy = reductionFor(std::max(photo.widthPx, photo.heightPx), longSidePx)};
  auto loaded = vision::loadPhoto(garden.originalFile(photo), options);
  if (!loaded) {
    return loaded.error();
  }
  RgbImage preview = vision::reducedToFit(loaded->image, longSidePx);
  keepPreview(garden, photo, preview, longSidePx);
  return preview;
}

Result<RgbImage> loadCrop(const store::Garden& garden,
                          const store::Photo& photo,
                          const Outline& outline,
                          int longSidePx) {
  const BoundsPx box = boundsPx(outline.polygon);
  const double margin = 0.05 * std::max(box.width(), box.height());
  const double boxLongPx = std::max(box.width(), box.height()) + 2 * margin;
  const vision::LoadOptions options{
      .exifOrientation = photo.exifOrientation,
      .reduceBy = reductionFor(static_cast<int>(boxLongPx), longSidePx)};
  auto loaded = vision::loadPhoto(garden.originalFile(photo), options);
  if (!loaded) {
    return loaded.error();
  }
  const double scale = static_cast<double>(loaded->image.width()) / std::max(1, photo.widthPx);
  const auto scaled = [scale](double px) { return static_cast<int>(std::lround(px * scale)); };
  const RgbImage part = vision::cropped(loaded->image,
                                        scaled(box.left - margin),
                                        scaled(box.top - margin),
                                        scaled(box.width() + 2 * margin),
                                        scaled(box.height() + 2 * margin));
  if (part.isEmpty()) {
    return fail(ErrorCode::NotMeasurable, "the outline lies outside " + photo.originalName);
  }
  return vision::reducedToFit(part, longSidePx);
}

}  // namespace edamori::work
