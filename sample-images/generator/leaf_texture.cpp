// SPDX-License-Identifier: GPL-3.0-or-later
#include "generator/leaf_texture.h"

#include <array>

#include "generator/noise.h"
#include "generator/rng.h"

namespace edamori::scenes {
namespace {

constexpr int kOversampling = 3;

float saw(float v) { return v - std::floor(v); }
float ridge(float distance, float width) {
  return std::exp(-(distance * distance) / (width * width));
}

struct BladePoint {
  float inside = 0.0F;  // 1 inside, 0 outside
  float vein = 0.0F;
};

struct SerrateShape {
  float aspect = 0.5F;  // width / length
  float skew = 0.8F;    // < 1 moves the widest part towards the stalk
  float teeth = 13.0F;
  float toothDepth = 0.03F;
  float wobble = 0.0F;  // seed of the margin's irregularity
};

BladePoint serrateAt(const SerrateShape& shape, float x, float t) {
  const float body = std::pow(std::max(0.0F, std::sin(kPi * std::pow(t, shape.skew))), 0.85F);
  const float tooth = shape.toothDepth * (saw(t * shape.teeth) - 0.5F) * body;
  const float uneven =
      0.03F * (valueNoise({t * 4.0F, x > 0.0F ? 3.0F : 8.0F, shape.wobble}) - 0.5F);
  const float half = 0.5F * shape.aspect * body + tooth + uneven * body;
  BladePoint point;
  point.inside = t > 0.01F && t < 0.99F && std::abs(x) < half ? 1.0F : 0.0F;
  const float midrib = ridge(x, 0.014F * (1.15F - t));
  const float row = (t - std::abs(x) * 0.85F) * 8.5F;
  const float side = ridge((saw(row) - 0.5F) / 8.5F, 0.008F) * 0.6F *
                     (1.0F - std::abs(x) / std::max(half, 0.02F) * 0.6F);
  const float net =
      0.16F *
      smoothStep(0.86F,
                 1.0F,
                 1.0F - std::abs(fractalNoise({x * 60.0F, t * 60.0F, 1.0F}, 2) - 0.5F) * 3.0F);
  point.vein = std::min(1.0F, midrib + side + net);
  return point;
}

struct Lobe {
  float angle = 0.0F;  // rad from the midrib
  float length = 0.7F;
  float width = 0.12F;
};

struct PalmateShape {
  std::array<Lobe, 7> lobes;
  float originT = 0.2F;
};

BladePoint palmateAt(const PalmateShape& shape, float x, float t) {
  BladePoint point;
  const float dy = t - shape.originT;
  const float centre = std::sqrt(x * x + dy * dy);
  point.inside = centre < 0.13F ? 1.0F : 0.0F;
  for (const Lobe& lobe : shape.lobes) {
    const float ca = std::cos(lobe.angle);
    const float sa = std::sin(lobe.angle);
    const float u = (x * sa + dy * ca) / lobe.length;
    const float v = std::abs(x * ca - dy * sa);
    if (u < -0.02F || u > 1.0F) {
      continue;
    }
    const float profile = u < 0.42F ? mix(0.72F, 1.0F, smoothStep(0.0F, 0.42F, u))
                                    : std::pow(1.0F - (u - 0.42F) / 0.58F, 0.9F);
    const float half =
        lobe.width * profile + 0.016F * (saw(u * 9.0F) - 0.4F) * smoothStep(1.0F, 0.85F, u);
    if (v < half) {
      point.inside = 1.0F;
    }
    const float main = ridge(v, 0.010F * (1.2F - u)) * (v < half + 0.02F ? 1.0F : 0.0F);
    const float side =
        v < half ? 0.45F * ridge((saw((u - v * 1.6F) * 8.0F) - 0.5F) / 8.0F, 0.009F) : 0.0F;
    point.vein = std::max(point.vein, std::max(main, side));
  }
  return point;
}

PalmateShape randomPalmate(Rng& rng) {
  constexpr std::array<float, 7> kAngles{0.0F, 41.0F, -41.0F, 84.0F, -84.0F, 128.0F, -128.0F};
  constexpr std::array<float, 7> kLengths{0.78F, 0.70F, 0.70F, 0.50F, 0.50F, 0.24F, 0.24F};
  PalmateShape shape;
  for (std::size_t i = 0; i < kAngles.size(); ++i) {
    const float length = kLengths.at(i) * rng.range(0.9F, 1.03F);
    shape.lobes.at(i) = {
        radians(kAngles.at(i) + rng.range(-5.0F, 5.0F)), length, 0.075F + 0.075F * length};
  }
  return shape;
}

// Paints one blade from a shape function (x across about 0, t along) with anti-aliased edges.
template <class ShapeAt>
LeafTexture paintBlade(ShapeAt&& shapeAt, float seed) {
  LeafTexture leaf;
  constexpr float kStep = 1.0F / (kLeafMapPx * kOversampling);
  for (int y = 0; y < kLeafMapPx; ++y) {
    for (int x = 0; x < kLeafMapPx; ++x) {
      BladePoint sum;
      for (int k = 0; k < kOversampling * kOversampling; ++k) {
        const float fx = (static_cast<float>(x * kOversampling + k % kOversampling) + 0.5F) * kStep;
        const float fy = (static_cast<float>(y * kOversampling + k / kOversampling) + 0.5F) * kStep;
        const BladePoint point = shapeAt(fx - 0.5F, fy);
        sum.inside += point.inside;
        sum.vein += point.vein;
      }
      constexpr float kShare = 1.0F / (kOversampling * kOversampling);
      leaf.cover.pixel(x, y) = sum.inside * kShare;
      leaf.vein.pixel(x, y) = sum.vein * kShare;
      const Vec3 at{static_cast<float>(x) * 0.05F, static_cast<float>(y) * 0.05F, seed};
      leaf.tone.pixel(x, y) = 0.70F + 0.60F * fractalNoise(at, 4);
    }
  }
  return leaf;
}

struct Lesion {
  float s = 0.5F;
  float t = 0.5F;
  float radius = 0.03F;
  float seed = 0.0F;
};

void stampLesion(LesionTexture& texture, const Lesion& lesion) {
  const float reach = lesion.radius * 2.6F;
  const auto toPixel = [](float v) {
    return std::clamp(static_cast<int>(v * kLeafMapPx), 0, kLeafMapPx - 1);
  };
  for (int y = toPixel(lesion.t - reach); y <= toPixel(lesion.t + reach); ++y) {
    for (int x = toPixel(lesion.s - reach); x <= toPixel(lesion.s + reach); ++x) {
      const float dx = (static_cast<float>(x) + 0.5F) / kLeafMapPx - lesion.s;
      const float dy = (static_cast<float>(y) + 0.5F) / kLeafMapPx - lesion.t;
      const float angle = std::atan2(dy, dx);
      const float uneven = fractalNoise(
          {std::cos(angle) * 1.9F + lesion.seed, std::sin(angle) * 1.9F, lesion.seed * 3.0F}, 3);
      const float edge = lesion.radius * (0.55F + 0.9F * uneven);
      const float distance = std::sqrt(dx * dx + dy * dy);
      const float soft = 0.012F;
      const float inside = smoothStep(edge + soft, edge - soft, distance);
      const float core = smoothStep(edge * 0.55F, edge * 0.1F, distance) *
                         smoothStep(0.012F, 0.03F, lesion.radius);
      const float halo = smoothStep(edge + 0.035F + edge * 0.35F, edge, distance);
      texture.lesion.pixel(x, y) = std::max(texture.lesion.pixel(x, y), inside);
      texture.centre.pixel(x, y) = std::max(texture.centre.pixel(x, y), core);
      texture.halo.pixel(x, y) = std::max(texture.halo.pixel(x, y), halo);
    }
  }
}

float necroticShare(const LesionTexture& lesions, const LeafTexture& leaf) {
  float blade = 0.0F;
  float dead = 0.0F;
  for (std::size_t i = 0; i < leaf.cover.values.size(); ++i) {
    if (leaf.cover.values[i] >= 0.5F) {
      blade += 1.0F;
      dead += lesions.lesion.values[i] >= 0.5F ? 1.0F : 0.0F;
    }
  }
  return blade > 0.0F ? dead / blade : 0.0F;
}

}  // namespace

float LeafMap::at(float s, float t) const {
  const float fx = std::clamp(s * kLeafMapPx - 0.5F, 0.0F, static_cast<float>(kLeafMapPx) - 1.001F);
  const float fy = std::clamp(t * kLeafMapPx - 0.5F, 0.0F, static_cast<float>(kLeafMapPx) - 1.001F);
  const int x = static_cast<int>(fx);
  const int y = static_cast<int>(fy);
  const float u = fx - static_cast<float>(x);
  const float v = fy - static_cast<float>(y);
  return mix(mix(pixel(x, y), pixel(x + 1, y), u), mix(pixel(x, y + 1), pixel(x + 1, y + 1), u), v);
}

std::vector<LeafTexture> paintLeaves(FoliageKind kind, std::uint64_t seed) {
  Rng rng(seed);
  std::vector<LeafTexture> leaves;
  for (int i = 0; i < 4; ++i) {
    const float tone = rng.range(0.0F, 50.0F);
    if (kind == FoliageKind::PalmateLeaf) {
      const PalmateShape shape = randomPalmate(rng);
      leaves.push_back(paintBlade([&](float x, float t) { return palmateAt(shape, x, t); }, tone));
    } else {
      const SerrateShape shape{
          rng.range(0.46F, 0.58F), rng.range(0.74F, 0.9F), rng.range(11.0F, 15.0F), 0.03F, tone};
      leaves.push_back(paintBlade([&](float x, float t) { return serrateAt(shape, x, t); }, tone));
    }
  }
  return leaves;
}

LeafTexture paintPetal(std::uint64_t seed) {
  const float tone = hashedUnit(seed) * 50.0F;
  const SerrateShape shape{0.78F, 1.3F, 3.0F, 0.0F, tone};
  LeafTexture petal = paintBlade([&](float x, float t) { return serrateAt(shape, x, t); }, tone);
  for (float& vein : petal.vein.values) {
    vein *= 0.15F;
  }
  return petal;
}

std::vector<LesionTexture> paintLesions(const LeafTexture& leaf, std::uint64_t seed) {
  constexpr std::array<float, 12> kSeverities{
      0.008F, 0.015F, 0.025F, 0.04F, 0.06F, 0.09F, 0.12F, 0.16F, 0.21F, 0.27F, 0.35F, 0.45F};
  Rng rng(seed);
  std::vector<LesionTexture> result;
  for (const float aim : kSeverities) {
    LesionTexture texture;
    float severity = 0.0F;
    for (int tries = 0; tries < 400 && severity < aim; ++tries) {
      const float s = rng.uniform();
      const float t = rng.uniform();
      if (leaf.cover.at(s, t) < 0.5F) {
        continue;
      }
      // Many small lesions and a few large ones, larger where the leaf is worse.
      const float largest = 0.03F + 0.11F * std::sqrt(aim);
      const float radius = std::max(0.011F, largest * std::pow(rng.uniform(), 1.8F));
      stampLesion(texture, {s, t, radius, rng.range(0.0F, 90.0F)});
      severity = necroticShare(texture, leaf);
    }
    texture.severity = severity;
    result.push_back(std::move(texture));
  }
  return result;
}

}  // namespace edamori::scenes
