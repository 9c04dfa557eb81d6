// SPDX-License-Identifier: GPL-3.0-or-later
// Limbs with bark of several kinds, and what is far behind them.
#include "canvas.h"

#include <array>

namespace edamori::scenes {

namespace {

std::uint64_t latticeKey(int x, int y, std::uint64_t seed) {
  return hashed(seed ^ (static_cast<std::uint64_t>(static_cast<std::uint32_t>(x)) << 32U) ^ static_cast<std::uint32_t>(y));
}

float quintic(float t) { return t * t * t * (t * (t * 6.0F - 15.0F) + 10.0F); }

// Bark at a place of a limb: u along, v around, in px.
struct BarkPoint {
  float height = 0.0F;  // px
  Vec3 albedo;
  float gloss = 0.03F;
};

BarkPoint smoothBark(const WoodPlan& plan, float u, float v, std::uint64_t seed) {
  const float g = plan.grainPx;
  const float fine = cloudAt(u / (0.5F * g), v / (0.4F * g), seed, 3) - 0.5F;
  const float broad = cloudAt(u / (6 * g), v / (4 * g), seed + 1, 3);
  return {.height = plan.relief * fine * 0.12F * g,
          .albedo = mix(plan.colour, plan.other, smoothStep(0.4F, 0.7F, broad)) * (1.0F + 0.5F * fine)};
}

BarkPoint platedBark(const WoodPlan& plan, float u, float v, std::uint64_t seed) {
  const float g = 4.0F * plan.grainPx;
  const float bend = cloudAt(u / g, v / g, seed + 3, 3) - 0.5F;
  const Cell cell = cellAt(u / (1.7F * g) + 0.5F * bend, v / g + 0.5F * bend, seed);
  const float crack = smoothStep(0.02F, 0.22F, cell.second - cell.nearest);
  const float fine = cloudAt(u / (0.15F * g), v / (0.1F * g), seed + 1, 3) - 0.5F;
  const Vec3 plate = mix(plan.colour, plan.other, hashedUnit(cell.key)) * (1.0F + 0.6F * fine);
  return {.height = plan.relief * (0.22F * g * crack * (0.7F + 0.6F * hashedUnit(cell.key + 1)) + 0.05F * g * fine),
          .albedo = mix(plan.colour * 0.25F, plate, crack)};
}

BarkPoint wrinkledBark(const WoodPlan& plan, float u, float v, std::uint64_t seed) {
  const float g = plan.grainPx;
  const float bend = 2.0F * cloudAt(u / (8 * g), v / (8 * g), seed + 2, 3);
  const float ridge = 1.0F - std::abs(2.0F * cloudAt(u / (3 * g), v / (0.8F * g) + bend, seed, 3) - 1.0F);
  const float broad = cloudAt(u / (9 * g), v / (5 * g), seed + 1, 3);
  return {.height = plan.relief * 0.45F * g * ridge,
          .albedo = mix(plan.colour, plan.other, smoothStep(0.35F, 0.7F, broad)) * (0.55F + 0.6F * ridge)};
}

BarkPoint lenticelledBark(const WoodPlan& plan, float u, float v, std::uint64_t seed) {
  BarkPoint bark = smoothBark(plan, u, v, seed);
  const float g = 2.2F * plan.grainPx;
  const Cell cell = cellAt(u / (0.7F * g), v / (1.8F * g), seed + 7);
  const float size = 0.08F + 0.22F * hashedUnit(cell.key);
  if (hashedUnit(cell.key + 2) < 0.8F) {
    const float inside = 1.0F - smoothStep(0.6F * size, size, cell.nearest);
    bark.height += plan.relief * inside * 0.07F * g;
    const Vec3 mark = hashedUnit(seed + 5) < 0.6F ? mix(plan.other, {0.45F, 0.33F, 0.22F}, 0.6F) : plan.colour * 0.4F;
    bark.albedo = mix(bark.albedo, mark, 0.8F * inside);
  }
  return bark;
}

BarkPoint mossyBark(const WoodPlan& plan, float u, float v, std::uint64_t seed) {
  BarkPoint bark = wrinkledBark(plan, u, v, seed);
  const float g = plan.grainPx;
  const float cushion = smoothStep(0.5F, 0.62F, cloudAt(u / (7 * g), v / (7 * g), seed + 11, 4));
  const float tuft = cloudAt(u / (0.25F * g), v / (0.25F * g), seed + 12, 2);
  const Vec3 moss = mix(fromSrgb(50, 62, 22), fromSrgb(132, 146, 56), tuft);
  bark.albedo = mix(bark.albedo, moss, cushion);
  bark.height += cushion * g * (0.3F + 0.5F * tuft);
  return bark;
}

BarkPoint flakingBark(const WoodPlan& plan, float u, float v, std::uint64_t seed) {
  const float g = 5.0F * plan.grainPx;
  const float level = cloudAt(u / g, v / (0.8F * g), seed, 5) * 5.0F;
  const float step = std::floor(level);
  const float edge = level - step;
  const float fine = cloudAt(u / (0.08F * g), v / (0.08F * g), seed + 1, 2) - 0.5F;
  const auto key = hashed(seed + static_cast<std::uint64_t>(step));
  const Vec3 tone = mix(plan.colour, plan.other, hashedUnit(key)) * (0.75F + 0.5F * hashedUnit(key + 1));
  return {.height = plan.relief * (0.08F * g * (step + smoothStep(0.0F, 0.12F, edge)) + 0.03F * g * fine),
          .albedo = tone * (1.0F + 0.4F * fine) * (0.6F + 0.4F * smoothStep(0.0F, 0.08F, edge))};
}

BarkPoint stringyBark(const WoodPlan& plan, float u, float v, std::uint64_t seed) {
  const float g = plan.grainPx;
  const float bend = 3.0F * cloudAt(u / (14 * g), v / (10 * g), seed + 2, 2);
  const float thread = cloudAt(u / (7 * g), v / (0.45F * g) + 2 * bend, seed, 4);
  const float strip = cloudAt(u / (16 * g), v / (2.5F * g) + bend, seed + 1, 3);
  return {.height = plan.relief * g * (0.5F * thread + 1.2F * smoothStep(0.42F, 0.55F, strip)),
          .albedo = mix(plan.colour, plan.other, strip) * (0.35F + 1.2F * thread)};
}

BarkPoint knobbyBark(const WoodPlan& plan, float u, float v, std::uint64_t seed) {
  BarkPoint bark = smoothBark(plan, u, v, seed);
  const float g = 2.6F * plan.grainPx;
  const float bend = 0.4F * (cloudAt(u / g, v / g, seed + 4, 2) - 0.5F);
  const Cell cell = cellAt(u / g + bend, v / g - bend, seed + 9);
  const float size = 0.2F + 0.35F * hashedUnit(cell.key);
  const float t = cell.nearest / size;
  if (t < 1.0F) {
    bark.height += plan.relief * 0.3F * g * size * std::sqrt(1.0F - t * t);
    bark.albedo = bark.albedo * (0.8F + 0.5F * hashedUnit(cell.key + 3));
  }
  return bark;
}

BarkPoint barkAt(const WoodPlan& plan, float u, float v, std::uint64_t seed) {
  switch (plan.look) {
    case BarkLook::Smooth: return smoothBark(plan, u, v, seed);
    case BarkLook::Plated: return platedBark(plan, u, v, seed);
    case BarkLook::Wrinkled:
    case BarkLook::Twigs: return wrinkledBark(plan, u, v, seed);
    case BarkLook::Lenticelled: return lenticelledBark(plan, u, v, seed);
    case BarkLook::Mossy: return mossyBark(plan, u, v, seed);
    case BarkLook::Flaking: return flakingBark(plan, u, v, seed);
    case BarkLook::Stringy: return stringyBark(plan, u, v, seed);
    case BarkLook::Knobby: break;
  }
  return knobbyBark(plan, u, v, seed);
}

Vec3 barkColour(SceneSet set, Rng& rng) {
  constexpr std::array<std::array<int, 3>, 12> kColours = {{{112, 92, 76}, {142, 128, 112}, {84, 68, 56}, {150, 118, 88},
      {96, 90, 84}, {120, 84, 62}, {176, 160, 140}, {66, 56, 48},
      // Only where nothing is trained: warm orange, cold slate, red-brown, green-grey.
      {186, 136, 96}, {92, 98, 104}, {116, 66, 50}, {116, 120, 96}}};
  const auto& c = kColours[static_cast<std::size_t>(rng.below(set == SceneSet::Tuning ? 8 : 12))];
  const Vec3 tone = fromSrgb(c[0], c[1], c[2]);
  return {tone.x * rng.range(0.8F, 1.25F), tone.y * rng.range(0.85F, 1.18F), tone.z * rng.range(0.8F, 1.2F)};
}

void addTwigs(WoodPlan& plan, float w, float h, Rng& rng) {
  const float angle = rng.range(0.0F, kPi);
  const float thick = rng.range(18.0F, 0.16F * h);
  const float x = rng.range(0.35F, 0.65F) * w;
  const float y = rng.range(0.35F, 0.65F) * h;
  const float reach = 0.9F * w;
  plan.limbs.push_back({x - reach * std::cos(angle), y - reach * std::sin(angle), x + reach * std::cos(angle), y + reach * std::sin(angle), thick * 1.15F, thick * 0.8F});
  for (int k = rng.below(5) + 1; k > 0; --k) {
    const float t = rng.range(-0.3F, 0.3F) * w;
    const float turn = angle + (rng.uniform() < 0.5F ? 1.0F : -1.0F) * rng.range(0.5F, 1.3F);
    const float from = thick * rng.range(0.3F, 0.85F);
    const float bx = x + t * std::cos(angle);
    const float by = y + t * std::sin(angle);
    plan.limbs.push_back({bx, by, bx + reach * std::cos(turn), by + reach * std::sin(turn), from, from * 0.6F, rng.range(-0.3F, 0.3F) * thick});
  }
}

void drawLimb(Canvas& canvas, const WoodPlan& plan, int index, std::uint64_t seed) {
  const Limb& limb = plan.limbs[static_cast<std::size_t>(index)];
  const float dx = limb.x1 - limb.x0;
  const float dy = limb.y1 - limb.y0;
  const float length = std::hypot(dx, dy);
  for (int y = 0; y < canvas.height(); ++y) {
    for (int x = 0; x < canvas.width(); ++x) {
      const float px = fl(x) + 0.5F - limb.x0;
      const float py = fl(y) + 0.5F - limb.y0;
      const float along = (px * dx + py * dy) / length;
      const float across = (py * dx - px * dy) / length;
      const float t = along / length;
      if (t < 0.0F || t > 1.0F) {
        continue;
      }
      const float radius = mix(limb.radius0, limb.radius1, t) * (1.0F + 0.12F * (noiseAt(along / (3 * limb.radius0), 0.5F, seed) - 0.5F));
      const float s = across / radius;
      if (std::abs(s) >= 1.0F) {
        continue;
      }
      const float round = radius * std::sqrt(1.0F - s * s) + limb.lift;
      Spot& spot = canvas.at(x, y);
      if (spot.wood >= 0 && spot.height > round) {
        continue;
      }
      const BarkPoint bark = barkAt(plan, along, radius * std::asin(s), seed);
      spot = {.albedo = bark.albedo, .height = round + bark.height, .base = round, .gloss = bark.gloss, .sharp = 12.0F, .glow = 0.0F, .wood = index, .insect = -1};
    }
  }
}

}  // namespace

std::string nameOf(BarkLook look) {
  constexpr std::array kNames = {"smooth", "plated", "wrinkled", "lenticelled", "mossy", "twigs", "flaking", "stringy", "knobby"};
  return kNames[static_cast<std::size_t>(look)];
}

float noiseAt(float x, float y, std::uint64_t seed) {
  const float fx = std::floor(x);
  const float fy = std::floor(y);
  const int ix = static_cast<int>(fx);
  const int iy = static_cast<int>(fy);
  const float tx = quintic(x - fx);
  const float ty = quintic(y - fy);
  const auto value = [seed](int a, int b) { return static_cast<float>(latticeKey(a, b, seed) >> 40U) * (1.0F / 16777216.0F); };
  return mix(mix(value(ix, iy), value(ix + 1, iy), tx), mix(value(ix, iy + 1), value(ix + 1, iy + 1), tx), ty);
}

float cloudAt(float x, float y, std::uint64_t seed, int octaves) {
  float sum = 0.0F;
  float weight = 0.5F;
  float total = 0.0F;
  for (int k = 0; k < octaves; ++k) {
    sum += weight * noiseAt(x, y, seed + 101U * static_cast<unsigned>(k));
    total += weight;
    weight *= 0.55F;
    x = 2.03F * x + 7.1F;
    y = 2.03F * y + 3.7F;
  }
  return sum / total;
}

Cell cellAt(float x, float y, std::uint64_t seed) {
  const int ix = static_cast<int>(std::floor(x));
  const int iy = static_cast<int>(std::floor(y));
  Cell cell;
  for (int b = iy - 1; b <= iy + 1; ++b) {
    for (int a = ix - 1; a <= ix + 1; ++a) {
      const std::uint64_t key = latticeKey(a, b, seed);
      const float away = std::hypot(x - fl(a) - hashedUnit(key + 17), y - fl(b) - hashedUnit(key + 31));
      if (away < cell.nearest) {
        cell.second = cell.nearest;
        cell.nearest = away;
        cell.key = key;
      } else if (away < cell.second) {
        cell.second = away;
      }
    }
  }
  return cell;
}

WoodPlan planWood(SceneSet set, BarkLook look, int width, int height, Rng& rng) {
  WoodPlan plan;
  plan.look = look;
  plan.colour = barkColour(set, rng);
  plan.other = barkColour(set, rng);
  plan.grainPx = 5.0F * std::exp(rng.range(0.0F, 1.8F));
  plan.relief = rng.range(0.3F, 1.3F);
  const float w = fl(width);
  const float h = fl(height);
  if (look == BarkLook::Twigs || rng.uniform() < 0.2F) {
    addTwigs(plan, w, h, rng);
    return plan;
  }
  // A trunk that fills a good part of the frame, or all of it; sometimes with a fork.
  const float angle = rng.range(0.0F, kPi);
  const float radius = h * std::exp(rng.range(-1.4F, 0.7F));
  const float off = rng.range(-0.3F, 0.3F) * radius;
  const float x = 0.5F * w - off * std::sin(angle);
  const float y = 0.5F * h + off * std::cos(angle);
  const float reach = w + h;
  plan.limbs.push_back({x - reach * std::cos(angle), y - reach * std::sin(angle), x + reach * std::cos(angle), y + reach * std::sin(angle), radius * 1.1F, radius * 0.9F});
  if (rng.uniform() < 0.35F) {
    const float turn = angle + rng.range(0.5F, 1.4F);
    plan.limbs.push_back({x, y, x + reach * std::cos(turn), y + reach * std::sin(turn), radius * rng.range(0.3F, 0.7F), radius * 0.3F, 0.4F * radius});
  }
  return plan;
}

void drawBackdrop(Canvas& canvas, Rng& rng) {
  constexpr std::array<std::array<int, 3>, 8> kTones = {{{70, 96, 44}, {120, 140, 80}, {150, 140, 120}, {60, 56, 50}, {190, 196, 200}, {30, 34, 26}, {110, 82, 60}, {214, 210, 200}}};
  const auto tone = [&] {
    const auto& c = kTones[static_cast<std::size_t>(rng.below(8))];
    return fromSrgb(c[0], c[1], c[2]);
  };
  const Vec3 a = tone();
  const Vec3 b = tone();
  const Vec3 c = tone();
  const float size = rng.range(40.0F, 200.0F);
  const auto seed = hashed(static_cast<std::uint64_t>(rng.below(1 << 24)));
  const float discs = rng.uniform() < 0.5F ? rng.range(20.0F, 60.0F) : 0.0F;
  for (int y = 0; y < canvas.height(); ++y) {
    for (int x = 0; x < canvas.width(); ++x) {
      Spot& spot = canvas.at(x, y);
      spot = {};
      spot.height = -2000.0F;
      spot.albedo = mix(mix(a, b, smoothStep(0.3F, 0.7F, cloudAt(fl(x) / size, fl(y) / size, seed, 3))), c, smoothStep(0.5F, 0.8F, cloudAt(fl(x) / size, fl(y) / size, seed + 5, 3)));
      if (discs > 0.0F) {  // lights out of focus
        const Cell cell = cellAt(fl(x) / (3 * discs), fl(y) / (3 * discs), seed + 9);
        const float size3 = 0.12F + 0.2F * hashedUnit(cell.key);
        spot.albedo = mix(spot.albedo, (hashedUnit(cell.key + 1) < 0.7F ? 2.0F : 0.3F) * c, 0.6F * (1.0F - smoothStep(0.85F * size3, size3, cell.nearest)));
      }
    }
  }
}

void drawWood(Canvas& canvas, const WoodPlan& plan, Rng& rng) {
  for (int k = 0; k < static_cast<int>(plan.limbs.size()); ++k) {
    drawLimb(canvas, plan, k, hashed(static_cast<std::uint64_t>(rng.below(1 << 24))));
  }
}

}  // namespace edamori::scenes
