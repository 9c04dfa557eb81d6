// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/load/load.h"

#include "vision/load/decoder.h"
#include "vision/load/file_bytes.h"
#include "vision/load/profile.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cstring>
#include <exception>
#include <new>
#include <utility>

namespace edamori::vision {
namespace {

bool startsWith(std::span<const std::byte> bytes, std::string_view signature) {
  return bytes.size() >= signature.size() &&
         std::memcmp(bytes.data(), signature.data(), signature.size()) == 0;
}

// ISO/IEC 23008-12: a box "ftyp" whose main brand is one of HEVC still pictures.
bool isHeic(std::span<const std::byte> bytes) {
  if (bytes.size() < 12 || std::memcmp(bytes.data() + 4, "ftyp", 4) != 0) {
    return false;
  }
  constexpr std::array<std::string_view, 8> kBrands{"heic", "heix", "heim", "heis",
                                                    "hevc", "hevx", "mif1", "msf1"};
  const std::string_view brand(reinterpret_cast<const char*>(bytes.data()) + 8, 4);
  return std::find(kBrands.begin(), kBrands.end(), brand) != kBrands.end();
}

bool looksLikeText(std::span<const std::byte> bytes) {
  const auto head = bytes.first(std::min<std::size_t>(bytes.size(), 512));
  return std::all_of(head.begin(), head.end(), [](std::byte byte) {
    const auto c = std::to_integer<unsigned char>(byte);
    return c >= 0x80 || std::isprint(c) != 0 || std::isspace(c) != 0;
  });
}

Result<DecodedPhoto> decodeAs(PhotoFormat format,
                              std::span<const std::byte> bytes,
                              const std::string& name,
                              const LoadOptions& options) {
  switch (format) {
    case PhotoFormat::Jpeg:
      return decodeJpeg(bytes, name, options);
    case PhotoFormat::Png:
      return decodePng(bytes, name, options);
    case PhotoFormat::Tiff:
      return decodeTiff(bytes, name, options);
    case PhotoFormat::Heic:
      break;
  }
  return decodeHeic(bytes, name, options);
}

int reduced(int side, int reduceBy) { return (side + reduceBy - 1) / reduceBy; }

LoadedPhoto finished(DecodedPhoto decoded, const LoadOptions& options) {
  LoadedPhoto photo;
  const int width = reduced(decoded.fullWidthPx, options.reduceBy);
  const int height = reduced(decoded.fullHeightPx, options.reduceBy);
  RgbImage image = std::move(decoded.image);
  if (image.width() > width || image.height() > height) {
    image = reducedToFit(image, std::max(width, height));
  }
  const ProfileOutcome profile = convertToSrgb(image, decoded.iccProfile);
  photo.hadProfile = profile.wasConverted;
  photo.profileName = profile.name;
  const int orientation = decoded.isUpright ? 1 : options.exifOrientation;
  const bool isTurned = orientation >= 5 && orientation <= 8;
  photo.fullWidthPx = isTurned ? decoded.fullHeightPx : decoded.fullWidthPx;
  photo.fullHeightPx = isTurned ? decoded.fullWidthPx : decoded.fullHeightPx;
  photo.image = orientation >= 2 && orientation <= 8 ? uprighted(image, orientation)
                                                     : std::move(image);
  return photo;
}

Result<LoadedPhoto> decodeNamed(std::span<const std::byte> bytes,
                                const std::string& name,
                                const LoadOptions& options) {
  constexpr std::array<int, 4> kReductions{1, 2, 4, 8};
  if (std::find(kReductions.begin(), kReductions.end(), options.reduceBy) == kReductions.end()) {
    return fail(ErrorCode::InvalidArgument, "a photo can be reduced by 1, 2, 4 or 8 only");
  }
  const auto format = formatOf(bytes, name);
  if (!format) {
    return format.error();
  }
  return decodeAs(*format, bytes, name, options).transform([&options](DecodedPhoto&& decoded) {
    return finished(std::move(decoded), options);
  });
}

std::string lowerCaseEnding(const std::filesystem::path& file) {
  std::string ending = file.extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(), [](unsigned char c) {
    return static_cast<char>(std::tolower(c));
  });
  return ending;
}

}  // namespace

Error damaged(const std::string& name, const std::string& reason) {
  return fail(ErrorCode::Corrupt, name + " is damaged or cut short (" + shownName(std::string_view(reason)) +
                                      "); copy it again from the camera or phone");
}

