// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/intake/metadata.h"

#include "store/garden/files_internal.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <ctime>
#include <functional>
#include <mutex>

#include <exiv2/exiv2.hpp>
#include <sys/stat.h>

namespace edamori::store {

namespace fs = std::filesystem;

namespace {

// Set up once: these are globals of exiv2, and its XMP part is not safe to start twice.
void prepareExiv2() {
  static std::once_flag once;
  std::call_once(once, [] {
    Exiv2::LogMsg::setLevel(Exiv2::LogMsg::mute);  // Damaged files would fill the terminal.
    Exiv2::enableBMFF(true);                       // HEIC
    Exiv2::XmpParser::initialize();
  });
}

// Runs `work` on the file's metadata. exiv2 throws at hostile files, also from
// places that its documentation does not name; nothing of it gets out of here.
void withMetadata(const fs::path& file, const std::function<void(Exiv2::Image&)>& work) {
  try {
    prepareExiv2();
    const auto image = Exiv2::ImageFactory::open(file.string());
    if (image.get() == nullptr) {
      return;
    }
    try {
      image->readMetadata();
    } catch (...) {  // What was read before the damage is still of use.
    }
    work(*image);
  } catch (...) {  // No image, or nothing of it can be read.
  }
}

std::string trimmed(const std::string& text) {
  const std::string cut = text.substr(0, text.find('\0'));
  const auto first = cut.find_first_not_of(" \t\r\n");
  if (first == std::string::npos) {
    return {};
  }
  return cut.substr(first, cut.find_last_not_of(" \t\r\n") - first + 1);
}

// "" when the key is not there or cannot be read.
std::string exifText(const Exiv2::ExifData& exif, const char* key) {
  try {
    const auto found = exif.findKey(Exiv2::ExifKey(key));
    return found == exif.end() ? std::string{} : trimmed(found->toString());
  } catch (...) {
    return {};
  }
}

bool isDigits(const std::string& text) {
  return !text.empty() && std::ranges::all_of(text, [](char c) { return c >= '0' && c <= '9'; });
}

// "YYYY:MM:DD HH:MM:SS" (Exif 2.32 §4.6.5); zeros, blanks and days that do not exist are unknown.
LocalTime timeFromExif(const std::string& dateTime,
                       const std::string& subSeconds,
                       const std::string& offset) {
  if (dateTime.size() != 19) {
    return {};
  }
  std::string iso = dateTime;
  iso[4] = '-';
  iso[7] = '-';
  iso[10] = 'T';
  const auto parsed = parseLocalTime(iso);
  if (!parsed) {
    return {};
  }
  LocalTime time = *parsed;
  if (isDigits(subSeconds)) {
    time.subSeconds = subSeconds;
  }
  if (const auto withOffset = parseLocalTime(iso + offset); !offset.empty() && withOffset) {
    time.offsetMinutes = withOffset->offsetMinutes;
  }
  return time;
}

LocalTime cameraTime(const Exiv2::ExifData& exif) {
  struct Keys {
    const char* time;
    const char* subSeconds;
    const char* offset;
  };
  constexpr std::array order = {
      Keys{"Exif.Photo.DateTimeOriginal",
           "Exif.Photo.SubSecTimeOriginal",
           "Exif.Photo.OffsetTimeOriginal"},
      Keys{"Exif.Photo.DateTimeDigitized",
           "Exif.Photo.SubSecTimeDigitized",
           "Exif.Photo.OffsetTimeDigitized"},
      Keys{"Exif.Image.DateTime", "Exif.Photo.SubSecTime", "Exif.Photo.OffsetTime"}};
  for (const Keys& keys : order) {
    const LocalTime time = timeFromExif(
        exifText(exif, keys.time), exifText(exif, keys.subSeconds), exifText(exif, keys.offset));
    if (time.isKnown()) {
      return time;
    }
  }
  return {};
}

int orientationOf(const Exiv2::ExifData& exif) {
  const std::string text = exifText(exif, "Exif.Image.Orientation");
  return text.size() == 1 && text[0] >= '1' && text[0] <= '8' ? text[0] - '0' : 1;
}

std::optional<double> focalLengthMm(const Exiv2::ExifData& exif) {
  const auto found = exif.findKey(Exiv2::ExifKey("Exif.Photo.FocalLength"));
  if (found == exif.end() || found->count() < 1) {
    return std::nullopt;
  }
  const Exiv2::Rational value = found->toRational();
  const double length = static_cast<double>(value.first) / static_cast<double>(value.second);
  return std::isfinite(length) && length > 0.0 ? std::optional{length} : std::nullopt;
}

bool hasPosition(const Exiv2::ExifData& exif, const Exiv2::XmpData& xmp) {
  const auto present = [&exif](const char* key) { return !exifText(exif, key).empty(); };
  return (present("Exif.GPSInfo.GPSLatitude") && present("Exif.GPSInfo.GPSLongitude")) ||
         xmp.findKey(Exiv2::XmpKey("Xmp.exif.GPSLatitude")) != xmp.end();
}

void addKeyword(std::vector<std::string>& keywords, const std::string& text) {
  const std::string keyword = trimmed(text);
  if (!keyword.empty() && std::ranges::find(keywords, keyword) == keywords.end()) {
    keywords.push_back(keyword);
  }
}

std::vector<std::string> keywordsOf(const Exiv2::IptcData& iptc, const Exiv2::XmpData& xmp) {
  std::vector<std::string> keywords;
  for (const auto& datum : iptc) {
    if (datum.key() == "Iptc.Application2.Keywords") {
      addKeyword(keywords, datum.toString());
    }
  }
  const auto subjects = xmp.findKey(Exiv2::XmpKey("Xmp.dc.subject"));
  for (long i = 0; subjects != xmp.end() && i < subjects->count(); ++i) {
    addKeyword(keywords, subjects->toString(i));
  }
  return keywords;
}

// Each part stands alone: damage in one does not lose the others.
void readPart(const std::function<void()>& part) {
  try {
    part();
  } catch (...) {
  }
}

void readAll(Exiv2::Image& image, PhotoMetadata& metadata) {
  const Exiv2::ExifData& exif = image.exifData();
  metadata.takenAt = cameraTime(exif);
  metadata.exifOrientation = orientationOf(exif);
  metadata.cameraMake = exifText(exif, "Exif.Image.Make");
  metadata.cameraModel = exifText(exif, "Exif.Image.Model");
  metadata.lens = exifText(exif, "Exif.Photo.LensModel");
  readPart([&] { metadata.focalLengthMm = focalLengthMm(exif); });
  readPart([&] { metadata.hasPosition = hasPosition(exif, image.xmpData()); });
  readPart([&] { metadata.keywords = keywordsOf(image.iptcData(), image.xmpData()); });
}

LocalTime fileTime(const struct stat& status) {
  std::tm local{};
  const bool isReadable = ::localtime_r(&status.st_mtim.tv_sec, &local) != nullptr;
  if (!isReadable || local.tm_year + 1900 < 1 || local.tm_year + 1900 > 9999) {
    return now();  // A date that ISO 8601 cannot hold in four digits says nothing anyway.
  }
  LocalTime time;
  time.date =
      std::chrono::year_month_day{std::chrono::year{local.tm_year + 1900},
                                  std::chrono::month{static_cast<unsigned>(local.tm_mon + 1)},
                                  std::chrono::day{static_cast<unsigned>(local.tm_mday)}};
  time.timeOfDay =
      std::chrono::seconds{(local.tm_hour * 60 + local.tm_min) * 60 + std::min(local.tm_sec, 59)};
  time.offsetMinutes = static_cast<int>(local.tm_gmtoff / 60);
  return time;
}

}  // namespace

Result<PhotoMetadata> readMetadata(const fs::path& file) {
  const auto handle = openForReading(file);
  if (!handle) {
    return handle.error();
  }
  struct stat status{};
  if (::fstat(handle->descriptor(), &status) != 0) {
    return readError(file, errno);
  }
  PhotoMetadata metadata;
  withMetadata(file, [&metadata](Exiv2::Image& image) { readAll(image, metadata); });
  metadata.dateSource = DateSource::Camera;
  if (!metadata.takenAt.isKnown()) {
    metadata.takenAt = fileTime(status);
    metadata.dateSource = DateSource::FileTime;
  }
  return metadata;
}

Result<std::optional<std::vector<std::byte>>> readThumbnail(const fs::path& file) {
  const auto handle = openForReading(file);
  if (!handle) {
    return handle.error();
  }
  std::optional<std::vector<std::byte>> bytes;
  withMetadata(file, [&bytes](Exiv2::Image& image) {
    const Exiv2::DataBuf jpeg = Exiv2::ExifThumbC(image.exifData()).copy();
    const bool isJpeg = jpeg.size_ > 3 && jpeg.pData_[0] == 0xFF && jpeg.pData_[1] == 0xD8;
    if (isJpeg) {
      const auto all = std::as_bytes(std::span(jpeg.pData_, static_cast<std::size_t>(jpeg.size_)));
      bytes.emplace(all.begin(), all.end());
    }
  });
  return bytes;
}

}  // namespace edamori::store
