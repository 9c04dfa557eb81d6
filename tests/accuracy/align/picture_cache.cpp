// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/accuracy/align/picture_cache.h"

#include "generator/render.h"

#include <algorithm>
#include <array>
#include <cstdint>
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

// The file is there whole or not at all.
template <typename Write>
void writeWhole(const std::filesystem::path& file, const Write& write) {
  const std::filesystem::path part = file.string() + ".part";
  {
    std::ofstream out(part, std::ios::binary);
    write(out);
    if (!out.flush()) {
      throw std::runtime_error("cannot write " + part.string());
    }
  }
  std::filesystem::rename(part, file);
}

void writePixmap(const std::filesystem::path& file, const RgbImage& image) {
  writeWhole(file, [&image](std::ofstream& out) {
    out << "P6\n" << image.width() << ' ' << image.height() << "\n255\n";
    out.write(reinterpret_cast<const char*>(image.data()), static_cast<std::streamsize>(image.byteCount()));
  });
}

cv::Mat readNearness(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::array<std::int32_t, 2> size{};
  if (!in.read(reinterpret_cast<char*>(size.data()), sizeof size)) {
    return {};
  }
  cv::Mat nearness(size[0], size[1], CV_32F);
  in.read(reinterpret_cast<char*>(nearness.data), static_cast<std::streamsize>(nearness.total() * sizeof(float)));
  return in ? nearness : cv::Mat();
}

void writeNearness(const std::filesystem::path& file, const cv::Mat& nearness) {
  writeWhole(file, [&nearness](std::ofstream& out) {
    const std::array<std::int32_t, 2> size{nearness.rows, nearness.cols};
    out.write(reinterpret_cast<const char*>(size.data()), sizeof size);
    out.write(reinterpret_cast<const char*>(nearness.data),
              static_cast<std::streamsize>(nearness.total() * sizeof(float)));
  });
}

RgbImage imageOf(const cv::Mat& picture) {
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

void PictureCache::draw(const std::string& name, const scenes::SceneDescription& scene) {
  const scenes::RenderedScene rendered = scenes::renderScene(scene);
  RgbImage image = imageOf(rendered.picture);
  writePixmap(m_folder / (name + ".ppm"), image);
  writeNearness(m_folder / (name + ".near"), rendered.nearness);
  m_held.insert_or_assign(name, std::move(image));
  m_nearness.insert_or_assign(name, rendered.nearness);
}

const RgbImage& PictureCache::picture(const std::string& name, const scenes::SceneDescription& scene) {
  const auto held = m_held.find(name);
  if (held != m_held.end()) {
    return held->second;
  }
  RgbImage image = readPixmap(m_folder / (name + ".ppm"));
  if (image.isEmpty()) {
    draw(name, scene);
    return m_held.at(name);
  }
  return m_held.emplace(name, std::move(image)).first->second;
}

const cv::Mat& PictureCache::nearness(const std::string& name, const scenes::SceneDescription& scene) {
  if (!m_nearness.contains(name)) {
    cv::Mat nearness = readNearness(m_folder / (name + ".near"));
    if (nearness.empty()) {
      draw(name, scene);
    } else {
      m_nearness.emplace(name, nearness);
    }
  }
  return m_nearness.at(name);
}

}  // namespace edamori::accuracy
