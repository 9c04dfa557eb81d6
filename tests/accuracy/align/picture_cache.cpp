// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/accuracy/align/picture_cache.h"

#include "generator/render.h"

#include <algorithm>
#include <fstream>
#include <stdexcept>

namespace edamori::accuracy {

namespace {

// Portable pixmap, binary (Netpbm "P6").
RgbImage readPixmap(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::string magic;
  int width = 0;
  int height = 0;
  int most = 0;
  if (!(in >> magic >> width >> height >> most) || magic != "P6" || most != 255 || width <= 0 ||
      height <= 0 || in.get() != '\n') {
    return {};
  }
  RgbImage image(width, height);
  in.read(reinterpret_cast<char*>(image.data()), static_cast<std::streamsize>(image.byteCount()));
  return in ? std::move(image) : RgbImage();
}

void writePixmap(const std::filesystem::path& file, const RgbImage& image) {
  const std::filesystem::path part = file.string() + ".part";
  {
    std::ofstream out(part, std::ios::binary);
    out << "P6\n" << image.width() << ' ' << image.height() << "\n255\n";
    out.write(reinterpret_cast<const char*>(image.data()),
              static_cast<std::streamsize>(image.byteCount()));
    if (!out.flush()) {
      throw std::runtime_error("cannot write " + part.string());
    }
  }
  std::filesystem::rename(part, file);
}

RgbImage drawn(const scenes::SceneDescription& scene) {
  const cv::Mat picture = scenes::renderScene(scene).picture;
  RgbImage image(picture.cols, picture.rows);
  for (int y = 0; y < picture.rows; ++y) {
    const unsigned char* row = picture.ptr<unsigned char>(y);
    std::copy_n(row, image.bytesPerRow(), image.row(y));
  }
  return image;
}

}  // namespace

PictureCache::PictureCache(std::filesystem::path folder) : m_folder(std::move(folder)) {
  std::filesystem::create_directories(m_folder);
}

const RgbImage& PictureCache::picture(const std::string& name,
                                      const scenes::SceneDescription& scene) {
  const auto held = m_held.find(name);
  if (held != m_held.end()) {
    return held->second;
  }
  const std::filesystem::path file = m_folder / (name + ".ppm");
  RgbImage image = readPixmap(file);
  if (image.isEmpty()) {
    image = drawn(scene);
    writePixmap(file, image);
  }
  return m_held.emplace(name, std::move(image)).first->second;
}

}  // namespace edamori::accuracy
