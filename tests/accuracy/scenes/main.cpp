// SPDX-License-Identifier: GPL-3.0-or-later
// edamori_scene_set OUTDIR gardens|boards|changes|views tuning|calibration|held-out FIRST COUNT LONG-SIDE-PX:
// draws pictures of random looks as NNNNN.jpg and their label images as NNNNN.png; for gardens
// also the branch outlines as NNNNN.txt. Changes are pairs, NNNNN-before.jpg and NNNNN-after.jpg,
// with what is true of each branch in NNNNN.json. Views are several photos of a tree, NNNNN-K.jpg,
// with the nearness of every second pixel and row (NNNNN-K.near, float32, 1/mm, 0 backdrop) and the
// camera (NNNNN-K.txt: eye, right, up, forward, px per unit tangent, width, height, height of the soil).
#include "board.h"
#include "branch_depth.h"
#include "change.h"
#include "garden.h"
#include "picture_files.h"
#include "views.h"

#include "generator/render.h"
#include "generator/truth.h"

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <span>
#include <stdexcept>
#include <string>

#include <nlohmann/json.hpp>

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

int jpegQuality(SceneSet set, std::uint64_t index) {
  return 75 + static_cast<int>(seedOf(set, index) % 20U);
}

void drawOneGarden(const std::filesystem::path& stem, SceneSet set, std::uint64_t index, int sidePx) {
  SceneDescription scene = drawnGarden(set, index, sidePx);
  if (set == SceneSet::Tuning) {
    varyForTraining(scene);
  }
  const RenderedScene rendered = renderScene(scene);
  writePicture(stem, rendered.picture, rendered.labels, jpegQuality(set, index));
  writeOutlines(stem.string() + ".txt", scene, outlineBranches(scene, rendered));
}

void drawOneBoard(const std::filesystem::path& stem, SceneSet set, std::uint64_t index, int sidePx) {
  const DrawnPicture drawn = drawBoard(set, index, sidePx);
  // Named after its kind, so that a kind can be measured alone.
  writePicture(stem.string() + "-" + drawn.kind, drawn.picture, drawn.labels, jpegQuality(set, index));
}

nlohmann::json jsonOf(const std::vector<cv::Point2d>& polygon) {
  auto json = nlohmann::json::array();
  for (const cv::Point2d& corner : polygon) {
    json.push_back({corner.x, corner.y});
  }
  return json;
}

nlohmann::json jsonOf(const std::optional<double>& share) { return share ? nlohmann::json(*share) : nlohmann::json(); }

nlohmann::json jsonOf(const DrawnChange& change, const std::vector<BranchChange>& branches) {
  nlohmann::json json{{"happened", nameOf(change.happened)},
                      {"subject", bearsNeedles(change.before) ? "needles" : "leaf"},
                      {"branches", nlohmann::json::array()}};
  for (const BranchChange& branch : branches) {
    json["branches"].push_back({{"branch", branch.branch},
                                {"outline_before", jsonOf(branch.outlineBefore)},
                                {"outline_after", jsonOf(branch.outlineAfter)},
                                {"cover_before", branch.coverBefore},
                                {"cover_after", branch.coverAfter},
                                {"spotted_before", jsonOf(branch.spottedBefore)},
                                {"spotted_after", jsonOf(branch.spottedAfter)}});
  }
  return json;
}

void drawOneChange(const std::filesystem::path& stem, SceneSet set, std::uint64_t index, int sidePx) {
  const DrawnChange change = drawnChange(set, index, sidePx);
  const ChangePictures pictures = renderChange(change);
  writeJpeg(stem.string() + "-before.jpg", pictures.before, jpegQuality(set, index));
  writeJpeg(stem.string() + "-after.jpg", pictures.after, jpegQuality(set, index + 7));
  std::ofstream(stem.string() + ".json") << jsonOf(change, pictures.branches).dump(1) << '\n';
}

void writeNearness(const std::filesystem::path& file, const cv::Mat& nearness) {
  std::ofstream out(file, std::ios::binary);
  for (int y = 0; y < nearness.rows; y += 2) {
    for (int x = 0; x < nearness.cols; x += 2) {
      out.write(reinterpret_cast<const char*>(nearness.ptr<float>(y, x)), sizeof(float));
    }
  }
}

void writeCamera(const std::filesystem::path& file, const View& view, float soilMm) {
  std::ofstream out(file);
  for (const Vec3& axis : {view.eye, view.right, view.up, view.forward}) {
    out << axis.x << ' ' << axis.y << ' ' << axis.z << ' ';
  }
  out << view.scale << ' ' << view.width << ' ' << view.height << ' ' << soilMm << '\n';
}

void drawViews(const std::filesystem::path& stem, SceneSet set, std::uint64_t index, int sidePx) {
  int count = 0;
  for (const SceneDescription& scene : drawnViews(set, index, sidePx)) {
    const RenderedScene rendered = renderScene(scene);
    const std::string name = stem.string() + "-" + std::to_string(count++);
    writeNearness(name + ".near", rendered.nearness);
    writeCamera(name + ".txt", rendered.view, soilHeightMm(scene));
    writeJpeg(name + ".jpg", rendered.picture, jpegQuality(set, index + static_cast<std::uint64_t>(count)));
  }
}

using DrawOne = void (*)(const std::filesystem::path&, SceneSet, std::uint64_t, int);

DrawOne drawerNamed(const std::string& kind) {
  if (kind == "gardens") {
    return drawOneGarden;
  }
  if (kind == "boards") {
    return drawOneBoard;
  }
  if (kind == "changes") {
    return drawOneChange;
  }
  if (kind == "views") {
    return drawViews;
  }
  throw std::invalid_argument(kind + " is nothing that can be drawn; choose gardens, boards, changes or views");
}

void draw(std::span<char*> arguments) {
  const std::filesystem::path folder = arguments[1];
  const DrawOne drawOne = drawerNamed(arguments[2]);
  const SceneSet set = sceneSetNamed(arguments[3]);
  const std::uint64_t first = std::stoull(arguments[4]);
  const std::uint64_t count = std::stoull(arguments[5]);
  const int sidePx = std::stoi(arguments[6]);
  std::filesystem::create_directories(folder);
  for (std::uint64_t index = first; index < first + count; ++index) {
    drawOne(folder / numbered(index), set, index, sidePx);
  }
}

}  // namespace

int main(int argc, char** argv) {
  const std::span<char*> arguments(argv, static_cast<std::size_t>(argc));
  if (arguments.size() != 7) {
    std::cerr << "edamori_scene_set: usage: edamori_scene_set OUTDIR gardens|boards|changes|views "
                 "tuning|calibration|held-out FIRST COUNT LONG-SIDE-PX\n";
    return 2;
  }
  try {
    draw(arguments);
  } catch (const std::exception& error) {
    std::cerr << "edamori_scene_set: " << error.what() << '\n';
    return 5;
  }
  return 0;
}
