// SPDX-License-Identifier: GPL-3.0-or-later
// Colour, relief and gloss of the solid materials at a point.
#pragma once

#include "generator/scene.h"
#include "generator/solids.h"

namespace edamori::scenes {

struct MaterialSample {
  Vec3 colour;
  float heightMm = 0.0F;  // relief above the mesh, for shading only
  float gloss = 0.0F;     // 0 matt … 1 glazed
};

// The mesh's material at a point given in the mesh's own grain coordinates (Vertex::grain).
MaterialSample materialAt(const SceneDescription& scene, const Mesh& mesh, Vec3 grain);

}  // namespace edamori::scenes
