// SPDX-License-Identifier: GPL-3.0-or-later
// Trees in gardens of random looks, for training and measuring: the generator of the sample
// photographs, with everything that can vary varied.
#pragma once

#include "scene_set.h"

#include "generator/scene.h"

namespace edamori::scenes {

struct Range {
  float low = 0.0F, high = 0.0F;
};

// How light may fall; what is not given is that of gardens.
struct LightRanges {
  Range elevationDeg{25.0F, 70.0F};
  Range cloudySun{0.2F, 0.6F}, clearSun{1.2F, 3.4F};  // strength; a third of the days is cloudy
  float mostWarmth = 0.4F, mostBlue = 0.4F;
  float softBelow = 0.7F;  // strength under which shadows are soft
  Range softPenumbraMm{12.0F, 26.0F}, hardPenumbraMm{1.0F, 7.0F};
};
LightLook drawnLight(const LightRanges& ranges, Rng& rng);

// One photo of one tree: species, colours, health, pot, place, light and camera drawn at random.
//
// Held-out pictures have trees, foliage colours and backdrops that the other sets never have.
// longSidePx: of the picture, ≥ 300.
SceneDescription drawnGarden(SceneSet set, std::uint64_t index, int longSidePx);

// Looks that drawnGarden() does not have, for training alone: foliage of any colour, blossoms, soft
// focus, light of other colours. Calibration gardens showed blue-green, blurred and shaded foliage
// to be missed.
void varyForTraining(SceneDescription& scene);

// How much another tree of the same habit may differ: shifts up to so much either way, and factors.
struct HabitSpread {
  float attach = 0.0F, azimuthDeg = 0.0F, riseDeg = 0.0F;
  Range length, sweep;
};
void growOtherwise(TreeHabit& tree, const HabitSpread& spread, Rng& rng);

// True for the kinds of foliage that are measured as needles.
bool bearsNeedles(const SceneDescription& scene);

}  // namespace edamori::scenes
