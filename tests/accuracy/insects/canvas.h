// SPDX-License-Identifier: GPL-3.0-or-later
// What the pieces of an insect scene are drawn on; for tests/accuracy/insects alone.
#pragma once

#include "insect_scene.h"

#include "generator/rng.h"
#include "generator/vec3.h"

#include <vector>

namespace edamori::scenes {

inline float fl(int value) { return static_cast<float>(value); }

// One pixel of what the camera sees, before light.
struct Spot {
  Vec3 albedo;
  float height = 0.0F;  // px towards the camera
  float base = 0.0F;    // px, the limb without its relief
  float gloss = 0.0F;   // strength of the highlight, 0 … 1
  float sharp = 30.0F;  // exponent of the highlight
  float glow = 0.0F;    // light gathered by a drop
  int wood = -1;        // limb it belongs to; −1: far behind
  int insect = -1;      // insect seen here
};

// A tapered limb; points in px.
struct Limb {
  float x0, y0, x1, y1;
  float radius0, radius1;
  float lift = 0.0F;  // px in front of the others
};

class Canvas {
 public:
  Canvas(int width, int height) : m_width(width), m_height(height), m_spots(static_cast<std::size_t>(width) * static_cast<std::size_t>(height)) {}
  [[nodiscard]] int width() const { return m_width; }
  [[nodiscard]] int height() const { return m_height; }
  Spot& at(int x, int y) { return m_spots[static_cast<std::size_t>(y) * static_cast<std::size_t>(m_width) + static_cast<std::size_t>(x)]; }
  [[nodiscard]] bool holds(int x, int y) const { return x >= 0 && y >= 0 && x < m_width && y < m_height; }
  // Calls fn(x, y) for the pixels of a square around a point.
  template <class Fn>
  void around(float cx, float cy, float reach, Fn&& fn) {
    const int top = std::max(0, static_cast<int>(cy - reach));
    const int bottom = std::min(m_height - 1, static_cast<int>(cy + reach) + 1);
    const int left = std::max(0, static_cast<int>(cx - reach));
    const int right = std::min(m_width - 1, static_cast<int>(cx + reach) + 1);
    for (int y = top; y <= bottom; ++y) {
      for (int x = left; x <= right; ++x) {
        fn(x, y);
      }
    }
  }

 private:
  int m_width, m_height;
  std::vector<Spot> m_spots;
};

// Smooth noise in 0 … 1 over the plane; one cell a unit.
float noiseAt(float x, float y, std::uint64_t seed);
// Sum of octaves, in about 0 … 1.
float cloudAt(float x, float y, std::uint64_t seed, int octaves);
// Distances to the nearest and second nearest of one random point per unit cell, and its hash.
struct Cell {
  float nearest = 9.0F, second = 9.0F;
  std::uint64_t key = 0;
};
Cell cellAt(float x, float y, std::uint64_t seed);

struct WoodPlan {
  BarkLook look = BarkLook::Smooth;
  std::vector<Limb> limbs;
  Vec3 colour, other;   // bark and its second colour
  float grainPx = 10.0F;
  float relief = 1.0F;
};

// wood.cpp
WoodPlan planWood(SceneSet set, BarkLook look, int width, int height, Rng& rng);
void drawBackdrop(Canvas& canvas, Rng& rng);
void drawWood(Canvas& canvas, const WoodPlan& plan, Rng& rng);

// dwellers.cpp
void drawOtherThings(Canvas& canvas, const WoodPlan& plan, SceneSet set, Rng& rng);
std::vector<TrueInsect> drawInsects(Canvas& canvas, const WoodPlan& plan, Rng& rng);
// Flakes, moss and grains over things, and what of each insect is still seen.
void drawCovers(Canvas& canvas, const WoodPlan& plan, std::vector<TrueInsect>& insects, Rng& rng);

// camera.cpp
std::vector<std::uint8_t> photographed(Canvas& canvas, Rng& rng);

}  // namespace edamori::scenes
