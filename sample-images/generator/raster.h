// SPDX-License-Identifier: GPL-3.0-or-later
// Projection and triangle filling with a depth key; larger keys are nearer.
#pragma once

#include <algorithm>
#include <cmath>

#include "generator/vec3.h"

namespace edamori::scenes {

struct ScreenPoint {
  float x = 0.0F;
  float y = 0.0F;
  float key = -1.0F;  // perspective: 1 / distance along the axis (1/mm); parallel: −distance + an
                      // offset; ≤ 0 unusable
};

enum class Projection { Perspective, Parallel };

// A camera or a light: where a scene point falls on its pixel grid.
struct View {
  Projection projection = Projection::Perspective;
  Vec3 eye;
  Vec3 right;
  Vec3 up;
  Vec3 forward;
  float scale = 1.0F;  // px per unit tangent (perspective) or px per mm (parallel)
  int width = 0;
  int height = 0;

  ScreenPoint project(Vec3 point) const {
    const Vec3 d = point - eye;
    const float depth = dot(d, forward);
    const bool parallel = projection == Projection::Parallel;
    if (!parallel && depth < 25.0F) {
      return {};
    }
    const float s = parallel ? scale : scale / depth;
    return {0.5F * static_cast<float>(width) + s * dot(d, right),
            0.5F * static_cast<float>(height) - s * dot(d, up),
            parallel ? kFarMm - depth : 1.0F / depth};
  }
  // Pixels per mm at a projected point.
  float pxPerMm(float key) const {
    return projection == Projection::Parallel ? scale : scale * key;
  }
  // Scene point at a pixel position and perspective key.
  Vec3 unproject(float x, float y, float key) const {
    const float depth = 1.0F / key;
    const float u = (x - 0.5F * static_cast<float>(width)) / scale;
    const float v = (0.5F * static_cast<float>(height) - y) / scale;
    return eye + (forward + right * u + up * v) * depth;
  }

  static constexpr float kFarMm = 20000.0F;
};

// The rows one thread fills.
struct RowBand {
  int first = 0;
  int end = 0;
  int width = 0;
};

// Calls fragment(index, key, wa, wb, wc) for each pixel centre inside the triangle; the weights are
// linear on the screen, and so is the key.
template <class Fragment>
void fillTriangle(
    const RowBand& band, ScreenPoint a, ScreenPoint b, ScreenPoint c, Fragment&& fragment) {
  const float area = (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
  if (a.key <= 0.0F || b.key <= 0.0F || c.key <= 0.0F || std::abs(area) < 1e-5F) {
    return;
  }
  const auto low = [](float p, float q, float r) { return std::min(p, std::min(q, r)); };
  const auto high = [](float p, float q, float r) { return std::max(p, std::max(q, r)); };
  const float limit = 1.0e6F;
  const int y0 =
      std::max(band.first, static_cast<int>(std::max(low(a.y, b.y, c.y) - 0.5F, -limit)));
  const int y1 =
      std::min(band.end - 1, static_cast<int>(std::min(high(a.y, b.y, c.y) + 0.5F, limit)));
  const int x0 = std::max(0, static_cast<int>(std::max(low(a.x, b.x, c.x) - 0.5F, -limit)));
  const int x1 =
      std::min(band.width - 1, static_cast<int>(std::min(high(a.x, b.x, c.x) + 0.5F, limit)));
  const float inverse = 1.0F / area;
  for (int y = y0; y <= y1; ++y) {
    const float py = static_cast<float>(y) + 0.5F;
    for (int x = x0; x <= x1; ++x) {
      const float px = static_cast<float>(x) + 0.5F;
      const float wa = ((b.x - px) * (c.y - py) - (b.y - py) * (c.x - px)) * inverse;
      const float wb = ((c.x - px) * (a.y - py) - (c.y - py) * (a.x - px)) * inverse;
      const float wc = 1.0F - wa - wb;
      if (wa >= 0.0F && wb >= 0.0F && wc >= 0.0F) {
        fragment(y * band.width + x, wa * a.key + wb * b.key + wc * c.key, wa, wb, wc);
      }
    }
  }
}

}  // namespace edamori::scenes
