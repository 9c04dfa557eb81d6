// SPDX-License-Identifier: GPL-3.0-or-later
// Trees in gardens of random looks, for training and measuring: the generator of the sample
// photographs, with everything that can vary varied.
#pragma once

#include "scene_set.h"

#include "generator/scene.h"

namespace edamori::scenes {

// One photo of one tree: species, colours, health, pot, place, light and camera drawn at random.
//
// Held-out pictures have trees, foliage colours and backdrops that the other sets never have.
// longSidePx: of the picture, ≥ 300.
SceneDescription drawnGarden(SceneSet set, std::uint64_t index, int longSidePx);

// True for the kinds of foliage that are measured as needles.
bool bearsNeedles(const SceneDescription& scene);

}  // namespace edamori::scenes
