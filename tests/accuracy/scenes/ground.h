// SPDX-License-Identifier: GPL-3.0-or-later
// What foliage lies on or stands before.
#pragma once

#include "stage.h"

namespace edamori::scenes {

// Paper, cloth, card, metal, wood, skin, stone.
void layBoard(Stage& stage, SceneSet set, Rng& rng);
// Soil, gravel, sand, potting mix.
void laySoil(Stage& stage, SceneSet set, Rng& rng);
// Far blurred sky, wall, hedge or brown; no relief.
void hangBackdrop(Stage& stage, Rng& rng);
// Strips, discs and plates that are not foliage.
void scatterObjects(Stage& stage, Rng& rng, int count);
void scatterDebris(Stage& stage, Rng& rng, int count);
// One tapered round strip through points (x, y, height); colour called with (along, across).
struct StripPoint {
  float x, y, height, radius;
};
void drawTwig(Stage& stage, StripPoint from, StripPoint to, Vec3 colour, Rng& rng);

template <class Paint>
void drawStrip(Stage& stage, StripPoint a, StripPoint b, Paint&& paint) {
  const float dx = b.x - a.x;
  const float dy = b.y - a.y;
  const float squared = std::max(dx * dx + dy * dy, 1e-3F);
  const float r = std::max(a.radius, b.radius);
  const int y0 = std::max(0, whole(std::min(a.y, b.y) - r));
  const int y1 = std::min(stage.height() - 1, whole(std::max(a.y, b.y) + r) + 1);
  const float inverse = 1.0F / std::sqrt(squared);
  for (int y = y0; y <= y1; ++y) {
    // Columns of this row that the strip can touch.
    float lowX = std::min(a.x, b.x) - r;
    float highX = std::max(a.x, b.x) + r;
    if (std::abs(dy) > 0.2F * std::abs(dx)) {
      const float t = (fl(y) - a.y) / dy;
      const float slack = r / (std::abs(dy) * inverse) + 1.0F;
      lowX = std::max(lowX, a.x + t * dx - slack);
      highX = std::min(highX, a.x + t * dx + slack);
    }
    for (int x = std::max(0, whole(lowX)); x <= std::min(stage.width() - 1, whole(highX) + 1); ++x) {
      const float t = ((fl(x) - a.x) * dx + (fl(y) - a.y) * dy) / squared;
      if (t < -0.01F || t > 1.01F) {
        continue;
      }
      const float across = ((fl(x) - a.x) * -dy + (fl(y) - a.y) * dx) * inverse;
      const float radius = mix(a.radius, b.radius, t);
      const float s = across / std::max(radius, 0.3F);
      if (std::abs(s) > 1.0F) {
        continue;
      }
      Surface& surface = stage.at(x, y);
      const float height = mix(a.height, b.height, t) + radius * std::sqrt(1.0F - s * s);
      if (height <= surface.height) {
        continue;
      }
      surface.height = height;
      const float slope = 1.1F * s / std::sqrt(std::max(1.0F - s * s, 0.15F));
      surface.normalX = -dy * inverse * slope;
      surface.normalY = dx * inverse * slope;
      surface.translucency = 0;
      surface.gloss = 0.05F;
      paint(surface, clamp01(t), s);
    }
  }
}

}  // namespace edamori::scenes