Result<void> checkSize(std::int64_t widthPx,
                       std::int64_t heightPx,
                       std::int64_t maxPixels,
                       const std::string& name) {
  if (widthPx < 1 || heightPx < 1) {
    return damaged(name, "it has no pixels");
  }
  if (widthPx > maxPixels / heightPx) {
    return fail(ErrorCode::Corrupt,
                name + " claims " + std::to_string(widthPx) + " × " + std::to_string(heightPx) +
                    " pixels, more than the " + std::to_string(maxPixels / 1'000'000) +
                    " million that are read; save it smaller or copy it again");
  }
  return {};
}

Result<PhotoFormat> formatOf(std::span<const std::byte> bytes, std::string_view name) {
  using std::string_view_literals::operator""sv;
  if (bytes.empty()) {
    return fail(ErrorCode::UnsupportedFormat,
                std::string(name) + " is empty (0 bytes); copy it again from the camera or phone");
  }
  if (startsWith(bytes, "\xFF\xD8\xFF"sv)) {
    return PhotoFormat::Jpeg;
  }
  if (startsWith(bytes, "\x89PNG\r\n\x1A\n"sv)) {
    return PhotoFormat::Png;
  }
  if (startsWith(bytes, "II*\0"sv) || startsWith(bytes, "MM\0*"sv) ||
      startsWith(bytes, "II+\0"sv) || startsWith(bytes, "MM\0+"sv)) {
    return PhotoFormat::Tiff;
  }
  if (isHeic(bytes)) {
    return PhotoFormat::Heic;
  }
  return fail(ErrorCode::UnsupportedFormat,
              std::string(name) + (looksLikeText(bytes) ? " holds text, not a photo"
                                                        : " is not a JPEG, PNG, TIFF or HEIC photo") +
                  "; choose a photo file, or save it as JPEG");
}

Result<LoadedPhoto> decodePhoto(std::span<const std::byte> bytes,
                                std::string_view name,
                                const LoadOptions& options) {
  const std::string shown = shownName(name);
  try {
    return decodeNamed(bytes, shown, options);
  } catch (const std::bad_alloc&) {
    return fail(ErrorCode::Corrupt, shown + " needs more memory than there is; save it smaller");
  } catch (const std::exception& error) {  // cv::Exception while reducing.
    return damaged(shown, error.what());
  }
}

Result<LoadedPhoto> loadPhoto(const std::filesystem::path& file, const LoadOptions& options) {
  const auto bytes = readFileBytes(file);
  if (!bytes) {
    return bytes.error();
  }
  return decodePhoto(*bytes, file.string(), options);
}

Result<PhotoHeader> readHeader(std::span<const std::byte> bytes, std::string_view name) {
  const std::string shown = shownName(name);
  const auto format = formatOf(bytes, shown);
  if (!format) {
    return format.error();
  }
  switch (*format) {
    case PhotoFormat::Jpeg:
      return readJpegHeader(bytes, shown);
    case PhotoFormat::Png:
      return readPngHeader(bytes, shown);
    case PhotoFormat::Tiff:
      return readTiffHeader(bytes, shown);
    case PhotoFormat::Heic:
      break;
  }
  return readHeicHeader(bytes, shown);
}

Result<LabelImage> loadLabels(const std::filesystem::path& file) {
  const auto bytes = readFileBytes(file);
  if (!bytes) {
    return bytes.error();
  }
  const std::string name = shownName(file);
  const auto format = formatOf(*bytes, name);
  if (!format) {
    return format.error();
  }
  if (*format != PhotoFormat::Png) {
    return fail(ErrorCode::UnsupportedFormat,
                name + " is not a PNG; save labels and hints as 8-bit greyscale PNG");
  }
  return decodeLabelPng(*bytes, name);
}

Result<void> saveLabels(const std::filesystem::path& file, const LabelImage& labels) {
  const auto bytes = encodePng(labels);
  if (!bytes) {
    return bytes.error();
  }
  return writeFileBytes(file, *bytes);
}

Result<void> savePicture(const std::filesystem::path& file, const RgbImage& image) {
  constexpr int kSavedQuality = 90;
  const std::string ending = lowerCaseEnding(file);
  const bool isJpeg = ending == ".jpg" || ending == ".jpeg";
  if (!isJpeg && ending != ".png") {
    return fail(ErrorCode::InvalidArgument,
                shownName(file) + " must end in .png, .jpg or .jpeg; choose another name");
  }
  const auto bytes = isJpeg ? encodeJpeg(image, kSavedQuality) : encodePng(image);
  if (!bytes) {
    return bytes.error();
  }
  return writeFileBytes(file, *bytes);
}

}  // namespace edamori::vision
