// SPDX-License-Identifier: GPL-3.0-or-later
#include "picture_files.h"

#include <cstdio>
#include <fstream>
#include <memory>
#include <stdexcept>
#include <vector>

#include <jpeglib.h>
#include <png.h>

namespace edamori::scenes {
namespace {

// The simplified interface of libpng knows its own errors; no longjmp crosses our frames.
void writePng(const std::string& file, const cv::Mat& labels) {
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  image.width = static_cast<png_uint_32>(labels.cols);
  image.height = static_cast<png_uint_32>(labels.rows);
  image.format = PNG_FORMAT_GRAY;
  if (png_image_write_to_file(&image, file.c_str(), 0, labels.data,
                              static_cast<png_int_32>(labels.step), nullptr) == 0) {
    throw std::runtime_error("cannot write " + file + ": " + image.message);
  }
}

}  // namespace

void writeJpeg(const std::string& file, const cv::Mat& picture, int quality) {
  const std::unique_ptr<std::FILE, int (*)(std::FILE*)> out(std::fopen(file.c_str(), "wb"),
                                                            &std::fclose);
  if (!out) {
    throw std::runtime_error("cannot write " + file);
  }
  jpeg_compress_struct jpeg{};
  jpeg_error_mgr errors{};
  jpeg.err = jpeg_std_error(&errors);
  jpeg_create_compress(&jpeg);
  jpeg_stdio_dest(&jpeg, out.get());
  jpeg.image_width = static_cast<JDIMENSION>(picture.cols);
  jpeg.image_height = static_cast<JDIMENSION>(picture.rows);
  jpeg.input_components = 3;
  jpeg.in_color_space = JCS_RGB;
  jpeg_set_defaults(&jpeg);
  jpeg_set_quality(&jpeg, quality, TRUE);
  jpeg_start_compress(&jpeg, TRUE);
  while (jpeg.next_scanline < jpeg.image_height) {
    JSAMPROW row = const_cast<JSAMPROW>(picture.ptr<JSAMPLE>(static_cast<int>(jpeg.next_scanline)));
    jpeg_write_scanlines(&jpeg, &row, 1);
  }
  jpeg_finish_compress(&jpeg);
  jpeg_destroy_compress(&jpeg);
}

void writePicture(const std::filesystem::path& stem,
                  const cv::Mat& picture,
                  const cv::Mat& labels,
                  int jpegQuality) {
  writeJpeg(stem.string() + ".jpg", picture, jpegQuality);
  writePng(stem.string() + ".png", labels);
}

}  // namespace edamori::scenes
