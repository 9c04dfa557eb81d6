// SPDX-License-Identifier: GPL-3.0-or-later
#include "ground.h"

#include <algorithm>
#include <array>
#include <cmath>

#include <opencv2/imgproc.hpp>

namespace edamori::scenes {
namespace {

Vec3 pick(std::initializer_list<std::array<int, 3>> colours, Rng& rng) {
  const auto& c = *(colours.begin() + rng.below(static_cast<int>(colours.size())));
  const float gain = std::exp(0.18F * rng.normal());
  return fromSrgb(c[0], c[1], c[2]) * gain;
}

struct Relief {
  float height = 0.0F;
  Vec3 albedo;
  float gloss = 0.0F;
};

// Paints the whole stage from a field, with normals from its relief.
template <class Field>
void paintAll(Stage& stage, Field&& field) {
  for (int y = 0; y < stage.height(); ++y) {
    for (int x = 0; x < stage.width(); ++x) {
      const Relief r = field(fl(x), fl(y));
      Surface& s = stage.at(x, y);
      s = {};
      s.albedo = {std::clamp(r.albedo.x, 0.003F, 0.95F), std::clamp(r.albedo.y, 0.003F, 0.95F),
                  std::clamp(r.albedo.z, 0.003F, 0.95F)};
      s.height = r.height;
      s.gloss = r.gloss;
    }
  }
  for (int y = 0; y < stage.height(); ++y) {
    for (int x = 0; x < stage.width(); ++x) {
      const float right = stage.at(std::min(x + 1, stage.width() - 1), y).height;
      const float below = stage.at(x, std::min(y + 1, stage.height() - 1)).height;
      Surface& s = stage.at(x, y);
      s.normalX = std::clamp(s.height - right, -1.5F, 1.5F);
      s.normalY = std::clamp(s.height - below, -1.5F, 1.5F);
    }
  }
}

// Keeps the slopes but lays the ground level, so that it casts no shadow on itself.
void level(Stage& stage) {
  for (int y = 0; y < stage.height(); ++y) {
    for (int x = 0; x < stage.width(); ++x) {
      stage.at(x, y).height = 0.0F;
    }
  }
}

void drawPlate(Stage& stage, cv::Point2f at, float length, float width, float angle, float height, Vec3 colour, float period) {
  const float c = std::cos(angle);
  const float s = std::sin(angle);
  const float reach = length + width;
  for (int y = std::max(0, whole(at.y - reach)); y < std::min(stage.height(), whole(at.y + reach)); ++y) {
    for (int x = std::max(0, whole(at.x - reach)); x < std::min(stage.width(), whole(at.x + reach)); ++x) {
      const float u = (fl(x) - at.x) * c + (fl(y) - at.y) * s;
      const float v = -(fl(x) - at.x) * s + (fl(y) - at.y) * c;
      Surface& p = stage.at(x, y);
      if (std::abs(u) > length || std::abs(v) > width || p.height > height) {
        continue;
      }
      const float tone = 0.85F + 0.3F * tileNoise(fl(x) / 900.0F, fl(y) / 900.0F);
      p = {};
      p.albedo = colour * tone;
      p.height = height;
      p.gloss = 0.3F;
      if (period > 0.0F) {  // graduation marks
        const float cell = std::fmod(u + length, period) / period;
        const int number = whole((u + length) / period);
        const float tall = number % 10 == 0 ? 0.9F : number % 5 == 0 ? 0.65F : 0.4F;
        if (cell < 0.18F && v < -width + 2.0F * width * 0.5F * tall) {
          p.albedo = p.albedo * 0.08F;
        }
      }
    }
  }
}

void drawDisc(Stage& stage, cv::Point2f at, float radius, Vec3 colour) {
  for (int y = std::max(0, whole(at.y - radius)); y < std::min(stage.height(), whole(at.y + radius)); ++y) {
    for (int x = std::max(0, whole(at.x - radius)); x < std::min(stage.width(), whole(at.x + radius)); ++x) {
      const float dx = (fl(x) - at.x) / radius;
      const float dy = (fl(y) - at.y) / radius;
      const float d = dx * dx + dy * dy;
      if (d > 1.0F) {
        continue;
      }
      Surface& p = stage.at(x, y);
      p = {};
      const float ring = std::sin(std::sqrt(d) * 40.0F) * (d > 0.75F ? 0.4F : 0.1F);
      p.albedo = colour * (0.8F + 0.4F * tileNoise(fl(x) / 500.0F, fl(y) / 500.0F));
      p.height = 0.12F * radius;
      p.normalX = dx * ring;
      p.normalY = dy * ring;
      p.gloss = 0.7F;
    }
  }
}

}  // namespace

void layBoard(Stage& stage, SceneSet set, Rng& rng) {
  const bool kept = set == SceneSet::HeldOut;
  const int kind = rng.below(8);
  const float ox = rng.uniform();
  const float oy = rng.uniform();
  const float angle = rng.range(0.0F, kPi);
  const float c = std::cos(angle);
  const float s = std::sin(angle);
  const float fine = rng.range(0.1F, 1.0F);
  const float size = fl(stage.width());
  const auto n = [&](float x, float y, float features) {
    return noiseAt(x / size + ox, y / size + oy, features) - 0.5F;
  };
  Vec3 base = pick({{236, 234, 228}, {245, 245, 244}, {200, 198, 194}, {128, 130, 132}, {38, 38, 40}, {60, 96, 150}, {150, 176, 204}, {216, 206, 186}}, rng);
  if (kind <= 2) {  // paper and card
    paintAll(stage, [&](float x, float y) -> Relief {
      return {2.0F * n(x, y, 6.0F) + 1.6F * fine * n(y, x, 500.0F), base * (1.0F + 0.12F * n(x, y, 4.0F) + 0.12F * fine * n(x, y, 300.0F)), 0.05F};
    });
  } else if (kind == 3) {  // cloth
    base = pick({{214, 206, 190}, {70, 78, 96}, {150, 60, 58}, {90, 96, 84}, {228, 226, 222}, {40, 44, 60}}, rng);
    const Vec3 stripe = kept ? pick({{230, 226, 214}, {60, 80, 120}, {160, 70, 60}}, rng) : base * 0.9F;
    const float thread = rng.range(0.25F, 0.7F);
    paintAll(stage, [&](float x, float y) -> Relief {
      const float u = (x * c + y * s) + 60.0F * n(x, y, 8.0F);
      const float v = (-x * s + y * c) + 60.0F * n(y, x, 8.0F);
      const float weave = std::sin(u * thread) * std::sin(v * thread);
      const Vec3 k = std::fmod(std::abs(u), 260.0F) < 90.0F ? stripe : base;
      return {24.0F * n(x, y, 5.0F) + 1.0F * weave, k * (0.95F + 0.18F * weave + 0.4F * n(x, y, 200.0F)), 0.0F};
    });
  } else if (kind == 4) {  // brushed metal
    base = pick({{170, 172, 174}, {120, 122, 126}, {196, 190, 180}}, rng);
    paintAll(stage, [&](float x, float y) -> Relief {
      const float u = x * c + y * s;
      const float v = -x * s + y * c;
      const float brushed = n(u * 0.03F, v, 400.0F);
      return {1.5F * brushed, base * (1.0F + 0.7F * brushed + 0.5F * n(x, y, 3.0F)), 0.55F};
    });
  } else if (kind == 5) {  // wood, or painted boards
    base = pick({{150, 104, 66}, {186, 146, 100}, {110, 74, 48}, {206, 176, 132}, {90, 80, 72}}, rng);
    if (kept) {
      base = pick({{200, 206, 204}, {96, 120, 130}, {180, 172, 150}}, rng);
    }
    const float grain = rng.range(8.0F, 30.0F);
    const float board = rng.range(0.15F, 0.6F) * size;
    paintAll(stage, [&](float x, float y) -> Relief {
      const float u = x * c + y * s;
      const float v = -x * s + y * c;
      const float ring = std::sin((n(u * 0.12F, v, 14.0F) + 0.06F * n(u * 0.1F, v, 90.0F)) * grain * 2.0F);
      const float pore = n(u * 0.05F, v, 420.0F);
      const float gap = std::fmod(std::abs(v + 4000.0F), board) < 5.0F ? -8.0F : 0.0F;
      const float tone = 1.0F + (kept ? 0.05F : 0.22F) * ring + 0.7F * pore + 0.5F * n(x, y, 4.0F);
      return {1.6F * pore + gap, base * (gap < 0.0F ? 0.3F : tone), 0.15F * fine};
    });
  } else if (kind == 6) {  // skin
    base = pick({{224, 172, 140}, {198, 140, 106}, {140, 90, 62}, {92, 58, 42}, {236, 194, 168}}, rng);
    paintAll(stage, [&](float x, float y) -> Relief {
      const float w = 26.0F * n(x, y, 20.0F);
      const Cell cell = cellAt((x * c + y * s + w) * 0.045F, (-x * s + y * c + w) * 0.025F, 7U);
      const float crease = std::exp(-std::abs(std::fmod(std::abs(x * s + y * c * 0.4F + 90.0F * n(x, y, 4.0F)) + 200.0F, 640.0F) - 320.0F) * 0.05F);
      Vec3 k = base * (1.0F + 0.35F * n(x, y, 4.0F) + 0.15F * n(x, y, 60.0F) - 0.35F * crease);
      k.y *= 1.0F - 0.35F * n(y, x, 6.0F);
      return {140.0F * n(x, y, 2.5F) + 0.9F * smoothStep(0.0F, 0.3F, cell.border) - 6.0F * crease, k, 0.18F};
    });
  } else {  // concrete or stone, speckled
    base = pick({{150, 148, 144}, {110, 106, 100}, {180, 174, 164}, {86, 88, 92}}, rng);
    paintAll(stage, [&](float x, float y) -> Relief {
      const float speck = n(x, y, 260.0F);
      const float vein = kept ? smoothStep(0.03F, 0.0F, std::abs(n(x, y, 4.0F))) : 0.0F;
      return {3.0F * n(x, y, 60.0F) + 2.0F * speck, base * (1.0F + 1.2F * speck + 0.6F * n(y, x, 8.0F) - 0.5F * vein), 0.02F};
    });
  }
  level(stage);
}

void laySoil(Stage& stage, SceneSet set, Rng& rng) {
  const float ox = rng.uniform();
  const float oy = rng.uniform();
  const float size = fl(stage.width());
  const auto n = [&](float x, float y, float features) {
    return noiseAt(x / size + ox, y / size + oy, features) - 0.5F;
  };
  const int kind = rng.below(4);  // soil, gravel, sand, potting mix
  Vec3 base = pick({{96, 74, 56}, {60, 46, 36}, {120, 98, 76}, {44, 36, 32}, {140, 104, 74}, {128, 74, 50}}, rng);
  Vec3 other = pick({{150, 130, 106}, {170, 160, 150}, {120, 90, 66}, {90, 88, 86}, {206, 196, 182}}, rng);
  if (kind == 2) {
    base = pick({{196, 176, 140}, {170, 150, 124}, {214, 204, 184}}, rng);
  }
  if (set == SceneSet::HeldOut && rng.uniform() < 0.4F) {
    base = pick({{150, 72, 48}, {104, 104, 100}, {70, 66, 70}}, rng);
  }
  const float wet = rng.uniform() < 0.4F ? rng.range(0.3F, 0.9F) : 0.0F;
  const float grainPx = kind == 1 ? rng.range(14.0F, 70.0F) : kind == 2 ? rng.range(3.0F, 7.0F) : rng.range(9.0F, 34.0F);
  const float stones = kind == 1 ? 0.9F : kind == 2 ? 0.25F : rng.range(0.0F, 0.25F);
  const float dark = 1.0F - 0.5F * wet;
  paintAll(stage, [&](float x, float y) -> Relief {
    const float wx = x + grainPx * 2.2F * n(x, y, 60.0F);
    const float wy = y + grainPx * 2.2F * n(y, x, 60.0F);
    const Cell big = cellAt(wx / grainPx, wy / grainPx, 3U);
    const Cell small = cellAt(wx / grainPx * 2.7F, wy / grainPx * 2.7F, 5U);
    const float dome = smoothStep(0.0F, 0.7F, big.border) * (0.3F + big.value);
    const float dome2 = smoothStep(0.0F, 0.6F, small.border) * (0.3F + small.value);
    const float crumb = n(x, y, 160.0F);
    const bool stone = std::fmod(big.value * 37.0F, 1.0F) < stones;
    const float height = grainPx * (0.75F * dome + 0.3F * dome2) + 16.0F * crumb + 46.0F * n(x, y, 12.0F);
    const float tone = 0.65F + 0.35F * std::fmod(big.value * 91.0F, 1.0F) + 0.4F * (small.value - 0.5F) + 1.1F * crumb + 0.5F * n(y, x, 7.0F);
    const Vec3 k = stone ? mix(base, other, 0.4F + 0.6F * std::fmod(big.value * 53.0F, 1.0F)) : base;
    const float creviced = 0.4F + 0.6F * smoothStep(0.0F, 0.25F, big.border);
    return {height + 30.0F, k * (dark * std::max(tone, 0.2F) * creviced), wet * 0.5F * smoothStep(-0.1F, 0.2F, n(x, y, 30.0F))};
  });
}

void hangBackdrop(Stage& stage, Rng& rng) {
  const int kind = rng.below(6);
  Vec3 top = pick({{190, 208, 228}, {226, 230, 234}, {120, 160, 210}}, rng);
  Vec3 low = top * 0.9F;
  float blobs = 0.1F;
  Vec3 blob = top;
  if (kind == 1) {
    top = low = pick({{206, 200, 190}, {150, 140, 128}, {170, 112, 90}, {90, 92, 96}, {30, 30, 32}}, rng);
    blob = top * 0.7F;
    blobs = 0.3F;
  } else if (kind == 2 || kind == 3) {
    top = pick({{80, 110, 60}, {50, 76, 44}, {110, 134, 80}, {30, 44, 30}}, rng);
    low = top * rng.range(0.3F, 0.9F);
    blob = pick({{150, 176, 110}, {26, 34, 24}, {196, 206, 180}}, rng);
    blobs = rng.range(0.3F, 1.0F);
  } else if (kind >= 4) {
    top = pick({{120, 96, 76}, {80, 62, 50}, {150, 126, 100}}, rng);
    low = pick({{90, 70, 54}, {60, 50, 40}, {96, 104, 70}}, rng);
    blob = pick({{60, 44, 34}, {176, 156, 130}, {90, 110, 64}}, rng);
    blobs = rng.range(0.2F, 1.0F);
  }
  const int cells = 5 + rng.below(20);
  cv::Mat small(cells * 3 / 4 + 2, cells + 2, CV_32FC3);
  for (int y = 0; y < small.rows; ++y) {
    for (int x = 0; x < small.cols; ++x) {
      const Vec3 c = mix(mix(top, low, fl(y) / fl(small.rows)), blob, blobs * rng.uniform() * rng.uniform()) * std::exp(0.1F * rng.normal());
      small.at<cv::Vec3f>(y, x) = {c.x, c.y, c.z};
    }
  }
  cv::Mat large;
  cv::resize(small, large, {stage.width(), stage.height()}, 0, 0, cv::INTER_CUBIC);
  for (int y = 0; y < stage.height(); ++y) {
    for (int x = 0; x < stage.width(); ++x) {
      const cv::Vec3f& c = large.at<cv::Vec3f>(y, x);
      Surface& s = stage.at(x, y);
      s = {};
      s.albedo = {std::clamp(c[0], 0.004F, 1.0F), std::clamp(c[1], 0.004F, 1.0F), std::clamp(c[2], 0.004F, 1.0F)};
      s.height = -1000.0F;
    }
  }
}

void scatterObjects(Stage& stage, Rng& rng, int count) {
  const float size = fl(stage.width());
  for (int k = 0; k < count; ++k) {
    const cv::Point2f at{rng.uniform() * size, rng.uniform() * fl(stage.height())};
    const float angle = rng.range(0.0F, kPi);
    switch (rng.below(5)) {
      case 0: {
        const Vec3 c = pick({{240, 238, 230}, {236, 206, 90}, {196, 200, 204}, {190, 150, 100}}, rng);
        drawPlate(stage, at, size * rng.range(0.3F, 0.8F), size * rng.range(0.02F, 0.06F), angle, 10.0F, c, size * rng.range(0.006F, 0.02F));
        break;
      }
      case 1:
        drawPlate(stage, at, size * rng.range(0.05F, 0.25F), size * rng.range(0.01F, 0.03F), angle, 6.0F,
                  pick({{214, 196, 150}, {230, 230, 226}, {60, 120, 180}, {190, 50, 46}, {150, 120, 80}}, rng), 0.0F);
        break;
      case 2: drawDisc(stage, at, size * rng.range(0.02F, 0.07F), pick({{190, 150, 80}, {176, 178, 180}, {160, 96, 62}}, rng)); break;
      default: {
        const Vec3 c = pick({{190, 160, 110}, {120, 84, 56}, {220, 216, 206}, {90, 70, 54}}, rng);
        const float length = size * rng.range(0.1F, 0.6F);
        const float radius = size * rng.range(0.002F, 0.012F);
        drawTwig(stage, {at.x, at.y, 2.0F, radius}, {at.x + length * std::cos(angle), at.y + length * std::sin(angle), 2.0F, radius}, c, rng);
      }
    }
  }
}

void scatterDebris(Stage& stage, Rng& rng, int count) {
  const float size = fl(stage.width());
  const bool chips = rng.uniform() < 0.5F;
  for (int k = 0; k < count; ++k) {
    const float x = rng.uniform() * size;
    const float y = rng.uniform() * fl(stage.height());
    const float a = rng.range(0.0F, 2.0F * kPi);
    const float length = size * (chips ? rng.range(0.008F, 0.05F) : rng.range(0.015F, 0.12F));
    const float radius = size * (chips ? rng.range(0.003F, 0.012F) : rng.range(0.0008F, 0.003F));
    const Vec3 c = pick({{176, 146, 100}, {120, 90, 64}, {200, 180, 136}, {84, 62, 46}, {150, 110, 76}, {104, 66, 44}}, rng);
    const float base = stage.at(std::clamp(whole(x), 0, stage.width() - 1), std::clamp(whole(y), 0, stage.height() - 1)).height;
    drawTwig(stage, {x, y, base - 0.3F * radius, radius}, {x + length * std::cos(a), y + length * std::sin(a), base + 0.2F * radius, radius * 0.7F}, c, rng);
  }
}

void drawTwig(Stage& stage, StripPoint from, StripPoint to, Vec3 colour, Rng& rng) {
  const float seed = rng.uniform();
  drawStrip(stage, from, to, [&](Surface& s, float t, float across) {
    const float n = tileNoise(seed + 0.5F * t, seed + 0.06F * across) - 0.5F;
    s.albedo = colour * std::max(0.25F, 1.0F + 1.8F * n);
    s.normalX += 1.2F * n;
    s.label = kNotFoliageLabel;
  });
}

}  // namespace edamori::scenes
