// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/load/decoder.h"

#include <csetjmp>
#include <cstdio>
#include <cstdlib>
#include <utility>

#include <jpeglib.h>
// After jpeglib.h, which it needs.
#include <jerror.h>

namespace edamori::vision {
namespace {

// A progressive photo has about ten scans; thousands are a way to keep a decoder busy.
constexpr int kMaxScans = 500;

// libjpeg reports a failure by a call that must not return, so that we jump. No
// object with a destructor may live between setjmp and the jump.
struct JpegErrors {
  jpeg_error_mgr base;
  std::jmp_buf jump;
  char reason[JMSG_LENGTH_MAX];
  bool isDamaged;
};

JpegErrors& errorsOf(j_common_ptr info) { return *reinterpret_cast<JpegErrors*>(info->err); }

void leave(j_common_ptr info) {
  JpegErrors& errors = errorsOf(info);
  (*info->err->format_message)(info, errors.reason);
  std::longjmp(errors.jump, 1);
}

// Warnings after which some of the pixels are invented by the decoder.
bool meansLostPixels(int code) {
  switch (code) {
    case JWRN_HIT_MARKER:
    case JWRN_JPEG_EOF:
    case JWRN_HUFF_BAD_CODE:
    case JWRN_MUST_RESYNC:
    case JWRN_ARITH_BAD_CODE:
    case JWRN_BOGUS_PROGRESSION:
    case JWRN_NOT_SEQUENTIAL:
      return true;
    default:
      return false;
  }
}

void noteWarning(j_common_ptr info, int level) {
  JpegErrors& errors = errorsOf(info);
  if (level < 0 && meansLostPixels(info->err->msg_code) && !errors.isDamaged) {
    errors.isDamaged = true;
    (*info->err->format_message)(info, errors.reason);
  }
}

void limitScans(j_common_ptr info) {
  if (info->is_decompressor != 0 &&
      reinterpret_cast<j_decompress_ptr>(info)->input_scan_number > kMaxScans) {
    ERREXIT(info, JERR_BAD_PROGRESSION);
  }
}

jpeg_error_mgr* prepare(JpegErrors& errors) {
  errors.reason[0] = '\0';
  errors.isDamaged = false;
  jpeg_error_mgr* const base = jpeg_std_error(&errors.base);
  base->error_exit = leave;
  base->emit_message = noteWarning;
  return base;
}

// One decoding. Every member returns false after a failure, with reason() told.
class JpegReader {
 public:
  explicit JpegReader(std::span<const std::byte> bytes) : m_bytes(bytes) {
    m_info.err = prepare(m_errors);
    m_progress.progress_monitor = limitScans;
  }
  ~JpegReader() { jpeg_destroy_decompress(&m_info); }
  JpegReader(const JpegReader&) = delete;
  JpegReader& operator=(const JpegReader&) = delete;

  bool readHeader() {
    if (setjmp(m_errors.jump) != 0) {
      return false;
    }
    jpeg_create_decompress(&m_info);
    m_info.progress = &m_progress;
    jpeg_mem_src(&m_info, reinterpret_cast<const unsigned char*>(m_bytes.data()),
                 m_bytes.size());
    jpeg_save_markers(&m_info, JPEG_APP0 + 2, 0xFFFF);
    jpeg_read_header(&m_info, TRUE);
    return true;
  }

  bool start(int reduceBy) {
    if (setjmp(m_errors.jump) != 0) {
      return false;
    }
    m_info.scale_num = 1;
    m_info.scale_denom = static_cast<unsigned>(reduceBy);
    m_info.out_color_space = JCS_RGB;
    jpeg_start_decompress(&m_info);
    return true;
  }

  bool readPixels(RgbImage& image) {
    if (setjmp(m_errors.jump) != 0) {
      return false;
    }
    while (m_info.output_scanline < m_info.output_height && !m_errors.isDamaged) {
      JSAMPROW row = image.row(static_cast<int>(m_info.output_scanline));
      jpeg_read_scanlines(&m_info, &row, 1);
    }
    if (!m_errors.isDamaged) {
      jpeg_finish_decompress(&m_info);
    }
    return !m_errors.isDamaged;
  }

  [[nodiscard]] std::vector<std::byte> iccProfile() {
    JOCTET* data = nullptr;
    unsigned length = 0;
    std::vector<std::byte> profile;
    if (jpeg_read_icc_profile(&m_info, &data, &length) != 0) {
      const auto* const begin = reinterpret_cast<const std::byte*>(data);
      profile.assign(begin, begin + length);
      std::free(data);
    }
    return profile;
  }

