// SPDX-License-Identifier: GPL-3.0-or-later
// Leaves drawn from ellipses, so that every area has a formula: π · a · b.
#pragma once

#include "vision/values/raster.h"

#include <array>
#include <cstdint>
#include <vector>

namespace edamori::test {

using Colour = std::array<int, 3>;

struct Ellipse {
  double x = 0, y = 0;             // centre, px
  double halfWidth = 0, halfHeight = 0;  // px
  double turnDeg = 0;
};

[[nodiscard]] double areaPx2(const Ellipse& ellipse);

// A leaf with spots on a background; edges are antialiased over one pixel, shading and
// sensor noise (σ 2 of 255, fixed seed) are added as any photo has them.
struct DrawnLeaf {
  int width = 800, height = 600;
  Colour background{245, 245, 243};
  bool hasWoodGrain = false;       // streaks of ±12 % along x
  Ellipse leaf{400, 300, 300, 190, 15};
  Colour leafColour{66, 118, 44};
  Colour spotColour{122, 82, 36};
  std::vector<Ellipse> spots{};
  double shading = 0.15;           // light falls off by this share from left to right
};

[[nodiscard]] RgbImage draw(const DrawnLeaf& leaf);
[[nodiscard]] double leafShareOf(const DrawnLeaf& leaf);  // leaf / photo
[[nodiscard]] double spotShareOf(const DrawnLeaf& leaf);  // spots / leaf; spots must not overlap

}  // namespace edamori::test
