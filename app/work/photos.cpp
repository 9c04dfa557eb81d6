// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/photos.h"

#include "app/work/previews_internal.h"
#include "store/intake/metadata.h"

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

namespace {

// A preview can be made again at any time, so that failing to keep it costs only time.
void keepPicture(const std::filesystem::path& file, const RgbImage& preview) {
  std::error_code ignored;
  std::filesystem::create_directories(file.parent_path(), ignored);
  (void)vision::savePicture(file, preview);
}

Result<RgbImage> loadKeptOrMake(const std::filesystem::path& original,
                                const std::filesystem::path& kept,
                                const store::Photo& photo,
                                int longSidePx) {
  if (auto there = vision::loadPhoto(kept)) {
    return std::move(there->image);
  }
  const vision::LoadOptions options{
      .exifOrientation = photo.exifOrientation,
      .reduceBy = reductionFor(std::max(photo.widthPx, photo.heightPx), longSidePx)};
  auto loaded = vision::loadPhoto(original, options);
  if (!loaded) {
    return loaded.error();
  }
  RgbImage preview = vision::reducedToFit(loaded->image, longSidePx);
  keepPicture(kept, preview);
  return preview;
}

// Cameras pad thumbnails of other proportions than theirs with black bars.
RgbImage withoutBars(const RgbImage& thumbnail, const store::Photo& photo) {
  const double wanted = photo.widthPx * 1.0 / std::max(1, photo.heightPx);
  const int width = std::min(thumbnail.width(),
                             static_cast<int>(std::lround(thumbnail.height() * wanted)));
  const int height = std::min(thumbnail.height(),
                              static_cast<int>(std::lround(thumbnail.width() / wanted)));
  return vision::cropped(thumbnail,
                         (thumbnail.width() - width) / 2,
                         (thumbnail.height() - height) / 2,
                         width,
                         height);
}

}  // namespace

void keepPreview(const store::Garden& garden,
                 const store::Photo& photo,
                 const RgbImage& preview,
                 int longSidePx) {
  keepPicture(previewFile(garden, photo, longSidePx), preview);
}

PhotoFiles filesOf(const store::Garden& garden, const store::Photo& photo) {
  return {.original = garden.originalFile(photo),
          .largePreview = previewFile(garden, photo, kLargePreviewPx)};
}

Result<RgbImage> loadGlimpse(const PhotoFiles& files, const store::Photo& photo) {
  std::error_code ignored;
  if (std::filesystem::exists(files.largePreview, ignored)) {
    if (auto kept = vision::loadPhoto(files.largePreview)) {
      return std::move(kept->image);
    }
  }
  const auto bytes = store::readThumbnail(files.original);
  if (!bytes || !*bytes || photo.widthPx <= 0 || photo.heightPx <= 0) {
    return fail(ErrorCode::NotFound, photo.originalName + " carries no small picture");
  }
  const auto thumbnail = vision::decodePhoto(
      **bytes, photo.originalName, {.exifOrientation = photo.exifOrientation});
  if (!thumbnail) {
    return thumbnail.error();
  }
  RgbImage glimpse = withoutBars(thumbnail->image, photo);
  if (glimpse.isEmpty()) {
    return fail(ErrorCode::NotFound, photo.originalName + " carries no small picture");
  }
  return glimpse;
}

Result<RgbImage> loadOriginal(const PhotoFiles& files, const store::Photo& photo) {
  const vision::LoadOptions options{.exifOrientation = photo.exifOrientation};
  return vision::loadPhoto(files.original, options)
      .transform([](vision::LoadedPhoto&& loaded) { return std::move(loaded.image); });
}

Result<RgbImage> loadLargePreview(const PhotoFiles& files, const store::Photo& photo) {
  return loadKeptOrMake(files.original, files.largePreview, photo, kLargePreviewPx);
}

Result<RgbImage> loadOriginal(const store::Garden& garden, const store::Photo& photo) {
  return loadOriginal(filesOf(garden, photo), photo);
}

Result<RgbImage> loadPreview(const store::Garden& garden,
                             const store::Photo& photo,
                             int longSidePx) {
  return loadKeptOrMake(
      garden.originalFile(photo), previewFile(garden, photo, longSidePx), photo, longSidePx);
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
