// SPDX-License-Identifier: GPL-3.0-or-later
// Sun with soft shadows, sky light dimmed by foliage and wood around, light through leaves.
#pragma once

#include <vector>

#include "generator/render.h"

namespace edamori::scenes {

// How much of the sky is seen from points around the tree, on a regular grid.
struct SkyGrid {
  Vec3 low;
  float cellMm = 10.0F;
  int nx = 1;
  int ny = 1;
  int nz = 1;
  std::vector<float> visible;  // 0 … 1
  float at(Vec3 point) const;
};

struct LightField {
  LightLook look;
  Vec3 toSun;
  View sunView;
  std::vector<float> sunKey;  // depth map of the sun's view
  SkyGrid sky;
};

// Direction from the scene towards the sun, unit.
Vec3 sunDirection(const LightLook& light);

SkyGrid buildSkyGrid(const FoliageModel& foliage, const std::vector<Mesh>& solids);

// Radiance of one sample towards the eye. `grain` varies the shadow samples from pixel to pixel.
Vec3 shade(const LightField& field, const Surface& surface, Vec3 point, Vec3 toEye, unsigned grain);

// Tilts normals by the relief of bark, soil, wood and veins.
// Source: the surface-gradient method of Mikkelsen 2010 (bump mapping unparametrised surfaces),
// from memory.
Vec3 bumpedNormal(const SurfaceBuffer& buffer, int x, int y);

}  // namespace edamori::scenes
