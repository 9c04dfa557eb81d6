// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/load/decoder.h"

#include <cstring>
#include <memory>

#include <libheif/heif.h>

namespace edamori::vision {
namespace {

template <auto Release>
struct Releaser {
  template <typename T>
  void operator()(T* object) const {
    Release(object);
  }
};
using Context = std::unique_ptr<heif_context, Releaser<heif_context_free>>;
using Handle = std::unique_ptr<heif_image_handle, Releaser<heif_image_handle_release>>;
using Image = std::unique_ptr<heif_image, Releaser<heif_image_release>>;

bool isOk(const heif_error& error) { return error.code == heif_error_Ok; }

// The main photo of the file; the context must outlive it.
struct OpenHeic {
  Context context;
  Handle handle;
};

Result<OpenHeic> openHeic(std::span<const std::byte> bytes, const std::string& name) {
  OpenHeic open{.context = Context(heif_context_alloc()), .handle = nullptr};
  heif_error error = heif_context_read_from_memory_without_copy(open.context.get(), bytes.data(),
                                                                bytes.size(), nullptr);
  if (!isOk(error)) {
    return damaged(name, error.message);
  }
  heif_image_handle* handle = nullptr;
  error = heif_context_get_primary_image_handle(open.context.get(), &handle);
  if (!isOk(error)) {
    return damaged(name, error.message);
  }
  open.handle.reset(handle);
  return open;
}

PhotoHeader headerOf(const OpenHeic& open) {
  return {.format = "heic",
          .widthPx = heif_image_handle_get_width(open.handle.get()),
          .heightPx = heif_image_handle_get_height(open.handle.get())};
}

std::vector<std::byte> profileOf(const OpenHeic& open) {
  const heif_color_profile_type type =
      heif_image_handle_get_color_profile_type(open.handle.get());
  if (type != heif_color_profile_type_prof && type != heif_color_profile_type_rICC) {
    return {};
  }
  std::vector<std::byte> profile(heif_image_handle_get_raw_color_profile_size(open.handle.get()));
  if (profile.empty() ||
      !isOk(heif_image_handle_get_raw_color_profile(open.handle.get(), profile.data()))) {
    return {};
  }
  return profile;
}

RgbImage laidOnWhite(const std::uint8_t* plane, std::size_t stride, int width, int height) {
  RgbImage image(width, height);
  for (int y = 0; y < height; ++y) {
    const std::uint8_t* from = plane + static_cast<std::size_t>(y) * stride;
    std::uint8_t* to = image.row(y);
    for (int x = 0; x < width; ++x, from += 4, to += 3) {
      for (int c = 0; c < 3; ++c) {
        to[c] = onWhite(from[c], from[3]);
      }
    }
  }
  return image;
}

}  // namespace

Result<PhotoHeader> readHeicHeader(std::span<const std::byte> bytes, const std::string& name) {
  const auto open = openHeic(bytes, name);
  if (!open) {
    return open.error();
  }
  return headerOf(*open);
}

Result<DecodedPhoto> decodeHeic(std::span<const std::byte> bytes,
                                const std::string& name,
                                const LoadOptions& options) {
  const auto open = openHeic(bytes, name);
  if (!open) {
    return open.error();
  }
  const PhotoHeader header = headerOf(*open);
  EDAMORI_RETURN_IF_ERROR(checkSize(header.widthPx, header.heightPx, options.maxPixels, name));
  heif_image* decoded = nullptr;
  const heif_error error = heif_decode_image(open->handle.get(), &decoded, heif_colorspace_RGB,
                                             heif_chroma_interleaved_RGBA, nullptr);
  const Image image(decoded);
  if (!isOk(error)) {
    return damaged(name, error.message);
  }
  int stride = 0;
  const std::uint8_t* const plane =
      heif_image_get_plane_readonly(image.get(), heif_channel_interleaved, &stride);
  const int width = heif_image_get_width(image.get(), heif_channel_interleaved);
  const int height = heif_image_get_height(image.get(), heif_channel_interleaved);
  if (plane == nullptr || width < 1 || height < 1 || stride < 4 * width) {
    return damaged(name, "its pixels cannot be read");
  }
  DecodedPhoto photo;
  photo.fullWidthPx = width;
  photo.fullHeightPx = height;
  photo.iccProfile = profileOf(*open);
  photo.image = laidOnWhite(plane, static_cast<std::size_t>(stride), width, height);
  photo.isUpright = true;
  return photo;
}

}  // namespace edamori::vision
