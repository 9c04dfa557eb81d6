// SPDX-License-Identifier: GPL-3.0-or-later
// How many scale insects findScaleInsects() finds on drawn wood, and how many that are none.
// edamori_insect_accuracy --set tuning|calibration|held-out [--from N] [--count N]
//                         [--size WxH] [--at SCORE]
//                         [--photos DIR TRUTH-DIR]  (sample-images, instead of a set)
// Prints Markdown. --fit prints Platt's two numbers for the set's answers instead.
#include "insect_scene.h"
#include "judged.h"

#include "vision/load/load.h"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <map>
#include <optional>
#include <stdexcept>
#include <string>
#include <vector>

namespace {

using namespace edamori;
using accuracy::Judged;

struct Options {
  scenes::SceneSet set = scenes::SceneSet::HeldOut;
  std::string setName = "held-out";
  std::uint64_t from = 0, count = 100;
  int width = 1024, height = 768;
  double at = 0.5;
  std::filesystem::path photos, truths;
  bool fits = false;
};

Options read(const std::vector<std::string>& words) {
  Options options;
  for (std::size_t i = 0; i < words.size(); ++i) {
    const auto next = [&] { return words.at(++i); };
    if (words[i] == "--set") {
      options.setName = next();
      options.set = scenes::sceneSetNamed(options.setName);
    } else if (words[i] == "--from") {
      options.from = std::stoull(next());
    } else if (words[i] == "--count") {
      options.count = std::stoull(next());
    } else if (words[i] == "--at") {
      options.at = std::stod(next());
    } else if (words[i] == "--fit") {
      options.fits = true;
    } else if (words[i] == "--size") {
      const std::string size = next();
      options.width = std::stoi(size);
      options.height = std::stoi(size.substr(size.find('x') + 1));
    } else if (words[i] == "--photos") {
      options.photos = next();
      options.truths = next();
    } else {
      throw std::invalid_argument("unknown argument " + words[i]);
    }
  }
  return options;
}

struct Results {
  std::vector<Judged> all;
  std::map<std::string, std::vector<Judged>> byLook;
  double seconds = 0.0, megapixels = 0.0;
};

void add(Results& results, const std::string& look, const RgbImage& photo,
         const std::vector<scenes::TrueInsect>& truth) {
  const auto start = std::chrono::steady_clock::now();
  const auto found = vision::findScaleInsects(photo, {.outlines = {}, .sizes = {}, .leastScore = 0.02, .goOn = {}});
  if (!found) {
    throw std::runtime_error(found.error().message);
  }
  results.seconds += std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  results.megapixels += static_cast<double>(photo.pixelCount()) / 1e6;
  results.all.push_back(accuracy::judged(*found, truth));
  results.byLook[look].push_back(results.all.back());
}

// As a camera would hand it over: through JPEG.
RgbImage compressed(const scenes::InsectScene& scene, std::uint64_t index) {
  RgbImage image(scene.width, scene.height);
  std::copy(scene.rgb.begin(), scene.rgb.end(), image.data());
  const auto bytes = vision::encodeJpeg(image, 72 + static_cast<int>(index * 7 % 24));
  return vision::decodePhoto(*bytes, "scene").value().image;
}

Results onScenes(const Options& options) {
  Results results;
  for (std::uint64_t index = options.from; index < options.from + options.count; ++index) {
    const auto scene = scenes::drawInsectScene(options.set, index, options.width, options.height);
    add(results, scenes::nameOf(scene.look), compressed(scene, index), scene.insects);
  }
  return results;
}

std::vector<scenes::TrueInsect> scaleInsectsIn(const std::filesystem::path& file) {
  std::ifstream stream(file);
  const auto json = nlohmann::json::parse(stream);
  std::vector<scenes::TrueInsect> insects;
  for (const auto& insect : json.at("marks")) {
    if (insect.at("finding") == "scale insect" && insect.at("kind") == "dot") {
      insects.push_back({.x = insect.at("x").get<float>(),
                         .y = insect.at("y").get<float>(),
                         .radiusPx = std::max(2.0F, insect.at("radius_px").get<float>())});
    }
  }
  return insects;
}

Results onPhotos(const Options& options) {
  Results results;
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(options.photos)) {
    files.push_back(entry.path());
  }
  std::ranges::sort(files);
  for (const auto& file : files) {
    const auto truth = options.truths / (file.stem().string() + ".json");
    if (file.extension() != ".jpg" || !std::filesystem::exists(truth)) {
      continue;
    }
    std::ifstream stream(truth);
    const int orientation = nlohmann::json::parse(stream).value("orientation", 1);
    const auto photo = vision::loadPhoto(file, {.exifOrientation = orientation});
    if (!photo) {
      throw std::runtime_error(photo.error().message);
    }
    const auto insects = scaleInsectsIn(truth);
    add(results, insects.empty() ? "without insects" : file.stem().string(), photo->image, insects);
  }
  return results;
}

