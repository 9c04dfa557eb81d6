// SPDX-License-Identifier: GPL-3.0-or-later
// Painted leaf blades: outline, veins, colour, relief and lesions on a map over the leaf.
#pragma once

#include <cstdint>
#include <vector>

#include "stage.h"

namespace edamori::scenes {

enum class Outline {
  Ovate, Lanceolate, Elliptic, Cordate, Obovate, PalmateLobed, PinnateLobed, Linear, Round,
  Deltoid, Wavy, Notched
};
enum class Venation { Pinnate, Parallel, Palmate };
enum class LesionKind {
  BrownRound, BlackSpot, TanDarkRim, HaloedBrown, Angular, RustPustules, PurpleSpot, RingedBlotch,
  MarginScorch, TipBlight, GreyMould, ShotHole, Coalescing, WhollyBrown, WhiteCentre, Interveinal,
  DarkFreckles
};

struct BladeLook {
  Outline outline = Outline::Ovate;
  Venation venation = Venation::Pinnate;
  float aspect = 0.5F;  // full width over length
  float serration = 0.0F;
  float serrationCount = 30.0F;
  Vec3 colour;
  Vec3 second;         // what the blade blends into in patches
  float secondShare = 0.0F;
  bool secondSparesVeins = false;
  Vec3 veinColour;
  float veinStrength = 0.5F;
  float relief = 0.5F;
  float areoles = 30.0F;  // along the leaf
  float mottle = 0.3F;
  float gloss = 0.3F;
  float bloom = 0.0F;
  float creamMargin = 0.0F;
  float translucency = 0.3F;
  int secondaries = 8;
};

struct LesionPlan {
  std::vector<LesionKind> kinds;  // none: sound
  float share = 0.0F;             // of the blade
  float sizeFactor = 1.0F;
};

struct BladePixel {
  Vec3 albedo;
  float slopeX = 0.0F;  // relief: d height / d px
  float slopeY = 0.0F;
  float gloss = 0.0F;
  float cover = 0.0F;
  float necrosis = 0.0F;
  unsigned char label = kSoundLabel;
  unsigned char translucency = 0;
};

// The map runs over across in [−1, 1] (× half width) and along in [0, 1] of the window.
struct Blade {
  int width = 0;
  int height = 0;
  float aspect = 0.5F;
  std::vector<BladePixel> pixels;
  const BladePixel& at(int x, int y) const {
    return pixels[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) +
                  static_cast<std::size_t>(x)];
  }
};

// Part of the leaf that the map covers, in leaf lengths: x across from the midrib, y from the stalk.
struct BladeWindow {
  float x0 = 0.0F;
  float y0 = 0.0F;
  float unitsPerPx = 0.0F;
  float angle = 0.0F;
  int width = 0;
  int height = 0;
};

BladeLook randomLook(SceneSet set, Rng& rng);
LesionPlan randomLesions(SceneSet set, Rng& rng);
// The whole leaf on a map of the given length.
Blade paintBlade(const BladeLook& look, const LesionPlan& lesions, int lengthPx, Rng& rng);
Blade paintBladeWindow(const BladeLook& look, const LesionPlan& lesions, const BladeWindow& window,
                       Rng& rng);

}  // namespace edamori::scenes
