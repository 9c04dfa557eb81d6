// SPDX-License-Identifier: GPL-3.0-or-later
// Leaves, needles, petals and insects of one day, as instances on a skeleton.
#pragma once

#include <cstdint>
#include <vector>

#include "generator/leaf_texture.h"
#include "generator/scene.h"
#include "generator/skeleton.h"

namespace edamori::scenes {

struct Leaf {
  Vec3 base;    // where the blade meets its stalk
  Vec3 along;   // unit, from stalk to tip
  Vec3 normal;  // unit, of the upper side
  float lengthMm = 20.0F;
  float widthMm = 20.0F;
  float bend = 0.2F;  // sag of the tip / length
  float fold = 0.2F;  // lift of the margins / half width
  int shape = 0;      // index into FoliageModel::shapes
  int lesions = -1;   // index into FoliageModel::lesions of that shape, −1 sound
  Vec3 colour;
  bool petal = false;
  int branch = -1;
};

// A quadratic curve with a round cross-section: a needle, a leaf stalk or a shoot.
struct Strand {
  Vec3 from;
  Vec3 control;
  Vec3 to;
  float radiusMm = 0.5F;
  Vec3 colour;
  float blightFrom = 2.0F;  // dead beyond this position along it, > 1 sound
  std::uint8_t label = 128;
  int branch = -1;
};

struct Insect {
  InsectKind kind = InsectKind::ScaleInsect;
  Vec3 position;
  Vec3 normal;   // of the surface it sits on
  Vec3 heading;  // unit, in the surface
  float lengthMm = 2.0F;
  Vec3 colour;
  int group = 0;    // index into SceneDescription::insects
  int cluster = 0;  // which of the group's shoots
};

struct FoliageModel {
  std::vector<Leaf> leaves;
  std::vector<Strand> strands;
  std::vector<Insect> insects;
  std::vector<LeafTexture> shapes;                  // the last one is the petal
  std::vector<std::vector<LesionTexture>> lesions;  // per shape
};

// The foliage and insects that the description puts on its tree.
FoliageModel dress(const SceneDescription& scene, const Skeleton& skeleton);

// The shoots of a branch that carry aphids: the one nearest to the viewer, then those nearest to
// it.
std::vector<Site> shootTips(const Skeleton& skeleton, const std::string& branch);

// Health of a branch: its own entry, else the one without a name, else perfect.
BranchHealth healthOf(const SceneDescription& scene, const std::string& branch);

}  // namespace edamori::scenes
