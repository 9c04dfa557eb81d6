// SPDX-License-Identifier: GPL-3.0-or-later
#include "generator/files.h"

#include <cstdio>
// jpeglib.h needs <cstdio> before it.
#include <cstdlib>
#include <fstream>
#include <memory>
#include <stdexcept>
#include <vector>

#include <exiv2/exiv2.hpp>
#include <jpeglib.h>
#include <opencv2/imgproc.hpp>
#include <png.h>

namespace edamori::scenes {
namespace {

constexpr std::size_t kLargestPhotoBytes = 600'000;

std::vector<unsigned char> encodeJpeg(const cv::Mat& picture, int quality) {
  jpeg_compress_struct encoder{};
  jpeg_error_mgr errors{};
  encoder.err = jpeg_std_error(&errors);
  jpeg_create_compress(&encoder);
  unsigned char* bytes = nullptr;
  unsigned long size = 0;
  jpeg_mem_dest(&encoder, &bytes, &size);
  encoder.image_width = static_cast<JDIMENSION>(picture.cols);
  encoder.image_height = static_cast<JDIMENSION>(picture.rows);
  encoder.input_components = 3;
  encoder.in_color_space = JCS_RGB;
  jpeg_set_defaults(&encoder);
  jpeg_set_quality(&encoder, quality, TRUE);
  encoder.optimize_coding = TRUE;
  jpeg_start_compress(&encoder, TRUE);
  cv::Mat rows = picture.clone();
  while (encoder.next_scanline < encoder.image_height) {
    JSAMPROW row = rows.ptr<unsigned char>(static_cast<int>(encoder.next_scanline));
    jpeg_write_scanlines(&encoder, &row, 1);
  }
  jpeg_finish_compress(&encoder);
  std::vector<unsigned char> result(bytes, bytes + size);
  std::free(bytes);
  jpeg_destroy_compress(&encoder);
  return result;
}

// The best quality that keeps the set of photographs small enough for the repository.
std::vector<unsigned char> encodeWithinBudget(const cv::Mat& picture) {
  std::vector<unsigned char> bytes;
  for (const int quality : {92, 89, 86, 83, 80, 77, 74, 71, 68, 65, 62}) {
    bytes = encodeJpeg(picture, quality);
    if (bytes.size() <= kLargestPhotoBytes) {
      break;
    }
  }
  return bytes;
}

// Pixels as stored, so that a reader who applies the orientation gets the upright picture.
cv::Mat turned(const cv::Mat& picture, int orientation) {
  cv::Mat result = picture;
  if (orientation == 6) {
    cv::rotate(picture, result, cv::ROTATE_90_COUNTERCLOCKWISE);
  } else if (orientation == 8) {
    cv::rotate(picture, result, cv::ROTATE_90_CLOCKWISE);
  } else if (orientation == 3) {
    cv::rotate(picture, result, cv::ROTATE_180);
  }
  return result;
}

std::string exifTime(const std::string& iso) {
  std::string text = iso;
  text[4] = ':';
  text[7] = ':';
  text[10] = ' ';
  return text;
}

void setDates(Exiv2::ExifData& exif, const StoryPhoto& photo) {
  if (photo.takenAt.empty()) {
    return;
  }
  for (const char* key :
       {"Exif.Image.DateTime", "Exif.Photo.DateTimeOriginal", "Exif.Photo.DateTimeDigitized"}) {
    exif[key] = exifTime(photo.takenAt);
  }
  exif["Exif.Photo.SubSecTimeOriginal"] = photo.subSecond;
  if (!photo.offset.empty()) {
    exif["Exif.Photo.OffsetTime"] = photo.offset;
    exif["Exif.Photo.OffsetTimeOriginal"] = photo.offset;
  }
}

Exiv2::ExifData exifOf(const StoryPhoto& photo, const cv::Mat& stored) {
  Exiv2::ExifData exif;
  exif["Exif.Image.Make"] = std::string("Sample");
  exif["Exif.Image.Model"] = std::string("Phone 1");
  exif["Exif.Image.Orientation"] = static_cast<std::uint16_t>(photo.orientation);
  exif["Exif.Image.XResolution"] = Exiv2::URational(72, 1);
  exif["Exif.Image.YResolution"] = Exiv2::URational(72, 1);
  exif["Exif.Image.ResolutionUnit"] = std::uint16_t{2};
  exif["Exif.Image.Software"] = std::string("edamori_sample_generator");
  Exiv2::ExifKey versionKey("Exif.Photo.ExifVersion");
  const Exiv2::Value::AutoPtr version = Exiv2::Value::create(Exiv2::undefined);
  version->read("48 50 51 50");
  exif.add(versionKey, version.get());
  const Exiv2::Value::AutoPtr components = Exiv2::Value::create(Exiv2::undefined);
  components->read("1 2 3 0");
  exif.add(Exiv2::ExifKey("Exif.Photo.ComponentsConfiguration"), components.get());
  exif["Exif.Photo.FocalLength"] = Exiv2::URational(photo.view == "close-up" ? 69 : 57, 10);
  exif["Exif.Photo.FNumber"] = Exiv2::URational(18, 10);
  exif["Exif.Photo.ExposureTime"] =
      Exiv2::URational(1, photo.scene.camera.noise > 1.3F ? 120 : 640);
  exif["Exif.Photo.ISOSpeedRatings"] =
      static_cast<std::uint16_t>(photo.scene.camera.noise > 1.3F ? 160 : 64);
  exif["Exif.Photo.ColorSpace"] = std::uint16_t{1};
  exif["Exif.Photo.PixelXDimension"] = static_cast<std::uint32_t>(stored.cols);
  exif["Exif.Photo.PixelYDimension"] = static_cast<std::uint32_t>(stored.rows);
  setDates(exif, photo);
  if (photo.hasPosition) {  // a point in the open ocean
    exif["Exif.GPSInfo.GPSLatitudeRef"] = std::string("S");
    exif["Exif.GPSInfo.GPSLatitude"] = std::string("41/1 30/1 0/1");
    exif["Exif.GPSInfo.GPSLongitudeRef"] = std::string("W");
    exif["Exif.GPSInfo.GPSLongitude"] = std::string("28/1 15/1 0/1");
  }
  if (photo.hasThumbnail) {
    constexpr int kThumbnailPx = 160;
    const double scale = static_cast<double>(kThumbnailPx) / std::max(stored.cols, stored.rows);
    cv::Mat small;
    cv::resize(stored, small, {}, scale, scale, cv::INTER_AREA);
    const std::vector<unsigned char> bytes = encodeJpeg(small, 80);
    Exiv2::ExifThumb(exif).setJpegThumbnail(bytes.data(), static_cast<long>(bytes.size()));
  }
  return exif;
}

struct FileCloser {
  void operator()(std::FILE* file) const { static_cast<void>(std::fclose(file)); }
};

}  // namespace

void writePhoto(const std::filesystem::path& file,
                const cv::Mat& picture,
                const StoryPhoto& photo) {
  const cv::Mat stored = turned(picture, photo.orientation);
  const std::vector<unsigned char> jpeg = encodeWithinBudget(stored);
  const Exiv2::Image::AutoPtr image =
      Exiv2::ImageFactory::open(jpeg.data(), static_cast<long>(jpeg.size()));
  image->setExifData(exifOf(photo, stored));
  image->writeMetadata();
  Exiv2::BasicIo& io = image->io();
  if (io.open() != 0) {
    throw std::runtime_error("cannot read back the picture for " + file.string());
  }
  const Exiv2::DataBuf bytes = io.read(static_cast<long>(io.size()));
  std::ofstream out(file, std::ios::binary);
  out.write(reinterpret_cast<const char*>(bytes.pData_), bytes.size_);
  if (!out.flush()) {
    throw std::runtime_error("cannot write " + file.string());
  }
}

void writeLabels(const std::filesystem::path& file, const cv::Mat& labels) {
  const std::unique_ptr<std::FILE, FileCloser> out(std::fopen(file.c_str(), "wb"));
  png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
  png_infop info = png != nullptr ? png_create_info_struct(png) : nullptr;
  if (!out || info == nullptr) {
    png_destroy_write_struct(&png, &info);
    throw std::runtime_error("cannot write " + file.string());
  }
  // Rows are prepared before setjmp, so that nothing with a destructor lies between it and a
  // longjmp.
  const cv::Mat image = labels.clone();
  std::vector<png_const_bytep> rows;
  for (int y = 0; y < image.rows; ++y) {
    rows.push_back(image.ptr<unsigned char>(y));
  }
  if (setjmp(png_jmpbuf(png)) != 0) {
    png_destroy_write_struct(&png, &info);
    throw std::runtime_error("cannot write " + file.string());
  }
  png_init_io(png, out.get());
  png_set_compression_level(png, 9);
  png_set_filter(png, 0, PNG_FILTER_NONE);
  png_set_IHDR(png,
               info,
               static_cast<png_uint_32>(image.cols),
               static_cast<png_uint_32>(image.rows),
               8,
               PNG_COLOR_TYPE_GRAY,
               PNG_INTERLACE_NONE,
               PNG_COMPRESSION_TYPE_DEFAULT,
               PNG_FILTER_TYPE_DEFAULT);
  png_write_info(png, info);
  for (const png_const_bytep row : rows) {
    png_write_row(png, row);
  }
  png_write_end(png, nullptr);
  png_destroy_write_struct(&png, &info);
}

}  // namespace edamori::scenes
