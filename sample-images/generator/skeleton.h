// SPDX-License-Identifier: GPL-3.0-or-later
// The wood of a tree: trunk, branches, twigs, roots, and the places where foliage sits.
#pragma once

#include <vector>

#include "generator/scene.h"

namespace edamori::scenes {

struct LimbPoint {
  Vec3 position;
  float radiusMm = 1.0F;
};

enum class LimbLevel { Trunk, Root, Primary, Secondary, Twig };

struct Limb {
  std::vector<LimbPoint> points;
  LimbLevel level = LimbLevel::Twig;
  int branch = -1;  // index into Skeleton::branchNames; −1 for trunk and roots
};

// A place that carries leaves or a tuft of needles.
struct Site {
  Vec3 position;
  Vec3 direction;  // of growth
  int branch = -1;
  float along = 1.0F;    // position along its twig, 1 = the tip
  float outward = 1.0F;  // position of its twig along the branch, 1 = the branch tip
  std::uint64_t id = 0;  // the same on every photo of the tree
};

struct Skeleton {
  std::vector<Limb> limbs;  // limbs[0] is the trunk
  std::vector<Site> sites;
  std::vector<std::string> branchNames;
  float soilMm = 60.0F;  // height of the soil at the trunk
};

// Grows the tree on soil at the given height. Same habit, same skeleton.
Skeleton grow(const TreeHabit& habit, float soilMm);

// Point of the limb's centre line at t in [0, 1].
LimbPoint pointAt(const Limb& limb, float t);

}  // namespace edamori::scenes
