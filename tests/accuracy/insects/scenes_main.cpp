// SPDX-License-Identifier: GPL-3.0-or-later
// edamori_insect_scenes OUTDIR tuning|calibration|held-out FIRST COUNT WIDTH HEIGHT [THREADS]:
// draws pictures as NNNNN.ppm with their truth as NNNNN.txt: first line the bark's look, then an
// insect a line: x y radius_px visible dead(0|1).
#include "insect_scene.h"

#include <atomic>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

namespace {

using namespace edamori::scenes;

SceneSet setNamed(const std::string& name) {
  if (name == "tuning") {
    return SceneSet::Tuning;
  }
  if (name == "calibration") {
    return SceneSet::Calibration;
  }
  if (name == "held-out") {
    return SceneSet::HeldOut;
  }
  throw std::invalid_argument("no set " + name);
}

void write(const std::filesystem::path& folder, std::uint64_t index, const InsectScene& scene) {
  char name[32];
  std::snprintf(name, sizeof name, "%05llu", static_cast<unsigned long long>(index));
  std::ofstream picture(folder / (std::string(name) + ".ppm"), std::ios::binary);
  picture << "P6\n" << scene.width << ' ' << scene.height << "\n255\n";
  picture.write(reinterpret_cast<const char*>(scene.rgb.data()), static_cast<std::streamsize>(scene.rgb.size()));
  std::ofstream truth(folder / (std::string(name) + ".txt"));
  truth << nameOf(scene.look) << '\n';
  for (const TrueInsect& insect : scene.insects) {
    truth << insect.x << ' ' << insect.y << ' ' << insect.radiusPx << ' ' << insect.visible << ' ' << (insect.isDead ? 1 : 0) << '\n';
  }
}

}  // namespace

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv, argv + argc);
  if (words.size() != 7 && words.size() != 8) {
    std::cerr << "edamori_insect_scenes: usage: edamori_insect_scenes OUTDIR tuning|calibration|held-out FIRST COUNT WIDTH HEIGHT [THREADS]\n";
    return 2;
  }
  const std::filesystem::path folder = words[1];
  std::filesystem::create_directories(folder);
  const SceneSet set = setNamed(words[2]);
  const std::uint64_t first = std::stoull(words[3]);
  std::atomic<std::uint64_t> next = first;
  const std::uint64_t end = first + std::stoull(words[4]);
  const auto work = [&] {
    for (std::uint64_t index = next++; index < end; index = next++) {
      write(folder, index, drawInsectScene(set, index, std::stoi(words[5]), std::stoi(words[6])));
    }
  };
  std::vector<std::jthread> threads;
  for (int k = words.size() == 8 ? std::stoi(words[7]) : 1; k > 0; --k) {
    threads.emplace_back(work);
  }
  return 0;
}
