// SPDX-License-Identifier: GPL-3.0-or-later
// Several photos of one tree, and how far away what they show is: for teaching what stays the same.
#pragma once

#include "scene_set.h"

#include "generator/scene.h"

#include <vector>

namespace edamori::scenes {

// The same tree on several days: as drawnGarden() has it; seen from nearly there; from up to 20° off; and
// with every leaf a new one. Light and camera are others each time, up to 40 % of the foliage is gone.
//
// Trees with an odd index stand in the pot and place of the one before them: only the tree tells
// them apart. No tree is one of drawnGarden() or drawnChange() of the same numbers.
// longSidePx: of all pictures, ≥ 300.
[[nodiscard]] std::vector<SceneDescription> drawnViews(SceneSet set, std::uint64_t index, int longSidePx);

}  // namespace edamori::scenes
