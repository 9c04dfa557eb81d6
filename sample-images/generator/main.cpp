// SPDX-License-Identifier: GPL-3.0-or-later
// edamori_sample_generator OUTDIR [STEM-PREFIX…]: draws the demo's photographs and writes them with
// their truth.
#include <exception>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <span>
#include <stdexcept>
#include <string>
#include <vector>

#include "generator/files.h"
#include "generator/garden_record.h"
#include "generator/render.h"
#include "generator/story.h"

namespace {

using namespace edamori::scenes;
namespace fs = std::filesystem;

void writeText(const fs::path& file, const std::string& text) {
  std::ofstream out(file, std::ios::binary);
  out << text;
  if (!out.flush()) {
    throw std::runtime_error("cannot write " + file.string());
  }
}

bool isWanted(const std::string& stem, const std::vector<std::string>& prefixes) {
  for (const std::string& prefix : prefixes) {
    if (stem.rfind(prefix, 0) == 0) {
      return true;
    }
  }
  return prefixes.empty();
}

// Photos whose stem starts with one of the prefixes, or all.
void generate(const fs::path& folder, const std::vector<std::string>& prefixes) {
  fs::create_directories(folder / "truth");
  fs::create_directories(folder / "photos");
  const Story story = tellStory();
  writeText(folder / "garden.json", gardenText(story));
  for (const StoryPhoto& photo : story.photos) {
    if (!isWanted(photo.stem, prefixes)) {
      continue;
    }
    const RenderedScene rendered = renderScene(photo.scene);
    writePhoto(folder / "photos" / (photo.stem + ".jpg"), rendered.picture, photo);
    writeLabels(folder / "truth" / (photo.stem + ".png"), rendered.labels);
    writeText(folder / "truth" / (photo.stem + ".json"), truthText(story, photo, rendered));
    std::cout << photo.stem << std::endl;
  }
}

}  // namespace

int main(int argc, char** argv) {
  const std::span<char*> arguments(argv, static_cast<std::size_t>(argc));
  if (arguments.size() < 2) {
    std::cerr << "edamori_sample_generator: no folder given; usage: edamori_sample_generator "
                 "OUTDIR [STEM-PREFIX…]\n";
    return 2;
  }
  try {
    generate(arguments[1], {arguments.begin() + 2, arguments.end()});
  } catch (const std::exception& error) {
    std::cerr << "edamori_sample_generator: " << error.what() << '\n';
    return 5;
  }
  return 0;
}
