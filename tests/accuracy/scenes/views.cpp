// SPDX-License-Identifier: GPL-3.0-or-later
#include "views.h"

#include "change.h"
#include "garden.h"

namespace edamori::scenes {
namespace {

constexpr std::uint64_t kFirstIndex = 1ULL << 41U;

// Another tree of the same kind.
void plantAnother(SceneDescription& scene, Rng& rng) {
  scene.tree.seed = hashed(scene.tree.seed);
  constexpr HabitSpread kSpread{
      .attach = 0.03F, .azimuthDeg = 25.0F, .riseDeg = 8.0F, .length = {0.8F, 1.2F}, .sweep = {0.7F, 1.3F}};
  growOtherwise(scene.tree, kSpread, rng);
  scene.foliage.seed = hashed(scene.foliage.seed);
}

SceneDescription onAnotherDay(const SceneDescription& first, bool isCareful, Rng& rng) {
  SceneDescription scene = first;
  scene.light = drawnLightOfAnotherDay(rng);
  scene.camera = cameraAgain(first.camera, isCareful, rng);
  for (BranchHealth& branch : scene.health) {
    branch.cover *= rng.range(0.6F, 1.0F);
    branch.spotFraction *= rng.range(0.0F, 1.0F);
    branch.blightFraction *= rng.range(0.0F, 1.0F);
  }
  return scene;
}

}  // namespace

std::vector<SceneDescription> drawnViews(SceneSet set, std::uint64_t index, int longSidePx) {
  SceneDescription first = drawnGarden(set, kFirstIndex + index / 2U, longSidePx);
  Rng rng(seedOf(set, kFirstIndex + index));
  if (index % 2U == 1U) {
    plantAnother(first, rng);
  }
  std::vector<SceneDescription> views{first};
  for (const bool isCareful : {true, false, true}) {
    views.push_back(onAnotherDay(first, isCareful, rng));
    views.back().camera.seed = hashed(seedOf(set, kFirstIndex + index) + views.size());
  }
  views.back().foliage.seed = hashed(first.foliage.seed);
  return views;
}

}  // namespace edamori::scenes
