// SPDX-License-Identifier: GPL-3.0-or-later
// A garden with one tree of blue-violet leaves, which no network takes for foliage unless told:
// two photos, one leaf each, and strokes for the first.
#pragma once

#include "app/work/import.h"
#include "app/work/measuring.h"
#include "tests/support/matchers.h"
#include "tests/support/temporary_folder.h"
#include "tests/vision/figures/drawn_leaf.h"
#include "vision/load/load.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>
#include <string>

namespace edamori::test {

inline DrawnLeaf violetLeaf() {
  DrawnLeaf drawn;
  drawn.leafColour = {84, 74, 130};
  return drawn;
}

inline DrawnLeaf secondVioletLeaf() {
  DrawnLeaf drawn = violetLeaf();
  drawn.leaf = {420, 290, 250, 170, -25};
  drawn.leafColour = {92, 80, 138};
  drawn.shading = 0.1;
  return drawn;
}

class LeafyGarden {
 public:
  explicit LeafyGarden(const TemporaryFolder& folder)
      : garden(std::move(store::Garden::create(folder / "garden")).value()) {
    store::Tree record;
    record.id = tree;
    record.tag = "T-1";
    EXPECT_THAT(garden.put(record), isOk());
    EXPECT_THAT(garden.put(store::Branch{.id = branch,
                                         .tree = tree,
                                         .kind = store::BranchKind::Branch,
                                         .name = "first left",
                                         .order = 0}),
                isOk());
    first = outlined(folder / "first.png", draw(drawnFirst));
    second = outlined(folder / "second.png", draw(drawnSecond));
  }

  // Two along the leaf, one beside it.
  [[nodiscard]] LabelImage threeStrokes() const {
    LabelImage hints(drawnFirst.width, drawnFirst.height, 0);
    paint(hints, {400, 260, 150, 12, 0}, Hint::SoundFoliage);
    paint(hints, {400, 340, 150, 12, 0}, Hint::SoundFoliage);
    paint(hints, {60, 300, 12, 150, 0}, Hint::NotFoliage);
    return hints;
  }

  // Imports the picture and outlines all of it but its rim.
  store::OutlineId outlined(const std::filesystem::path& file, const RgbImage& image) {
    EXPECT_THAT(vision::savePicture(file, image), isOk());
    const auto report = work::importPhotos(garden, {.paths = {file}, .tree = tree});
    EXPECT_THAT(report, isOk());
    store::OutlineRecord outline;
    outline.id = store::OutlineId::create();
    outline.photo = report->takenIn.front().photo.id;
    outline.branch = branch;
    const double right = image.width(), bottom = image.height();
    outline.shape.polygon = {{0, 0}, {right, 0}, {right, bottom}, {0, bottom}};
    EXPECT_THAT(garden.put(outline), isOk());
    return outline.id;
  }

  DrawnLeaf drawnFirst = violetLeaf();
  DrawnLeaf drawnSecond = secondVioletLeaf();
  store::Garden garden;
  store::TreeId tree = store::TreeId::create();
  store::BranchId branch = store::BranchId::create();
  store::OutlineId first, second;

 private:
  static void paint(LabelImage& hints, const Ellipse& where, Hint hint) {
    for (int y = 0; y < hints.height(); ++y) {
      for (int x = 0; x < hints.width(); ++x) {
        if (std::hypot((x + 0.5 - where.x) / where.halfWidth,
                       (y + 0.5 - where.y) / where.halfHeight) < 1) {
          hints.at(x, y) = static_cast<std::uint8_t>(hint);
        }
      }
    }
  }
};

}  // namespace edamori::test