  [[nodiscard]] const jpeg_decompress_struct& info() const { return m_info; }
  [[nodiscard]] std::string reason() const { return m_errors.reason; }

 private:
  std::span<const std::byte> m_bytes;
  JpegErrors m_errors{};
  jpeg_progress_mgr m_progress{};
  jpeg_decompress_struct m_info{};
};

// One encoding; `m_bytes` is libjpeg's own memory.
class JpegWriter {
 public:
  JpegWriter() { m_info.err = prepare(m_errors); }
  ~JpegWriter() {
    jpeg_destroy_compress(&m_info);
    std::free(m_bytes);
  }
  JpegWriter(const JpegWriter&) = delete;
  JpegWriter& operator=(const JpegWriter&) = delete;

  bool write(const RgbImage& image, int quality) {
    if (setjmp(m_errors.jump) != 0) {
      return false;
    }
    jpeg_create_compress(&m_info);
    jpeg_mem_dest(&m_info, &m_bytes, &m_size);
    m_info.image_width = static_cast<JDIMENSION>(image.width());
    m_info.image_height = static_cast<JDIMENSION>(image.height());
    m_info.input_components = 3;
    m_info.in_color_space = JCS_RGB;
    jpeg_set_defaults(&m_info);
    jpeg_set_quality(&m_info, quality, TRUE);
    jpeg_start_compress(&m_info, TRUE);
    while (m_info.next_scanline < m_info.image_height) {
      JSAMPROW row = const_cast<JSAMPROW>(image.row(static_cast<int>(m_info.next_scanline)));
      jpeg_write_scanlines(&m_info, &row, 1);
    }
    jpeg_finish_compress(&m_info);
    return true;
  }

  [[nodiscard]] std::span<const std::byte> bytes() const {
    return {reinterpret_cast<const std::byte*>(m_bytes), m_size};
  }
  [[nodiscard]] std::string reason() const { return m_errors.reason; }

 private:
  JpegErrors m_errors{};
  jpeg_compress_struct m_info{};
  unsigned char* m_bytes = nullptr;
  unsigned long m_size = 0;
};

Result<void> checkColours(const JpegReader& reader, const std::string& name) {
  const J_COLOR_SPACE space = reader.info().jpeg_color_space;
  if (space == JCS_CMYK || space == JCS_YCCK) {
    return fail(ErrorCode::UnsupportedFormat,
                name + " holds printing colours (CMYK); save it as an RGB photo");
  }
  return {};
}

}  // namespace

Result<PhotoHeader> readJpegHeader(std::span<const std::byte> bytes, const std::string& name) {
  JpegReader reader(bytes);
  if (!reader.readHeader()) {
    return damaged(name, reader.reason());
  }
  return PhotoHeader{.format = "jpeg",
                     .widthPx = static_cast<int>(reader.info().image_width),
                     .heightPx = static_cast<int>(reader.info().image_height)};
}

Result<DecodedPhoto> decodeJpeg(std::span<const std::byte> bytes,
                                const std::string& name,
                                const LoadOptions& options) {
  JpegReader reader(bytes);
  if (!reader.readHeader()) {
    return damaged(name, reader.reason());
  }
  DecodedPhoto photo;
  photo.fullWidthPx = static_cast<int>(reader.info().image_width);
  photo.fullHeightPx = static_cast<int>(reader.info().image_height);
  EDAMORI_RETURN_IF_ERROR(
      checkSize(photo.fullWidthPx, photo.fullHeightPx, options.maxPixels, name));
  EDAMORI_RETURN_IF_ERROR(checkColours(reader, name));
  photo.iccProfile = reader.iccProfile();
  if (!reader.start(options.reduceBy)) {
    return damaged(name, reader.reason());
  }
  photo.image = RgbImage(static_cast<int>(reader.info().output_width),
                         static_cast<int>(reader.info().output_height));
  if (!reader.readPixels(photo.image)) {
    return damaged(name, reader.reason());
  }
  return photo;
}

Result<std::vector<std::byte>> encodeJpeg(const RgbImage& image, int quality) {
  if (image.isEmpty() || image.width() > JPEG_MAX_DIMENSION ||
      image.height() > JPEG_MAX_DIMENSION || quality < 1 || quality > 100) {
    return fail(ErrorCode::InvalidArgument,
                "a JPEG needs 1 to 65500 pixels a side and a quality from 1 to 100");
  }
  JpegWriter writer;
  if (!writer.write(image, quality)) {
    return fail(ErrorCode::Io, "the JPEG could not be made (" + writer.reason() + ")");
  }
  return std::vector<std::byte>(writer.bytes().begin(), writer.bytes().end());
}

}  // namespace edamori::vision
