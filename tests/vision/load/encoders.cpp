// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/vision/load/encoders.h"

#include <gtest/gtest.h>
#include <lcms2.h>
#include <png.h>
#include <tiffio.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>

#include <jpeglib.h>
#include <libheif/heif.h>

// The leak checker asks for this by name. libx265, which only writes the HEIC file of
// a test, keeps a kilobyte to the end.
extern "C" const char* __lsan_default_suppressions();
extern "C" const char* __lsan_default_suppressions() { return "leak:libx265"; }

namespace edamori::test {
namespace {

const std::byte* asBytes(const void* data) { return static_cast<const std::byte*>(data); }

void append(png_structp png, png_bytep data, std::size_t count) {
  auto& bytes = *static_cast<Bytes*>(png_get_io_ptr(png));
  bytes.insert(bytes.end(), asBytes(data), asBytes(data) + count);
}

void appendBigEndian(Bytes& bytes, std::uint32_t value) {
  for (int shift = 24; shift >= 0; shift -= 8) {
    bytes.push_back(static_cast<std::byte>(value >> shift & 0xFFU));
  }
}

// The checksum of ISO/IEC 15948, annex D, bit by bit.
std::uint32_t crcOf(std::span<const std::byte> bytes) {
  std::uint32_t crc = 0xFFFFFFFFU;
  for (const std::byte byte : bytes) {
    crc ^= std::to_integer<std::uint32_t>(byte);
    for (int bit = 0; bit < 8; ++bit) {
      crc = (crc & 1U) != 0 ? 0xEDB88320U ^ crc >> 1 : crc >> 1;
    }
  }
  return crc ^ 0xFFFFFFFFU;
}

void appendChunk(Bytes& file, const std::string& type, const Bytes& data) {
  appendBigEndian(file, static_cast<std::uint32_t>(data.size()));
  Bytes body = bytesOf(type);
  body.insert(body.end(), data.begin(), data.end());
  file.insert(file.end(), body.begin(), body.end());
  appendBigEndian(file, crcOf(body));
}

Bytes savedProfile(cmsHPROFILE profile) {
  cmsUInt32Number size = 0;
  cmsSaveProfileToMem(profile, nullptr, &size);
  Bytes bytes(size);
  cmsSaveProfileToMem(profile, bytes.data(), &size);
  cmsCloseProfile(profile);
  return bytes;
}

J_COLOR_SPACE jpegSpaceOf(int channels) {
  return channels == 1 ? JCS_GRAYSCALE : channels == 3 ? JCS_RGB : JCS_CMYK;
}

void writeTiles(TIFF* tiff, const TiffSpec& spec, std::size_t bytesPerPixel) {
  const auto side = static_cast<std::uint32_t>(spec.tileSide);
  TIFFSetField(tiff, TIFFTAG_TILEWIDTH, side);
  TIFFSetField(tiff, TIFFTAG_TILELENGTH, side);
  std::vector<std::uint8_t> tile(std::size_t{side} * side * bytesPerPixel);
  for (int top = 0; top < spec.height; top += spec.tileSide) {
    for (int left = 0; left < spec.width; left += spec.tileSide) {
      for (int y = top; y < std::min(top + spec.tileSide, spec.height); ++y) {
        const std::size_t count = static_cast<std::size_t>(std::min(spec.tileSide, spec.width - left));
        std::memcpy(tile.data() + static_cast<std::size_t>((y - top) * spec.tileSide) * bytesPerPixel,
                    spec.samples.data() + static_cast<std::size_t>(y * spec.width + left) * bytesPerPixel,
                    count * bytesPerPixel);
      }
      TIFFWriteTile(tiff, tile.data(), static_cast<std::uint32_t>(left),
                    static_cast<std::uint32_t>(top), 0, 0);
    }
  }
}

heif_error appendHeif(heif_context* /*context*/, const void* data, std::size_t size, void* target) {
  auto& bytes = *static_cast<Bytes*>(target);
  bytes.insert(bytes.end(), asBytes(data), asBytes(data) + size);
  return {heif_error_Ok, heif_suberror_Unspecified, "ok"};
}

heif_image* heifImageOf(const RgbImage& image) {
  heif_image* heif = nullptr;
  heif_image_create(image.width(), image.height(), heif_colorspace_RGB,
                    heif_chroma_interleaved_RGB, &heif);
  heif_image_add_plane(heif, heif_channel_interleaved, image.width(), image.height(), 8);
  int stride = 0;
  std::uint8_t* const plane = heif_image_get_plane(heif, heif_channel_interleaved, &stride);
  for (int y = 0; y < image.height(); ++y) {
    std::memcpy(plane + std::ptrdiff_t{y} * stride, image.row(y), image.bytesPerRow());
  }
  return heif;
}

}  // namespace

Bytes bytesOf(const std::string& text) {
  return {asBytes(text.data()), asBytes(text.data()) + text.size()};
}

std::string textOf(std::span<const std::byte> bytes) {
  return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

Bytes pngFile(const PngSpec& spec) {
  Bytes bytes;
  png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
  png_infop info = png_create_info_struct(png);
  png_set_write_fn(png, &bytes, append, nullptr);
  png_set_IHDR(png, info, static_cast<png_uint_32>(spec.width),
               static_cast<png_uint_32>(spec.height), spec.bitDepth, spec.colorType,
               spec.isInterlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE,
               PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  const png_color palette[2] = {{10, 20, 30}, {200, 150, 100}};
  if (spec.colorType == PNG_COLOR_TYPE_PALETTE) {
    png_set_PLTE(png, info, palette, 2);
  }
  if (!spec.iccProfile.empty()) {
    png_set_iCCP(png, info, "profile", PNG_COMPRESSION_TYPE_BASE,
                 reinterpret_cast<png_const_bytep>(spec.iccProfile.data()),
                 static_cast<png_uint_32>(spec.iccProfile.size()));
  }
  png_write_info(png, info);
  const std::size_t stride = png_get_rowbytes(png, info);
  std::vector<png_bytep> rows;
  for (int y = 0; y < spec.height; ++y) {
    rows.push_back(const_cast<png_bytep>(spec.samples.data()) + static_cast<std::size_t>(y) * stride);
  }
  png_write_image(png, rows.data());
  png_write_end(png, info);
  png_destroy_write_struct(&png, &info);
  return bytes;
}

Bytes pngHeaderOnly(std::uint32_t width, std::uint32_t height) {
  Bytes file = bytesOf("\x89PNG\r\n\x1A\n");
  Bytes header;
  appendBigEndian(header, width);
  appendBigEndian(header, height);
  for (const int value : {8, 2, 0, 0, 0}) {
    header.push_back(static_cast<std::byte>(value));
  }
  appendChunk(file, "IHDR", header);
  appendChunk(file, "IDAT", {});
  appendChunk(file, "IEND", {});
  return file;
}

Bytes jpegFile(const std::vector<std::uint8_t>& samples,
               int width,
               int height,
               int channels,
               const Bytes& iccProfile) {
  jpeg_compress_struct info{};
  jpeg_error_mgr errors{};
  info.err = jpeg_std_error(&errors);
  jpeg_create_compress(&info);
  unsigned char* data = nullptr;
  unsigned long size = 0;
  jpeg_mem_dest(&info, &data, &size);
  info.image_width = static_cast<JDIMENSION>(width);
  info.image_height = static_cast<JDIMENSION>(height);
  info.input_components = channels;
  info.in_color_space = jpegSpaceOf(channels);
  jpeg_set_defaults(&info);
  jpeg_set_quality(&info, 100, TRUE);
  info.comp_info[0].h_samp_factor = 1;
  info.comp_info[0].v_samp_factor = 1;
  jpeg_start_compress(&info, TRUE);
  if (!iccProfile.empty()) {
    jpeg_write_icc_profile(&info, reinterpret_cast<const JOCTET*>(iccProfile.data()),
                           static_cast<unsigned>(iccProfile.size()));
  }
  for (int y = 0; y < height; ++y) {
    JSAMPROW row = const_cast<JSAMPROW>(samples.data()) + std::ptrdiff_t{y} * width * channels;
    jpeg_write_scanlines(&info, &row, 1);
  }
  jpeg_finish_compress(&info);
  Bytes bytes(asBytes(data), asBytes(data) + size);
  jpeg_destroy_compress(&info);
  std::free(data);
  return bytes;
}

Bytes jpegClaiming(Bytes jpeg, int width, int height) {
  // Start of frame (ITU-T T.81, B.2.2): FF C0, length 2, precision 1, lines 2, samples 2.
  for (std::size_t i = 2; i + 9 < jpeg.size(); ++i) {
    if (jpeg[i] == std::byte{0xFF} && jpeg[i + 1] == std::byte{0xC0}) {
      jpeg[i + 5] = static_cast<std::byte>(height >> 8);
      jpeg[i + 6] = static_cast<std::byte>(height & 0xFF);
      jpeg[i + 7] = static_cast<std::byte>(width >> 8);
      jpeg[i + 8] = static_cast<std::byte>(width & 0xFF);
      return jpeg;
    }
  }
  ADD_FAILURE() << "no frame header";
  return jpeg;
}

Bytes tiffFile(const TiffSpec& spec) {
  std::string name = (std::filesystem::temp_directory_path() / "edamori-tiff-XXXXXX").string();
  const int descriptor = ::mkstemp(name.data());
  EXPECT_GE(descriptor, 0);
  TIFF* const tiff = TIFFFdOpen(descriptor, name.c_str(), "w");
  TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, spec.width);
  TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, spec.height);
  TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, spec.bits);
  TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, spec.samplesPerPixel);
  TIFFSetField(tiff, TIFFTAG_ORIENTATION, spec.orientation);
  TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
  TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC,
               spec.samplesPerPixel == 1 ? PHOTOMETRIC_MINISBLACK : PHOTOMETRIC_RGB);
  const std::size_t pixel = static_cast<std::size_t>(spec.bits / 8 * spec.samplesPerPixel);
  if (spec.tileSide > 0) {
    writeTiles(tiff, spec, pixel);
  } else {
    TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 2);
    for (int y = 0; y < spec.height; ++y) {
      auto* const row = const_cast<std::uint8_t*>(spec.samples.data()) +
                        static_cast<std::size_t>(y * spec.width) * pixel;
      TIFFWriteScanline(tiff, row, static_cast<std::uint32_t>(y), 0);
    }
  }
  TIFFClose(tiff);
  Bytes bytes(std::filesystem::file_size(name));
  std::ifstream stream(name, std::ios::binary);
  stream.read(reinterpret_cast<char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
  EXPECT_TRUE(stream);
  std::filesystem::remove(name);
  return bytes;
}

