// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/load/decoder.h"

#include <tiffio.h>

#include <algorithm>
#include <cstdio>
#include <cstring>
#include <limits>
#include <memory>
#include <mutex>

namespace edamori::vision {
namespace {

// The bytes as the file that libtiff believes to read.
struct MemoryFile {
  std::span<const std::byte> bytes;
  std::uint64_t position = 0;
};

tmsize_t readBlock(thandle_t handle, void* target, tmsize_t count) {
  auto& file = *static_cast<MemoryFile*>(handle);
  if (count <= 0 || file.position >= file.bytes.size()) {
    return 0;
  }
  const std::size_t taken =
      std::min(static_cast<std::size_t>(count),
               file.bytes.size() - file.position);
  std::memcpy(target, file.bytes.data() + file.position, taken);
  file.position += taken;
  return static_cast<tmsize_t>(taken);
}

tmsize_t refuseBlock(thandle_t /*handle*/, void* /*source*/, tmsize_t /*count*/) { return 0; }

toff_t seekTo(thandle_t handle, toff_t offset, int whence) {
  auto& file = *static_cast<MemoryFile*>(handle);
  const std::uint64_t base = whence == SEEK_CUR   ? file.position
                             : whence == SEEK_END ? file.bytes.size()
                                                  : 0;
  file.position = base + offset;
  return file.position;
}

int closeNothing(thandle_t /*handle*/) { return 0; }
toff_t sizeOf(thandle_t handle) { return static_cast<MemoryFile*>(handle)->bytes.size(); }

// libtiff only reads what it has mapped of a file opened for reading.
int mapWhole(thandle_t handle, void** base, toff_t* size) {
  const auto& file = *static_cast<MemoryFile*>(handle);
  *base = const_cast<std::byte*>(file.bytes.data());
  *size = file.bytes.size();
  return 1;
}

void unmapNothing(thandle_t /*handle*/, void* /*base*/, toff_t /*size*/) {}

struct TiffCloser {
  void operator()(TIFF* tiff) const { TIFFClose(tiff); }
};
using TiffHandle = std::unique_ptr<TIFF, TiffCloser>;

TiffHandle openTiff(MemoryFile& file) {
  // libtiff prints to stderr unless told not to; its handlers belong to the whole process.
  static std::once_flag silenced;
  std::call_once(silenced, [] {
    TIFFSetErrorHandler(nullptr);
    TIFFSetWarningHandler(nullptr);
  });
  return TiffHandle(TIFFClientOpen("photo", "r", &file, readBlock, refuseBlock, seekTo,
                                   closeNothing, sizeOf, mapWhole, unmapNothing));
}

Result<PhotoHeader> headerOf(TIFF* tiff, const std::string& name) {
  std::uint32_t width = 0;
  std::uint32_t height = 0;
  constexpr auto kMax = static_cast<std::uint32_t>(std::numeric_limits<int>::max());
  if (tiff == nullptr || TIFFGetField(tiff, TIFFTAG_IMAGEWIDTH, &width) != 1 ||
      TIFFGetField(tiff, TIFFTAG_IMAGELENGTH, &height) != 1 || width == 0 || height == 0 ||
      width > kMax || height > kMax) {
    return damaged(name, "its header cannot be read");
  }
  return PhotoHeader{.format = "tiff",
                     .widthPx = static_cast<int>(width),
                     .heightPx = static_cast<int>(height)};
}

std::vector<std::byte> profileOf(TIFF* tiff) {
  std::uint32_t length = 0;
  void* data = nullptr;
  if (TIFFGetField(tiff, TIFFTAG_ICCPROFILE, &length, &data) != 1 || data == nullptr) {
    return {};
  }
  const auto* const begin = static_cast<const std::byte*>(data);
  return {begin, begin + length};
}

// libtiff's RGBA interface: any strips, tiles, bit depth up to 16; premultiplied alpha.
class RgbaReader {
 public:
  explicit RgbaReader(TIFF* tiff) {
    constexpr int kStopOnError = 1;
    m_isOpen = TIFFRGBAImageBegin(&m_image, tiff, kStopOnError, m_reason) == 1;
    // The orientation tag comes from the caller, with the Exif data: read as stored.
    m_image.orientation = ORIENTATION_TOPLEFT;
    m_image.req_orientation = ORIENTATION_TOPLEFT;
  }
  ~RgbaReader() {
    if (m_isOpen) {
      TIFFRGBAImageEnd(&m_image);
    }
  }
  RgbaReader(const RgbaReader&) = delete;
  RgbaReader& operator=(const RgbaReader&) = delete;

  [[nodiscard]] bool isOpen() const { return m_isOpen; }
  [[nodiscard]] std::string reason() const { return m_reason; }
  bool read(std::vector<std::uint32_t>& pixels, int width, int height) {
    return TIFFRGBAImageGet(&m_image, pixels.data(), static_cast<std::uint32_t>(width),
                            static_cast<std::uint32_t>(height)) == 1;
  }

 private:
  TIFFRGBAImage m_image{};
  char m_reason[1024] = "";
  bool m_isOpen = false;
};

RgbImage laidOnWhite(const std::vector<std::uint32_t>& pixels, int width, int height) {
  RgbImage image(width, height);
  std::uint8_t* to = image.data();
  const auto premultipliedOnWhite = [](std::uint32_t sample, std::uint32_t alpha) {
    return static_cast<std::uint8_t>(std::min<std::uint32_t>(255, sample + 255 - alpha));
  };
  for (const std::uint32_t pixel : pixels) {
    const std::uint32_t alpha = TIFFGetA(pixel);
    *to++ = premultipliedOnWhite(TIFFGetR(pixel), alpha);
    *to++ = premultipliedOnWhite(TIFFGetG(pixel), alpha);
    *to++ = premultipliedOnWhite(TIFFGetB(pixel), alpha);
  }
  return image;
}

}  // namespace

Result<PhotoHeader> readTiffHeader(std::span<const std::byte> bytes, const std::string& name) {
  MemoryFile file{.bytes = bytes};
  const TiffHandle tiff = openTiff(file);
  return headerOf(tiff.get(), name);
}

Result<DecodedPhoto> decodeTiff(std::span<const std::byte> bytes,
                                const std::string& name,
                                const LoadOptions& options) {
  MemoryFile file{.bytes = bytes};
  const TiffHandle tiff = openTiff(file);
  const auto header = headerOf(tiff.get(), name);
  if (!header) {
    return header.error();
  }
  EDAMORI_RETURN_IF_ERROR(checkSize(header->widthPx, header->heightPx, options.maxPixels, name));
  RgbaReader reader(tiff.get());
  if (!reader.isOpen()) {
    return fail(ErrorCode::UnsupportedFormat, name + " is a kind of TIFF that is not read here (" +
                                                  reader.reason() +
                                                  "); save it as 8-bit RGB TIFF, PNG or JPEG");
  }
  std::vector<std::uint32_t> pixels(static_cast<std::size_t>(header->widthPx) *
                                    static_cast<std::size_t>(header->heightPx));
  if (!reader.read(pixels, header->widthPx, header->heightPx)) {
    return damaged(name, "some of its pixels cannot be read");
  }
  DecodedPhoto photo;
  photo.fullWidthPx = header->widthPx;
  photo.fullHeightPx = header->heightPx;
  photo.iccProfile = profileOf(tiff.get());
  photo.image = laidOnWhite(pixels, header->widthPx, header->heightPx);
  return photo;
}

}  // namespace edamori::vision
