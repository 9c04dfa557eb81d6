// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/load/decoder.h"

#include <png.h>

#include <csetjmp>
#include <cstring>
#include <limits>
#include <utility>

namespace edamori::vision {
namespace {

// Fast, and files stay within a tenth of the smallest: pictures are large, labels are plain.
constexpr int kPictureLevel = 1;
constexpr int kLabelLevel = 4;

// libpng reports a failure by a call that must not return, so that we jump. No
// object with a destructor may live between setjmp and the jump.
struct PngErrors {
  std::jmp_buf jump;
  char reason[128];
};

void leave(png_structp png, png_const_charp reason) {
  auto& errors = *static_cast<PngErrors*>(png_get_error_ptr(png));
  std::strncpy(errors.reason, reason, sizeof errors.reason - 1);
  std::longjmp(errors.jump, 1);
}

void ignoreWarning(png_structp /*png*/, png_const_charp /*reason*/) {}

// One decoding. Every member returns false after a failure, with reason() told.
class PngReader {
 public:
  explicit PngReader(std::span<const std::byte> bytes) : m_left(bytes) {
    m_png = png_create_read_struct(PNG_LIBPNG_VER_STRING, &m_errors, leave, ignoreWarning);
    m_info = m_png != nullptr ? png_create_info_struct(m_png) : nullptr;
  }
  ~PngReader() { png_destroy_read_struct(&m_png, &m_info, nullptr); }
  PngReader(const PngReader&) = delete;
  PngReader& operator=(const PngReader&) = delete;

  bool readHeader() {
    if (m_info == nullptr || setjmp(m_errors.jump) != 0) {
      return false;
    }
    // The caller's limit on pixels is the one that counts.
    png_set_user_limits(m_png, 0x7FFFFFFF, 0x7FFFFFFF);
    png_set_read_fn(m_png, this, readBytes);
    png_read_info(m_png, m_info);
    return true;
  }

  // Asks for 8-bit R, G, B, A whatever is stored.
  bool expandToRgba() {
    if (setjmp(m_errors.jump) != 0) {
      return false;
    }
    png_set_expand(m_png);
    png_set_scale_16(m_png);
    png_set_gray_to_rgb(m_png);
    png_set_add_alpha(m_png, 0xFF, PNG_FILLER_AFTER);
    png_set_interlace_handling(m_png);
    png_read_update_info(m_png, m_info);
    return png_get_rowbytes(m_png, m_info) == png_get_image_width(m_png, m_info) * std::size_t{4};
  }

  bool readRows(png_bytepp rows) {
    if (setjmp(m_errors.jump) != 0) {
      return false;
    }
    png_read_image(m_png, rows);
    png_read_end(m_png, nullptr);
    return true;
  }

  [[nodiscard]] std::vector<std::byte> iccProfile() {
    png_charp profileName = nullptr;
    png_bytep data = nullptr;
    png_uint_32 length = 0;
    int compression = 0;
    if (png_get_iCCP(m_png, m_info, &profileName, &compression, &data, &length) == 0) {
      return {};
    }
    const auto* const begin = reinterpret_cast<const std::byte*>(data);
    return {begin, begin + length};
  }

  [[nodiscard]] png_uint_32 width() const { return png_get_image_width(m_png, m_info); }
  [[nodiscard]] png_uint_32 height() const { return png_get_image_height(m_png, m_info); }
  [[nodiscard]] bool isEightBitGrey() const {
    return png_get_color_type(m_png, m_info) == PNG_COLOR_TYPE_GRAY &&
           png_get_bit_depth(m_png, m_info) == 8;
  }
  [[nodiscard]] std::string reason() const { return m_errors.reason; }

 private:
  static void readBytes(png_structp png, png_bytep target, std::size_t count) {
    auto& reader = *static_cast<PngReader*>(png_get_io_ptr(png));
    if (reader.m_left.size() < count) {
      png_error(png, "it ends too early");
    }
    std::memcpy(target, reader.m_left.data(), count);
    reader.m_left = reader.m_left.subspan(count);
  }

  std::span<const std::byte> m_left;
  PngErrors m_errors{};
  png_structp m_png = nullptr;
  png_infop m_info = nullptr;
};

// One encoding into memory.
class PngWriter {
 public:
  PngWriter() {
    m_png = png_create_write_struct(PNG_LIBPNG_VER_STRING, &m_errors, leave, ignoreWarning);
    m_info = m_png != nullptr ? png_create_info_struct(m_png) : nullptr;
  }
  ~PngWriter() { png_destroy_write_struct(&m_png, &m_info); }
  PngWriter(const PngWriter&) = delete;
  PngWriter& operator=(const PngWriter&) = delete;

