// SPDX-License-Identifier: GPL-3.0-or-later
// Drawn photographs of wood with scale insects (and of wood without any), with exact truth. Plain
// C++ without libraries, so that a training machine can compile it by itself.
#pragma once

#include "../scenes/scene_set.h"

#include <cstdint>
#include <string>
#include <vector>

namespace edamori::scenes {

// How the bark looks. Flaking is never drawn for tuning; Stringy and Knobby only for held-out.
enum class BarkLook { Smooth, Plated, Wrinkled, Lenticelled, Mossy, Twigs, Flaking, Stringy, Knobby };
[[nodiscard]] std::string nameOf(BarkLook look);

struct TrueInsect {
  float x = 0.0F, y = 0.0F;  // px, centre of the whole insect
  float radiusPx = 0.0F;     // of the circle of the same area as its outline on the picture
  float visible = 1.0F;      // share of its outline that nothing covers
  bool isDead = false;
};

struct InsectScene {
  int width = 0, height = 0;       // px
  std::vector<std::uint8_t> rgb;   // sRGB, row by row
  std::vector<TrueInsect> insects; // in the picture and visible to at least 0.15
  BarkLook look = BarkLook::Smooth;
  bool hasInsects = false;
};

// The same set, index and size always give the same picture. Two of five pictures have no insect.
InsectScene drawInsectScene(SceneSet set, std::uint64_t index, int widthPx, int heightPx);

}  // namespace edamori::scenes