std::optional<Bytes> heicFile(const RgbImage& image) {
  heif_context* const context = heif_context_alloc();
  heif_encoder* encoder = nullptr;
  const heif_error found =
      heif_context_get_encoder_for_format(context, heif_compression_HEVC, &encoder);
  std::optional<Bytes> bytes;
  if (found.code == heif_error_Ok) {
    heif_encoder_set_lossy_quality(encoder, 95);
    heif_image* const heif = heifImageOf(image);
    heif_image_handle* handle = nullptr;
    heif_writer writer{1, appendHeif};
    Bytes written;
    if (heif_context_encode_image(context, heif, encoder, nullptr, &handle).code == heif_error_Ok &&
        heif_context_write(context, &writer, &written).code == heif_error_Ok) {
      bytes = written;
    }
    heif_image_handle_release(handle);
    heif_image_release(heif);
    heif_encoder_release(encoder);
  }
  heif_context_free(context);
  return bytes;
}

Bytes displayP3Profile() {
  const cmsCIExyY white{0.3127, 0.3290, 1.0};
  const cmsCIExyYTRIPLE primaries{{0.680, 0.320, 1.0}, {0.265, 0.690, 1.0}, {0.150, 0.060, 1.0}};
  const cmsFloat64Number curve[5] = {2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045};
  cmsToneCurve* const transfer = cmsBuildParametricToneCurve(nullptr, 4, curve);
  cmsToneCurve* const curves[3] = {transfer, transfer, transfer};
  cmsHPROFILE profile = cmsCreateRGBProfile(&white, &primaries, curves);
  cmsMLU* const name = cmsMLUalloc(nullptr, 1);
  cmsMLUsetASCII(name, "en", "US", "Display P3");
  cmsWriteTag(profile, cmsSigProfileDescriptionTag, name);
  cmsMLUfree(name);
  cmsFreeToneCurve(transfer);
  return savedProfile(profile);
}

Bytes srgbProfile() { return savedProfile(cmsCreate_sRGBProfile()); }

}  // namespace edamori::test
