// SPDX-License-Identifier: GPL-3.0-or-later
// Painted leaf blades and leaf-spot lesions, as square maps over the leaf: s across in [0, 1] with
// the midrib at 0.5, t from the stalk (0) to the tip (1).
#pragma once

#include <cstdint>
#include <vector>

#include "generator/scene.h"

namespace edamori::scenes {

inline constexpr int kLeafMapPx = 192;

// A square map sampled bilinearly.
struct LeafMap {
  std::vector<float> values =
      std::vector<float>(static_cast<std::size_t>(kLeafMapPx) * kLeafMapPx, 0.0F);
  float at(float s, float t) const;
  float& pixel(int x, int y) {
    return values[static_cast<std::size_t>(y) * kLeafMapPx + static_cast<std::size_t>(x)];
  }
  float pixel(int x, int y) const {
    return values[static_cast<std::size_t>(y) * kLeafMapPx + static_cast<std::size_t>(x)];
  }
};

struct LeafTexture {
  LeafMap cover;  // ≥ 0.5 inside the blade
  LeafMap vein;   // 0 blade … 1 middle of a vein
  LeafMap tone;   // relative brightness about 1
};

struct LesionTexture {
  LeafMap lesion;         // ≥ 0.5 necrotic
  LeafMap centre;         // 0 dark rim … 1 bleached centre
  LeafMap halo;           // 0 … 1 yellowing around the lesion
  float severity = 0.0F;  // necrotic share of the blade
};

// The four shapes of one species; kind must be a leaf or, for petals, PetalShape below.
std::vector<LeafTexture> paintLeaves(FoliageKind kind, std::uint64_t seed);
LeafTexture paintPetal(std::uint64_t seed);

// Lesion maps over the given blade, of rising severity from about 0.01 to 0.45.
std::vector<LesionTexture> paintLesions(const LeafTexture& leaf, std::uint64_t seed);

}  // namespace edamori::scenes