void printRow(const std::string& name, const accuracy::Totals& t) {
  std::printf("| %s | %d | %d | %.3f | %.2f | %.3f | %d | %.2f |\n", name.c_str(), t.photos, t.mustFind, t.recall(),
              t.falsePerTrue(), t.precision(), t.barePhotos, t.falsePerBarePhoto());
}

void printTables(const Results& results, double at) {
  std::printf("At a score of %.2f:\n\n| bark | photos | insects | recall | false per true | precision | bare photos | false per bare photo |\n|---|---|---|---|---|---|---|---|\n", at);
  for (const auto& [look, photos] : results.byLook) {
    printRow(look, accuracy::totalsAt(photos, at));
  }
  printRow("all", accuracy::totalsAt(results.all, at));
  std::printf("\n| score | recall | false per true | precision | false per bare photo |\n|---|---|---|---|---|\n");
  for (const double score : {0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9}) {
    const auto t = accuracy::totalsAt(results.all, score);
    std::printf("| %.2f | %.3f | %.2f | %.3f | %.2f |\n", score, t.recall(), t.falsePerTrue(), t.precision(), t.falsePerBarePhoto());
  }
  std::printf("\n| mean score | answers | share that are insects |\n|---|---|---|\n");
  for (const auto& bin : accuracy::calibrationOf(results.all)) {
    if (bin.answers > 0) {
      std::printf("| %.2f | %d | %.2f |\n", bin.meanScore, bin.answers, static_cast<double>(bin.right) / bin.answers);
    }
  }
  double off = 0.0;
  int count = 0;
  for (const Judged& photo : results.all) {
    for (std::size_t k = 0; k < photo.right.size(); ++k) {
      if (photo.right[k] >= at) {
        off += std::abs(std::log2(photo.rightRadius[k] / photo.trueRadius[k]));
        ++count;
      }
    }
  }
  std::printf("\nRadius off by a factor of %.2f on the mean (geometric). %.2f s a megapixel.\n",
              std::exp2(count > 0 ? off / count : 0.0), results.seconds / results.megapixels);
}

// Newton's method on the log-likelihood of logit(score) -> right or false.
void printFit(const Results& results) {
  std::vector<std::pair<double, double>> pairs;
  for (const Judged& photo : results.all) {
    const auto logit = [](double s) { return std::log(std::clamp(s, 1e-6, 1 - 1e-6) / (1 - std::clamp(s, 1e-6, 1 - 1e-6))); };
    for (const double score : photo.right) {
      pairs.emplace_back(logit(score), 1.0);
    }
    for (const double score : photo.falseOnes) {
      pairs.emplace_back(logit(score), 0.0);
    }
  }
  double a = 1.0, b = 0.0;
  for (int step = 0; step < 50; ++step) {
    double ga = 0, gb = 0, haa = 1e-9, hab = 0, hbb = 1e-9;
    for (const auto& [x, y] : pairs) {
      const double p = 1.0 / (1.0 + std::exp(-(a * x + b)));
      const double w = p * (1 - p);
      ga += (y - p) * x;
      gb += y - p;
      haa += w * x * x;
      hab += w * x;
      hbb += w;
    }
    const double det = haa * hbb - hab * hab;
    a += (hbb * ga - hab * gb) / det;
    b += (haa * gb - hab * ga) / det;
  }
  std::printf("%zu answers: new logit = %.4f * logit + %.4f\n", pairs.size(), a, b);
}

}  // namespace

int main(int argc, char** argv) {
  try {
    const Options options = read({argv + 1, argv + argc});
    const Results results = options.photos.empty() ? onScenes(options) : onPhotos(options);
    if (options.fits) {
      printFit(results);
    } else {
      printTables(results, options.at);
    }
  } catch (const std::exception& error) {
    std::cerr << "edamori_insect_accuracy: " << error.what() << '\n';
    return 2;
  }
  return 0;
}