  bool write(png_const_bytep pixels, png_uint_32 width, png_uint_32 height, int channels) {
    if (m_info == nullptr || setjmp(m_errors.jump) != 0) {
      return false;
    }
    const bool isColour = channels == 3;
    png_set_write_fn(m_png, &m_bytes, appendBytes, nullptr);
    png_set_compression_level(m_png, isColour ? kPictureLevel : kLabelLevel);
    png_set_filter(m_png, PNG_FILTER_TYPE_BASE, isColour ? PNG_FILTER_SUB : PNG_FILTER_NONE);
    png_set_IHDR(m_png, m_info, width, height, 8, isColour ? PNG_COLOR_TYPE_RGB : PNG_COLOR_TYPE_GRAY,
                 PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    if (isColour) {
      png_set_sRGB(m_png, m_info, PNG_sRGB_INTENT_RELATIVE);
    }
    png_write_info(m_png, m_info);
    const std::size_t stride = std::size_t{width} * static_cast<std::size_t>(channels);
    for (png_uint_32 y = 0; y < height; ++y) {
      png_write_row(m_png, pixels + y * stride);
    }
    png_write_end(m_png, m_info);
    return true;
  }

  [[nodiscard]] std::vector<std::byte> takeBytes() { return std::move(m_bytes); }
  [[nodiscard]] std::string reason() const { return m_errors.reason; }

 private:
  static void appendBytes(png_structp png, png_bytep source, std::size_t count) {
    auto& bytes = *static_cast<std::vector<std::byte>*>(png_get_io_ptr(png));
    const auto* const begin = reinterpret_cast<const std::byte*>(source);
    bytes.insert(bytes.end(), begin, begin + count);
  }

  std::vector<std::byte> m_bytes;
  PngErrors m_errors{};
  png_structp m_png = nullptr;
  png_infop m_info = nullptr;
};

RgbImage laidOnWhite(const Raster<4>& rgba) {
  RgbImage image(rgba.width(), rgba.height());
  const std::uint8_t* from = rgba.data();
  std::uint8_t* to = image.data();
  for (std::int64_t i = 0; i < rgba.pixelCount(); ++i, from += 4, to += 3) {
    for (int c = 0; c < 3; ++c) {
      to[c] = onWhite(from[c], from[3]);
    }
  }
  return image;
}

template <int Channels>
std::vector<png_bytep> rowsOf(Raster<Channels>& raster) {
  std::vector<png_bytep> rows;
  rows.reserve(static_cast<std::size_t>(raster.height()));
  for (int y = 0; y < raster.height(); ++y) {
    rows.push_back(raster.row(y));
  }
  return rows;
}

template <int Channels>
Result<std::vector<std::byte>> encode(const Raster<Channels>& raster) {
  if (raster.isEmpty()) {
    return fail(ErrorCode::InvalidArgument, "a picture without pixels cannot be saved");
  }
  PngWriter writer;
  if (!writer.write(raster.data(), static_cast<png_uint_32>(raster.width()),
                    static_cast<png_uint_32>(raster.height()), Channels)) {
    return fail(ErrorCode::Io, "the PNG could not be made (" + writer.reason() + ")");
  }
  return writer.takeBytes();
}

std::uint32_t bigEndian32(std::span<const std::byte> bytes, std::size_t at) {
  std::uint32_t value = 0;
  for (std::size_t i = 0; i < 4; ++i) {
    value = value << 8 | std::to_integer<std::uint32_t>(bytes[at + i]);
  }
  return value;
}

}  // namespace

Result<PhotoHeader> readPngHeader(std::span<const std::byte> bytes, const std::string& name) {
  // Signature 8, then length 4, "IHDR" 4, width 4, height 4 (ISO/IEC 15948).
  constexpr std::size_t kHeaderBytes = 33;
  if (bytes.size() < kHeaderBytes || std::memcmp(bytes.data() + 12, "IHDR", 4) != 0) {
    return damaged(name, "its header is cut short");
  }
  const std::uint32_t width = bigEndian32(bytes, 16);
  const std::uint32_t height = bigEndian32(bytes, 20);
  constexpr auto kMax = static_cast<std::uint32_t>(std::numeric_limits<int>::max());
  if (width == 0 || height == 0 || width > kMax || height > kMax) {
    return damaged(name, "its header makes no sense");
  }
  return PhotoHeader{.format = "png",
                     .widthPx = static_cast<int>(width),
                     .heightPx = static_cast<int>(height)};
}

Result<DecodedPhoto> decodePng(std::span<const std::byte> bytes,
                               const std::string& name,
                               const LoadOptions& options) {
  const auto header = readPngHeader(bytes, name);
  if (!header) {
    return header.error();
  }
  EDAMORI_RETURN_IF_ERROR(checkSize(header->widthPx, header->heightPx, options.maxPixels, name));
  PngReader reader(bytes);
  if (!reader.readHeader()) {
    return damaged(name, reader.reason());
  }
  DecodedPhoto photo;
  photo.fullWidthPx = header->widthPx;
  photo.fullHeightPx = header->heightPx;
  photo.iccProfile = reader.iccProfile();
  if (!reader.expandToRgba()) {
    return damaged(name, reader.reason());
  }
  Raster<4> rgba(header->widthPx, header->heightPx);
  std::vector<png_bytep> rows = rowsOf(rgba);
  if (!reader.readRows(rows.data())) {
    return damaged(name, reader.reason());
  }
  photo.image = laidOnWhite(rgba);
  return photo;
}

Result<LabelImage> decodeLabelPng(std::span<const std::byte> bytes, const std::string& name) {
  const auto header = readPngHeader(bytes, name);
  if (!header) {
    return header.error();
  }
  EDAMORI_RETURN_IF_ERROR(
      checkSize(header->widthPx, header->heightPx, LoadOptions{}.maxPixels, name));
  PngReader reader(bytes);
  if (!reader.readHeader()) {
    return damaged(name, reader.reason());
  }
  if (!reader.isEightBitGrey()) {
    return fail(ErrorCode::UnsupportedFormat,
                name + " is not an 8-bit greyscale PNG; save it with one 8-bit channel");
  }
  LabelImage labels(header->widthPx, header->heightPx);
  std::vector<png_bytep> rows = rowsOf(labels);
  if (!reader.readRows(rows.data())) {
    return damaged(name, reader.reason());
  }
  return labels;
}

Result<std::vector<std::byte>> encodePng(const RgbImage& image) { return encode(image); }
Result<std::vector<std::byte>> encodePng(const LabelImage& labels) { return encode(labels); }

}  // namespace edamori::vision
