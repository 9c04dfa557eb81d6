// SPDX-License-Identifier: GPL-3.0-or-later
// edamori_garden_scenes OUTDIR tuning|calibration|held-out FIRST COUNT LONG-SIDE-PX: draws trees of
// random looks as NNNNN.jpg, their label images NNNNN.png and branch outlines NNNNN.txt.
#include "garden.h"
#include "picture_files.h"

#include "generator/render.h"
#include "generator/truth.h"

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <span>
#include <stdexcept>
#include <string>

namespace {

using namespace edamori::scenes;

// First line: leaf or needles. Then a line an outline: its corners as x,y.
void writeOutlines(const std::filesystem::path& file,
                   const SceneDescription& scene,
                   const std::vector<BranchOutline>& outlines) {
  std::ofstream out(file);
  out << (bearsNeedles(scene) ? "needles" : "leaf") << '\n';
  for (const BranchOutline& outline : outlines) {
    if (outline.branch == scene.tree.trunkName) {
      continue;
    }
    for (const cv::Point& corner : outline.polygon) {
      out << corner.x << ',' << corner.y << ' ';
    }
    out << '\n';
  }
}

void draw(std::span<char*> arguments) {
  const std::filesystem::path folder = arguments[1];
  const SceneSet set = sceneSetNamed(arguments[2]);
  const std::uint64_t first = std::stoull(arguments[3]);
  const std::uint64_t count = std::stoull(arguments[4]);
  const int sidePx = std::stoi(arguments[5]);
  std::filesystem::create_directories(folder);
  for (std::uint64_t index = first; index < first + count; ++index) {
    const SceneDescription scene = drawnGarden(set, index, sidePx);
    const RenderedScene rendered = renderScene(scene);
    const std::filesystem::path stem = folder / numbered(index);
    writePicture(stem, rendered.picture, rendered.labels, 75 + static_cast<int>(seedOf(set, index) % 20U));
    writeOutlines(stem.string() + ".txt", scene, outlineBranches(scene, rendered));
  }
}

}  // namespace

int main(int argc, char** argv) {
  const std::span<char*> arguments(argv, static_cast<std::size_t>(argc));
  if (arguments.size() != 6) {
    std::cerr << "edamori_garden_scenes: usage: edamori_garden_scenes OUTDIR "
                 "tuning|calibration|held-out FIRST COUNT LONG-SIDE-PX\n";
    return 2;
  }
  try {
    draw(arguments);
  } catch (const std::exception& error) {
    std::cerr << "edamori_garden_scenes: " << error.what() << '\n';
    return 5;
  }
  return 0;
}
