// SPDX-License-Identifier: GPL-3.0-or-later
// edamori_insect_scenes OUTDIR tuning|calibration|held-out FIRST COUNT WIDTH HEIGHT [THREADS]:
// draws pictures as NNNNN.ppm with their truth as NNNNN.txt: first line the bark's look, then an
// insect a line: x y radius_px visible dead(0|1).
#include "insect_scene.h"

#include <atomic>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

namespace {

using namespace edamori::scenes;

void write(const std::filesystem::path& folder, std::uint64_t index, const InsectScene& scene) {
  const std::string name = numbered(index);
  std::ofstream picture(folder / (name + ".ppm"), std::ios::binary);
  picture << "P6\n" << scene.width << ' ' << scene.height << "\n255\n";
  picture.write(reinterpret_cast<const char*>(scene.rgb.data()), static_cast<std::streamsize>(scene.rgb.size()));
  std::ofstream truth(folder / (name + ".txt"));
  truth << nameOf(scene.look) << '\n';
  for (const TrueInsect& insect : scene.insects) {
    truth << insect.x << ' ' << insect.y << ' ' << insect.radiusPx << ' ' << insect.visible << ' ' << (insect.isDead ? 1 : 0) << '\n';
  }
}

void draw(const std::vector<std::string>& words) {
  const std::filesystem::path folder = words[1];
  const SceneSet set = sceneSetNamed(words[2]);
  const std::uint64_t first = std::stoull(words[3]);
  const std::uint64_t end = first + std::stoull(words[4]);
  const int widthPx = std::stoi(words[5]);
  const int heightPx = std::stoi(words[6]);
  std::filesystem::create_directories(folder);
  std::atomic<std::uint64_t> next = first;
  const auto work = [&] {
    for (std::uint64_t index = next++; index < end; index = next++) {
      write(folder, index, drawInsectScene(set, index, widthPx, heightPx));
    }
  };
  std::vector<std::jthread> threads;
  for (int k = words.size() == 8 ? std::stoi(words[7]) : 1; k > 0; --k) {
    threads.emplace_back(work);
  }
}

}  // namespace

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv, argv + argc);
  if (words.size() != 7 && words.size() != 8) {
    std::cerr << "edamori_insect_scenes: usage: edamori_insect_scenes OUTDIR tuning|calibration|held-out FIRST COUNT WIDTH HEIGHT [THREADS]\n";
    return 2;
  }
  try {
    draw(words);
  } catch (const std::exception& error) {
    std::cerr << "edamori_insect_scenes: " << error.what() << '\n';
    return 5;
  }
  return 0;
}
