// SPDX-License-Identifier: GPL-3.0-or-later
// Triangle meshes of wood, pot, soil and bench.
#pragma once

#include <vector>

#include "generator/foliage.h"
#include "generator/scene.h"
#include "generator/skeleton.h"

namespace edamori::scenes {

enum class Material { Nothing, Bark, Twig, Pot, Soil, Wood, ScaleInsect, Aphid, Blade, Needle };

struct Vertex {
  Vec3 position;
  Vec3 normal;
  Vec3 grain;  // material coordinates (mm): y along the fibres; texture moves with the part
};

struct Mesh {
  std::vector<Vertex> vertices;
  std::vector<int> corners;  // three per triangle
  Material material = Material::Nothing;
  int object = 0;  // 0 scenery, else 1 + index of the insect
  Vec3 colour{1.0F, 1.0F, 1.0F};
};

// Distance of the bark from the trunk's centre line at t in [0, 1], towards the angle (rad; 0
// right, π/2 the viewer).
float trunkSurfaceMm(const TreeHabit& habit, const Skeleton& skeleton, float t, float angle);

std::vector<Mesh> buildSolids(const SceneDescription& scene,
                              const Skeleton& skeleton,
                              const FoliageModel& foliage);

}  // namespace edamori::scenes
