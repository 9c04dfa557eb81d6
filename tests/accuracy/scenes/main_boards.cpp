// SPDX-License-Identifier: GPL-3.0-or-later
// Writes drawn pictures and their labels: edamori_board_scenes OUTDIR SET FIRST COUNT [--side PX].
#include <cstdint>
#include <cstdio>
// jpeglib.h needs <cstdio> before it.
#include <cstdlib>
#include <exception>
#include <filesystem>
#include <fstream>
#include <map>
#include <stdexcept>
#include <string>
#include <vector>

#include <jpeglib.h>
#include <png.h>

#include "board.h"
#include "generator/rng.h"

namespace {

namespace fs = std::filesystem;
using namespace edamori::scenes;

void writeJpeg(const fs::path& file, const cv::Mat& picture, int quality) {
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
  jpeg_start_compress(&encoder, TRUE);
  cv::Mat rows = picture.clone();
  while (encoder.next_scanline < encoder.image_height) {
    JSAMPROW row = rows.ptr<unsigned char>(static_cast<int>(encoder.next_scanline));
    jpeg_write_scanlines(&encoder, &row, 1);
  }
  jpeg_finish_compress(&encoder);
  std::ofstream out(file, std::ios::binary);
  out.write(reinterpret_cast<const char*>(bytes), static_cast<std::streamsize>(size));
  jpeg_destroy_compress(&encoder);
  std::free(bytes);
  if (!out) {
    throw std::runtime_error("cannot write " + file.string());
  }
}

void writePng(const fs::path& file, const cv::Mat& labels) {
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  image.width = static_cast<png_uint_32>(labels.cols);
  image.height = static_cast<png_uint_32>(labels.rows);
  image.format = PNG_FORMAT_GRAY;
  if (png_image_write_to_file(&image, file.c_str(), 0, labels.data, 0, nullptr) == 0) {
    throw std::runtime_error("cannot write " + file.string() + ": " + image.message);
  }
}

int run(const std::vector<std::string>& arguments) {
  static const std::map<std::string, SceneSet> kSets{
      {"tuning", SceneSet::Tuning}, {"calibration", SceneSet::Calibration}, {"heldout", SceneSet::HeldOut}};
  const bool sideGiven = arguments.size() == 6 && arguments[4] == "--side";
  if ((arguments.size() != 4 && !sideGiven) || !kSets.contains(arguments[1])) {
    std::fputs("usage: edamori_board_scenes OUTDIR tuning|calibration|heldout FIRST COUNT [--side PX]\n", stderr);
    return 2;
  }
  const SceneSet set = kSets.at(arguments[1]);
  const std::uint64_t first = std::stoull(arguments[2]);
  const std::uint64_t count = std::stoull(arguments[3]);
  const int side = sideGiven ? std::stoi(arguments[5]) : 1024;
  if (side < 64 || side > 4096) {
    std::fputs("--side: give 64 to 4096 pixels\n", stderr);
    return 2;
  }
  const fs::path folder = arguments[0];
  fs::create_directories(folder);
  for (std::uint64_t index = first; index < first + count; ++index) {
    const DrawnPicture drawn = drawBoard(set, index, side);
    std::string name = std::to_string(index);
    name.insert(0, name.size() < 5 ? 5 - name.size() : 0, '0');
    writeJpeg(folder / (name + ".jpg"), drawn.picture, 75 + static_cast<int>(hashed(index) % 21U));
    writePng(folder / (name + ".png"), drawn.labels);
    std::printf("%s %s\n", name.c_str(), drawn.kind.c_str());
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run({argv + 1, argv + argc});
  } catch (const std::exception& error) {
    std::fprintf(stderr, "edamori_board_scenes: %s\n", error.what());
    return 1;
  }
}
