// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/vision/figures/drawn_leaf.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

namespace edamori::test {
namespace {

// Share of the pixel at (x, y) that the ellipse covers, by distance to its edge.
double coverage(const Ellipse& e, double x, double y) {
  const double turn = e.turnDeg * std::numbers::pi / 180.0;
  const double dx = x - e.x;
  const double dy = y - e.y;
  const double along = (dx * std::cos(turn) + dy * std::sin(turn)) / e.halfWidth;
  const double across = (-dx * std::sin(turn) + dy * std::cos(turn)) / e.halfHeight;
  const double value = std::hypot(along, across);
  const double slope =
      value > 0 ? std::hypot(along / e.halfWidth, across / e.halfHeight) / value : 1.0;
  return std::clamp(0.5 - (value - 1.0) / slope, 0.0, 1.0);
}

}  // namespace

double areaPx2(const Ellipse& ellipse) {
  return std::numbers::pi * ellipse.halfWidth * ellipse.halfHeight;
}

RgbImage draw(const DrawnLeaf& leaf) {
  std::mt19937 random(7);
  RgbImage image(leaf.width, leaf.height);
  for (int y = 0; y < leaf.height; ++y) {
    for (int x = 0; x < leaf.width; ++x) {
      const double onLeaf = coverage(leaf.leaf, x + 0.5, y + 0.5);
      double onSpot = 0;
      for (const Ellipse& spot : leaf.spots) {
        onSpot = std::max(onSpot, coverage(spot, x + 0.5, y + 0.5));
      }
      const double grain =
          leaf.hasWoodGrain ? 1.0 + 0.08 * std::sin(y * 0.31 + std::sin(x * 0.01)) + 0.04 * std::sin(y * 1.7) : 1.0;
      const double light = 1.0 - leaf.shading * x / leaf.width;
      for (std::size_t c = 0; c < 3; ++c) {
        const double tissue = std::lerp(leaf.leafColour.at(c), leaf.spotColour.at(c), onSpot);
        const double value = std::lerp(leaf.background.at(c) * grain, tissue, onLeaf) * light;
        // The sum of 12 uniform numbers less 6 is nearly normal, and the same everywhere.
        double noise = -6.0;
        for (int i = 0; i < 12; ++i) {
          noise += static_cast<double>(random()) / 4294967296.0;
        }
        image.at(x, y, static_cast<int>(c)) =
            static_cast<std::uint8_t>(std::clamp(std::lround(value + 2.0 * noise), 0L, 255L));
      }
    }
  }
  return image;
}

double leafShareOf(const DrawnLeaf& leaf) {
  return areaPx2(leaf.leaf) / (static_cast<double>(leaf.width) * leaf.height);
}

double spotShareOf(const DrawnLeaf& leaf) {
  double area = 0;
  for (const Ellipse& spot : leaf.spots) {
    area += areaPx2(spot);
  }
  return area / areaPx2(leaf.leaf);
}

}  // namespace edamori::test
