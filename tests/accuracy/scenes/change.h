// SPDX-License-Identifier: GPL-3.0-or-later
// Two photos of one tree with something done in between, or nothing, and what it did to each branch.
#pragma once

#include "scene_set.h"

#include "generator/scene.h"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <opencv2/core.hpp>

namespace edamori::scenes {

enum class Happened {
  Nothing,    // other light, and the photographer stood a little elsewhere
  CleanUp,    // blighted needles or spotted leaves taken off
  Thinning,   // sound foliage taken off
  Growth,     // foliage came back
  NextSpring  // every leaf is a new one; as many as before
};

[[nodiscard]] std::string_view nameOf(Happened happened);

struct DrawnChange {
  Happened happened = Happened::Nothing;
  SceneDescription before, after;
  SceneDescription stillView;  // the foliage of after in the view and light of before: the truth
};

// Light of another day than that of the garden.
[[nodiscard]] LightLook drawnLightOfAnotherDay(Rng& rng);
// The same place again as well as a hand finds it; when it is not careful, up to 20° off.
[[nodiscard]] CameraLook cameraAgain(const CameraLook& first, bool isCareful, Rng& rng);

// One pair; what happened goes round with the index, four of five photographers aim for the same
// place and the fifth is up to 20° off. Trees and gardens are those of drawnGarden().
// longSidePx: of both pictures, ≥ 300.
[[nodiscard]] DrawnChange drawnChange(SceneSet set, std::uint64_t index, int longSidePx);

struct BranchChange {
  std::string branch;
  std::vector<cv::Point2d> outlineBefore;
  std::vector<cv::Point2d> outlineAfter;  // where it belongs; empty when hidden
  double coverBefore = 0.0, coverAfter = 0.0;          // foliage within outlineBefore, 0…1
  std::optional<double> spottedBefore, spottedAfter;  // of the foliage; none without foliage
};

struct ChangePictures {
  cv::Mat before, after;  // RGB, 8 bits
  std::vector<BranchChange> branches;  // those with an outline and foliage before
};

// Cost: three renderings.
[[nodiscard]] ChangePictures renderChange(const DrawnChange& change);

}  // namespace edamori::scenes
