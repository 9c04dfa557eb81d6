// SPDX-License-Identifier: GPL-3.0-or-later
// Smooth random fields over space, for bark, soil, wood, glaze and mottled leaves.
#pragma once

#include "generator/vec3.h"

namespace edamori::scenes {

// Value noise in [0, 1] with features about one unit wide; the same point always gives the same
// value.
float valueNoise(Vec3 point);

// Sum of octaves of value noise, each at twice the frequency and half the weight, scaled to [0, 1].
float fractalNoise(Vec3 point, int octaves);

// Cell noise: distances to the nearest and second nearest of one random point per unit cell
// (Worley 1996), and a random number of the nearest cell.
struct CellNoise {
  float nearest = 0.0F;
  float second = 0.0F;
  float cellValue = 0.0F;
};
CellNoise cellNoise(Vec3 point);

}  // namespace edamori::scenes
