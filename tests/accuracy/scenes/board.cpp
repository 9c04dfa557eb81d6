// SPDX-License-Identifier: GPL-3.0-or-later
#include "board.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "blade.h"
#include "generator/raster.h"
#include "ground.h"
#include "stage.h"

namespace edamori::scenes {
namespace {

// How a blade lies: bent along its length, cupped or folded across it, waved at its margins.
struct Pose {
  float x = 0.0F;  // of the stalk end, px
  float y = 0.0F;
  float angle = 0.0F;  // heading of the tip; 0 down the picture
  float lengthPx = 100.0F;
  float widthFactor = 1.0F;
  float height = 4.0F;
  float pitch = 0.0F;  // rad at the stalk; rises
  float bend = 0.0F;   // change of the pitch along the blade, rad
  float cup = 0.0F;
  float fold = 0.0F;
  float wave = 0.0F;
  float sideways = 0.0F;
  float phase = 0.0F;
  Vec3 tint{1.0F, 1.0F, 1.0F};
};

struct Vertex {
  Vec3 point;  // x, y on the picture and height, px
  Vec3 normal;
  float mapX = 0.0F;
  float mapY = 0.0F;
};

constexpr int kAlong = 18;
constexpr int kAcross = 8;
using Grid = std::array<std::array<Vertex, kAcross + 1>, kAlong + 1>;

Grid bentGrid(const Blade& blade, const Pose& pose) {
  Grid grid;
  const float unit = 1.22F;  // the map covers 1.22 leaf lengths
  float y = 0.0F;
  float z = 0.0F;
  const float c = std::cos(pose.angle);
  const float s = std::sin(pose.angle);
  for (int i = 0; i <= kAlong; ++i) {
    const float t = fl(i) / kAlong;
    const float u = (t - 0.5F) * unit + 0.47F;
    const float pitch = pose.pitch + pose.bend * u;
    const float step = pose.lengthPx * unit / kAlong;
    y += step * std::cos(pitch);
    z += step * std::sin(pitch);
    for (int j = 0; j <= kAcross; ++j) {
      const float v = 2.0F * fl(j) / kAcross - 1.0F;
      const float half = 0.5F * pose.lengthPx * unit * fl(blade.width) / fl(blade.height) * pose.widthFactor;
      const float lift = half * (pose.cup * v * v + std::tan(pose.fold) * std::abs(v)) +
                         pose.wave * pose.lengthPx * std::abs(v) * std::sin(u * 17.0F + pose.phase + (v > 0.0F ? 1.3F : 0.0F));
      const float across = v * half * std::cos(pose.fold) + pose.sideways * u * u * pose.lengthPx;
      Vertex& vertex = grid[static_cast<std::size_t>(i)][static_cast<std::size_t>(j)];
      const float along = y - 0.14F * pose.lengthPx;
      vertex.point = {pose.x + across * c - along * s, pose.y + across * s + along * c, pose.height + z + lift};
      vertex.mapX = fl(j) / kAcross * fl(blade.width);
      vertex.mapY = t * fl(blade.height);
    }
  }
  for (std::size_t i = 0; i <= kAlong; ++i) {
    for (std::size_t j = 0; j <= kAcross; ++j) {
      const Vec3 du = grid[std::min<std::size_t>(i + 1, kAlong)][j].point - grid[i == 0 ? 0 : i - 1][j].point;
      const Vec3 dv = grid[i][std::min<std::size_t>(j + 1, kAcross)].point - grid[i][j == 0 ? 0 : j - 1].point;
      Vec3 normal = normalized(cross(dv, du));
      grid[i][j].normal = normal.z < 0.0F ? -normal : normal;
    }
  }
  return grid;
}

void placeBlade(Stage& stage, const Blade& blade, const Pose& pose) {
  const Grid grid = bentGrid(blade, pose);
  const float c = std::cos(pose.angle);
  const float s = std::sin(pose.angle);
  const RowBand band{0, stage.height(), stage.width()};
  const auto triangle = [&](const Vertex& a, const Vertex& b, const Vertex& d) {
    fillTriangle(band, {a.point.x, a.point.y, 1.0F}, {b.point.x, b.point.y, 1.0F}, {d.point.x, d.point.y, 1.0F},
                 [&](int index, float, float wa, float wb, float wd) {
      Surface& surface = stage.at(index);
      const float height = wa * a.point.z + wb * b.point.z + wd * d.point.z;
      if (height <= surface.height) {
        return;
      }
      const int mx = std::clamp(static_cast<int>(wa * a.mapX + wb * b.mapX + wd * d.mapX), 0, blade.width - 1);
      const int my = std::clamp(static_cast<int>(wa * a.mapY + wb * b.mapY + wd * d.mapY), 0, blade.height - 1);
      const BladePixel& p = blade.at(mx, my);
      if (p.cover < 0.5F) {
        return;
      }
      const Vec3 n = a.normal * wa + b.normal * wb + d.normal * wd;
      const float nz = std::max(n.z, 0.2F);
      surface.albedo = p.albedo * pose.tint;
      surface.height = height;
      surface.normalX = std::clamp(n.x / nz - (p.slopeX * c - p.slopeY * s), -3.0F, 3.0F);
      surface.normalY = std::clamp(n.y / nz - (p.slopeX * s + p.slopeY * c), -3.0F, 3.0F);
      surface.gloss = p.gloss;
      surface.label = p.label;
      surface.translucency = p.translucency;
    });
  };
  for (std::size_t i = 0; i < kAlong; ++i) {
    for (std::size_t j = 0; j < kAcross; ++j) {
      triangle(grid[i][j], grid[i + 1][j], grid[i][j + 1]);
      triangle(grid[i + 1][j + 1], grid[i][j + 1], grid[i + 1][j]);
    }
  }
}

Pose randomPose(float lengthPx, Rng& rng) {
  Pose pose;
  pose.lengthPx = lengthPx;
  pose.angle = rng.range(0.0F, 2.0F * kPi);
  pose.cup = 0.25F * rng.normal();
  pose.fold = rng.uniform() < 0.3F ? rng.range(-0.2F, 0.6F) : 0.0F;
  pose.wave = rng.uniform() < 0.5F ? rng.range(0.0F, 0.03F) : 0.0F;
  pose.bend = 0.5F * rng.normal();
  pose.pitch = -0.5F * pose.bend + 0.15F * rng.normal();
  pose.sideways = 0.06F * rng.normal();
  pose.phase = rng.range(0.0F, 6.0F);
  pose.tint = Vec3{1.0F, 1.0F, 1.0F} * std::exp(0.12F * rng.normal());
  return pose;
}

void addDrops(Stage& stage, Rng& rng) {
  const int count = 3 + rng.below(40);
  for (int k = 0; k < count; ++k) {
    const float cx = rng.uniform() * fl(stage.width());
    const float cy = rng.uniform() * fl(stage.height());
    const float r = fl(stage.width()) * rng.range(0.002F, 0.016F);
    for (int y = std::max(0, whole(cy - r)); y < std::min(stage.height(), whole(cy + r)); ++y) {
      for (int x = std::max(0, whole(cx - r)); x < std::min(stage.width(), whole(cx + r)); ++x) {
        const float dx = (fl(x) - cx) / r;
        const float dy = (fl(y) - cy) / r;
        const float d = dx * dx + dy * dy;
        Surface& s = stage.at(x, y);
        if (d < 1.0F && s.label != kNotFoliageLabel) {
          // Light gathers on the side away from the glint.
          s.albedo = s.albedo * (0.75F + 0.6F * d + 0.25F * (dx + dy));
          s.normalX = 0.3F * s.normalX + 0.9F * dx;
          s.normalY = 0.3F * s.normalY + 0.9F * dy;
          s.gloss = 0.95F;
        }
      }
    }
  }
}

void addHairs(Stage& stage, Rng& rng, int count) {
  const float size = fl(stage.width());
  const float radius = size * rng.range(0.0006F, 0.002F);
  const float heading = rng.range(0.0F, 2.0F * kPi);
  for (int k = 0; k < count; ++k) {
    const float x = rng.uniform() * size;
    const float y = rng.uniform() * fl(stage.height());
    const float a = heading + 0.5F * rng.normal();
    const float length = size * rng.range(0.01F, 0.06F);
    const float base = stage.at(whole(x), std::min(whole(y), stage.height() - 1)).height;
    drawStrip(stage, {x, y, base + 3.0F, radius}, {x + length * std::cos(a), y + length * std::sin(a), base + 12.0F, 0.4F * radius},
              [](Surface& s, float, float) {
      if (s.label != kNotFoliageLabel) {
        s.albedo = mix(s.albedo, Vec3{0.6F, 0.68F, 0.52F}, 0.6F);
      }
    });
  }
}

void dust(Stage& stage, Rng& rng) {  // Pale specks: stomata and hair bases seen close.
  const int count = 400 + rng.below(2500);
  for (int k = 0; k < count; ++k) {
    Surface& s = stage.at(rng.below(stage.width() - 1), rng.below(stage.height() - 1));
    s.albedo = s.albedo * 1.6F;
    s.gloss = 0.9F;
  }
}

LesionPlan maybeLesions(SceneSet set, Rng& rng, float chance) {
  return rng.uniform() < chance ? randomLesions(set, rng) : LesionPlan{};
}

void drawWholeFrameBlade(Stage& stage, SceneSet set, Rng& rng) {
  BladeLook look = randomLook(set, rng);
  if (look.outline == Outline::PinnateLobed || look.outline == Outline::PalmateLobed || look.outline == Outline::Linear) {
    look.outline = Outline::Elliptic;
    look.venation = rng.uniform() < 0.2F ? Venation::Parallel : Venation::Pinnate;
    look.aspect = 0.7F;
  }
  look.aspect = std::max(look.aspect, 0.45F);
  look.serration = 0.0F;
  look.relief = rng.range(0.05F, 0.45F);
  const float zoom = std::exp(rng.range(0.9F, 2.6F));
  BladeWindow window;
  window.width = stage.width();
  window.height = stage.height();
  window.unitsPerPx = 1.0F / (zoom * fl(stage.width()));
  window.angle = rng.range(0.0F, 2.0F * kPi);
  window.x0 = rng.range(-0.3F, 0.3F) * look.aspect * 0.6F;
  window.y0 = rng.range(0.35F, 0.65F);
  LesionPlan plan = maybeLesions(set, rng, 0.68F);
  plan.sizeFactor *= mix(1.0F, 1.0F / std::sqrt(zoom), 0.5F);
  const Blade blade = paintBladeWindow(look, plan, window, rng);
  layBoard(stage, set, rng);
  const float tilt = rng.range(0.0F, 0.6F);
  const float seed = rng.uniform();
  for (int y = 0; y < stage.height(); ++y) {
    for (int x = 0; x < stage.width(); ++x) {
      const BladePixel& p = blade.at(x, y);
      if (p.cover < 0.5F) {
        continue;
      }
      const float ux = 0.13F * fl(x) / fl(stage.width()) + seed;
      const float uy = 0.13F * fl(y) / fl(stage.width()) + seed;
      Surface& s = stage.at(x, y);
      s.albedo = p.albedo;
      s.height = 40.0F;
      s.normalX = 2.0F * tilt * (tileNoise(ux, uy) - 0.5F) - p.slopeX;
      s.normalY = 2.0F * tilt * (tileNoise(uy + 0.3F, ux) - 0.5F) - p.slopeY;
      s.gloss = p.gloss;
      s.label = p.label;
      s.translucency = p.translucency;
    }
  }
  if (rng.uniform() < 0.3F) {
    addHairs(stage, rng, 20 + rng.below(250));
    dust(stage, rng);
  }
}

void drawStalk(Stage& stage, const Pose& pose, Vec3 colour, Rng& rng) {
  const float length = pose.lengthPx * rng.range(0.05F, 0.35F);
  const float angle = pose.angle + 0.25F * rng.normal();
  const float radius = pose.lengthPx * rng.range(0.006F, 0.016F);
  drawStrip(stage, {pose.x, pose.y, pose.height, radius},
            {pose.x + length * std::sin(angle), pose.y - length * std::cos(angle), pose.height, radius * 1.2F},
            [&](Surface& s, float, float across) {
    s.albedo = colour * (0.85F + 0.2F * across);
    s.label = kSoundLabel;
  });
}

void drawLeavesOnBoard(Stage& stage, SceneSet set, Rng& rng) {
  layBoard(stage, set, rng);
  if (rng.uniform() < 0.3F) {
    scatterObjects(stage, rng, 1 + rng.below(3));
  }
  const int count = rng.uniform() < 0.5F ? 1 : 2 + rng.below(8);
  const float size = fl(stage.width());
  const float chance = 0.68F;
  const bool ill = rng.uniform() < chance;
  BladeLook look = randomLook(set, rng);
  const bool compound = rng.uniform() < 0.12F && count > 2;
  for (int k = 0; k < count; ++k) {
    if (k > 0 && rng.uniform() < 0.25F && !compound) {
      look = randomLook(set, rng);
    }
    const float fit = std::min(1.0F, 0.72F / std::max(look.aspect, 0.4F));
    const float length = size * (count == 1 ? rng.range(0.5F, 1.15F) : rng.range(0.22F, 0.6F)) * fit;
    const LesionPlan plan = ill && (count == 1 || rng.uniform() < 0.8F) ? randomLesions(set, rng) : LesionPlan{};
    const Blade blade = paintBlade(look, plan, static_cast<int>(length * 1.25F), rng);
    Pose pose = randomPose(length, rng);
    const float reach = count == 1 ? 0.08F : 0.38F;
    pose.x = size * (0.5F + rng.range(-reach, reach)) + 0.5F * length * std::sin(pose.angle);
    pose.y = fl(stage.height()) * (0.5F + rng.range(-reach, reach)) - 0.5F * length * std::cos(pose.angle);
    if (compound) {
      const float t = fl(k / 2) / fl(std::max(1, count / 2));
      pose.angle = 0.3F + (k % 2 == 0 ? 1.1F : -1.1F);
      pose.x = size * (0.35F + 0.35F * t);
      pose.y = fl(stage.height()) * (0.2F + 0.6F * t);
    }
    pose.height = 0.0F;
    float lowest = 1e6F;
    for (const auto& row : bentGrid(blade, pose)) {
      for (const Vertex& v : row) {
        lowest = std::min(lowest, v.point.z);
      }
    }
    // Some leaves are held or laid a little above the board.
    pose.height = size * (0.002F + 0.008F * fl(k) + (rng.uniform() < 0.2F ? 0.03F * rng.uniform() : 0.0F)) - lowest;
    drawStalk(stage, pose, mix(look.veinColour, look.colour, 0.4F), rng);
    placeBlade(stage, blade, pose);
  }
  if (rng.uniform() < 0.1F) {
    addHairs(stage, rng, 60);
  }
  // Tape and rulers may lie over the leaves too; their heights decide.
  if (rng.uniform() < 0.08F) {
    scatterObjects(stage, rng, 1);
  }
}

std::vector<Blade> bladeStock(SceneSet set, Rng& rng, const BladeLook& look, int count, int lengthPx, float illShare, float yellowShare) {
  std::vector<Blade> stock;
  for (int k = 0; k < count; ++k) {
    BladeLook own = look;
    if (rng.uniform() < yellowShare) {
      own.second = fromSrgb(206, 186, 78);
      own.secondShare = rng.range(0.3F, 0.8F);
    }
    stock.push_back(paintBlade(own, maybeLesions(set, rng, illShare), lengthPx, rng));
  }
  return stock;
}

float groundAt(Stage& stage, float x, float y) {
  return stage.at(std::clamp(whole(x), 0, stage.width() - 1), std::clamp(whole(y), 0, stage.height() - 1)).height;
}

void drawPlant(Stage& stage, const std::vector<Blade>& stock, float x, float y, float sizePx, bool grass, Rng& rng) {
  const int leaves = grass ? 2 + rng.below(7) : rng.uniform() < 0.3F ? 2 : 4 + rng.below(14);
  const float turn = rng.range(0.0F, 6.28F);
  const bool rosette = rng.uniform() < 0.7F;
  const float base = std::min(groundAt(stage, x, y), 150.0F);
  for (int k = 0; k < leaves; ++k) {
    Pose pose = randomPose(sizePx * rng.range(0.5F, 1.0F) * (leaves == 2 ? 1.0F : mix(1.0F, 0.35F, fl(k) / fl(leaves))), rng);
    pose.angle = leaves == 2 ? turn + kPi * fl(k) + rng.range(-0.2F, 0.2F) : turn + 2.39996F * fl(k) + rng.range(-0.3F, 0.3F);
    const float stalk = rosette ? pose.lengthPx * rng.range(0.02F, 0.5F) : 0.0F;
    pose.x = x - stalk * std::sin(pose.angle);
    pose.y = y + stalk * std::cos(pose.angle);
    pose.height = base + 8.0F + sizePx * 0.1F * fl(k) / fl(leaves) + 0.2F * stalk;
    pose.pitch = grass ? rng.range(0.3F, 1.3F) : rng.range(0.0F, 0.7F);
    pose.bend = grass ? rng.range(-1.8F, 0.2F) : rng.range(-0.9F, 0.1F);
    if (stalk > 3.0F) {
      drawStrip(stage, {x, y, base + 4.0F, sizePx * 0.016F}, {pose.x, pose.y, pose.height, sizePx * 0.012F}, [](Surface& s, float, float) {
        s.albedo = {0.22F, 0.3F, 0.12F};
        s.label = kSoundLabel;
      });
    }
    placeBlade(stage, stock[static_cast<std::size_t>(rng.below(static_cast<int>(stock.size())))], pose);
  }
}

void drawSeedlings(Stage& stage, SceneSet set, Rng& rng) {
  laySoil(stage, set, rng);
  if (rng.uniform() < 0.6F) {
    scatterDebris(stage, rng, 10 + rng.below(160));
  }
  if (rng.uniform() < 0.12F) {
    scatterObjects(stage, rng, 1 + rng.below(2));
  }
  const float size = fl(stage.width());
  const int sorts = 1 + rng.below(3);
  const float cover = rng.range(0.02F, 0.9F) * rng.range(0.3F, 1.0F);
  const float ill = rng.uniform() < 0.25F ? rng.range(0.1F, 0.5F) : 0.0F;
  for (int k = 0; k < sorts; ++k) {
    BladeLook look = randomLook(set, rng);
    const bool grass = rng.uniform() < 0.3F;
    if (grass) {
      look.outline = Outline::Linear;
      look.venation = Venation::Parallel;
      look.aspect = rng.range(0.04F, 0.1F);
      look.serration = 0.0F;
    }
    const float plant = size * std::exp(rng.range(-4.2F, -1.5F)) * (grass ? 1.6F : 1.0F);
    const std::vector<Blade> stock = bladeStock(set, rng, look, 5, std::max(24, static_cast<int>(plant)), ill, rng.uniform() < 0.4F ? 0.25F : 0.0F);
    const float area = plant * plant * (grass ? 0.25F : 0.9F);
    const int count = std::clamp(static_cast<int>(cover * size * fl(stage.height()) / area / fl(sorts)), 1, 500);
    const float rows = rng.uniform() < 0.25F ? size / rng.range(3.0F, 9.0F) : 0.0F;
    for (int p = 0; p < count; ++p) {
      float x = rng.uniform() * size;
      if (rows > 0.0F) {
        x = (std::floor(x / rows) + 0.5F) * rows + 0.12F * rows * rng.normal();
      }
      drawPlant(stage, stock, x, rng.uniform() * fl(stage.height()), plant * std::exp(0.3F * rng.normal()), grass, rng);
    }
  }
  if (rng.uniform() < 0.12F) {
    addDrops(stage, rng);
  }
}

struct NeedleLook {
  Vec3 colour;
  Vec3 base;
  Vec3 dead;
  Vec3 band;
  float lengthPx = 200.0F;
  float radiusPx = 4.0F;
  float blight = 0.0F;  // share of needles ill
  int illness = 0;      // 0 tips, 1 bands, 2 whole, 3 mixed
  float yellowing = 0.0F;
};

NeedleLook randomNeedles(SceneSet set, float size, Rng& rng) {
  NeedleLook look;
  look.colour = randomLook(set, rng).colour;
  if (look.colour.x > look.colour.y * 1.05F) {  // Needles are seldom red; keep a tenth as golden sorts.
    look.colour = rng.uniform() < 0.1F ? fromSrgb(190, 170, 70) : fromSrgb(64, 100, 52);
  }
  look.base = look.colour * rng.range(0.6F, 1.3F);
  look.dead = mix(fromSrgb(150, 88, 50), fromSrgb(132, 100, 72), rng.uniform()) * std::exp(0.2F * rng.normal());
  look.band = mix(fromSrgb(140, 54, 34), fromSrgb(96, 60, 36), rng.uniform()) * std::exp(0.2F * rng.normal());
  look.lengthPx = size * std::exp(rng.range(-3.4F, -1.3F));
  // Needles thinner than a pixel of the finished picture show no bands or tips that anybody could judge.
  look.radiusPx = std::max(2.0F, look.lengthPx * rng.range(0.008F, 0.026F));
  look.blight = rng.uniform() < 0.65F ? rng.range(0.04F, 0.9F) : 0.0F;
  look.illness = rng.below(4);
  look.yellowing = rng.uniform() < 0.3F ? rng.range(0.1F, 0.7F) : 0.0F;
  return look;
}

void drawNeedle(Stage& stage, const NeedleLook& look, StripPoint from, float angle, float rise, Rng& rng) {
  const float length = look.lengthPx * rng.range(0.7F, 1.05F);
  const float bend = 0.15F * rng.normal();
  const bool ill = rng.uniform() < look.blight;
  const int illness = look.illness == 3 ? rng.below(3) : look.illness;
  const float from0 = ill ? (illness == 0 ? rng.range(0.2F, 0.9F) : illness == 2 ? -1.0F : 2.0F) : 2.0F;
  std::array<float, 3> bands{9.0F, 9.0F, 9.0F};
  for (int k = 0; ill && illness == 1 && k < 3; ++k) {
    bands.at(static_cast<std::size_t>(k)) = rng.uniform() < 0.6F ? rng.range(0.1F, 0.95F) : 9.0F;
  }
  const float bandHalf = rng.range(0.02F, 0.08F);
  const float tone = std::exp(0.16F * rng.normal());
  const float seed = rng.uniform();
  const Vec3 sound = mix(look.colour, fromSrgb(190, 176, 80), look.yellowing * rng.uniform()) * tone;
  constexpr int kParts = 4;
  StripPoint a = from;
  for (int part = 0; part < kParts; ++part) {
    const float t0 = fl(part) / kParts;
    StripPoint b = a;
    b.x += std::cos(angle) * length / kParts;
    b.y += std::sin(angle) * length / kParts;
    b.height += rise * length / kParts;
    b.radius = look.radiusPx * (part == kParts - 1 ? 0.35F : 1.0F);
    drawStrip(stage, a, b, [&](Surface& s, float along, float across) {
      const float t = t0 + along / kParts;
      const float n = tileNoise(seed + 0.5F * t, seed + 0.03F * across) - 0.5F;
      Vec3 c = mix(look.base * tone, sound, smoothStep(0.0F, 0.3F, t)) * (1.0F + 0.8F * n);
      c = c * (1.0F + 0.18F * std::cos(across * 6.0F));  // stomatal lines and the groove
      s.label = kSoundLabel;
      float nearest = 9.0F;
      for (const float band : bands) {
        nearest = std::min(nearest, std::abs(t - band) / bandHalf);
      }
      c = mix(c, fromSrgb(196, 170, 70), 0.7F * smoothStep(2.6F, 1.1F, nearest));
      const float dead = t - from0 + 0.06F * n;
      if (from0 < 1.5F) {
        c = mix(c, fromSrgb(190, 166, 70), 0.6F * smoothStep(-0.14F, 0.0F, dead));
      }
      if (nearest < 1.0F || dead > 0.0F) {
        c = (nearest < 1.0F ? look.band : look.dead) * (tone * (1.0F + 1.5F * n));
        s.label = kSpottedLabel;
      }
      s.albedo = c;
      s.gloss = 0.35F;
      s.translucency = 40;
    });
    a = b;
    angle += bend / kParts;
    rise -= 0.05F;
  }
}

void drawShoot(Stage& stage, const NeedleLook& look, float x, float y, float heading, float depth, Rng& rng) {
  const int form = rng.below(4);  // bottle brush, fan at the tip, flat comb, tufts
  const float length = look.lengthPx * rng.range(1.5F, 6.0F);
  const Vec3 bark = mix(fromSrgb(110, 84, 60), fromSrgb(150, 110, 70), rng.uniform());
  const float radius = look.radiusPx * rng.range(1.2F, 2.6F);
  const float spacing = std::max(look.radiusPx * rng.range(0.8F, 2.2F), length / 130.0F);
  const int steps = static_cast<int>(length / spacing);
  StripPoint a{x, y, depth, radius};
  const float bend = 0.5F * rng.normal() / fl(steps + 1);
  for (int k = 0; k < steps; ++k) {
    StripPoint b = a;
    b.x += spacing * std::cos(heading);
    b.y += spacing * std::sin(heading);
    b.radius = radius * (1.0F - 0.6F * fl(k) / fl(steps));
    drawTwig(stage, a, b, bark, rng);
    a = b;
    heading += bend;
    const bool tuft = form == 3 ? k % std::max(1, steps / 6) == 0 : form == 1 ? k == steps - 1 : true;
    const int needles = !tuft ? 0 : form == 3 ? 16 + rng.below(16) : form == 1 ? 40 + rng.below(50) : 2;
    for (int q = 0; q < needles; ++q) {
      const float side = q % 2 == 0 ? 1.0F : -1.0F;
      const float spread = form == 2 ? side * rng.range(0.9F, 1.3F)
                           : form == 1 ? rng.range(-1.9F, 1.9F)
                           : form == 3 ? rng.range(-kPi, kPi) : side * rng.range(0.05F, 1.1F);
      const float rise = form == 2 ? rng.range(-0.1F, 0.2F) : rng.range(-0.5F, 0.7F);
      const float forward = 1.0F - 0.75F * smoothStep(0.6F, 1.0F, fl(k) / fl(steps)) * (form == 0 || form == 2 ? 1.0F : 0.0F);
      NeedleLook own = look;
      own.lengthPx *= mix(0.6F, 1.0F, forward);
      drawNeedle(stage, own, {b.x, b.y, depth + (rise > 0.0F ? 0.7F : -0.4F) * b.radius, look.radiusPx}, heading + spread * forward, rise, rng);
    }
  }
}

void drawNeedles(Stage& stage, SceneSet set, Rng& rng) {
  hangBackdrop(stage, rng);
  const float size = fl(stage.width());
  const NeedleLook look = randomNeedles(set, size, rng);
  NeedleLook other = look;  // an ill or sound neighbour
  other.blight = rng.uniform() * look.blight;
  const float room = size / look.lengthPx;
  const int most = std::clamp(static_cast<int>(room * room * 0.25F), 2, 60);
  const int count = std::max(2, most / 5) + rng.below(most);
  const float trend = rng.range(0.0F, 2.0F * kPi);
  const float twist = rng.range(0.2F, 2.0F);
  for (int k = 0; k < count; ++k) {
    drawShoot(stage, rng.uniform() < 0.6F ? look : other, rng.range(0.1F, 0.9F) * size, rng.range(0.1F, 0.9F) * fl(stage.height()),
              trend + twist * rng.normal(), 20.0F + 200.0F * fl(k) / fl(count), rng);
  }
}

void drawCanopy(Stage& stage, SceneSet set, Rng& rng) {
  hangBackdrop(stage, rng);
  if (rng.uniform() < 0.45F) {
    laySoil(stage, set, rng);
    for (int y = 0; y < stage.height(); ++y) {
      for (int x = 0; x < stage.width(); ++x) {
        stage.at(x, y).albedo = stage.at(x, y).albedo * 0.5F;
        stage.at(x, y).height -= 500.0F;
      }
    }
  }
  const float size = fl(stage.width());
  for (int k = rng.below(14); k > 0; --k) {
    const float x = rng.uniform() * size;
    const float y = rng.uniform() * fl(stage.height());
    const float a = rng.range(0.0F, 2.0F * kPi);
    const float length = size * rng.range(0.2F, 0.8F);
    const float r = size * rng.range(0.001F, 0.007F);
    const float z = rng.range(0.0F, 300.0F);
    drawTwig(stage, {x, y, z, r}, {x + length * std::cos(a), y + length * std::sin(a), z + 20.0F, 0.6F * r}, fromSrgb(112, 92, 74), rng);
  }
  BladeLook look = randomLook(set, rng);
  if (look.outline == Outline::Linear) {
    look.outline = Outline::Lanceolate;
    look.aspect = 0.25F;
  }
  const float leaf = size * std::exp(rng.range(-3.3F, -1.6F));
  const float ill = rng.uniform() < 0.65F ? rng.range(0.05F, 0.8F) : 0.0F;
  const std::vector<Blade> stock = bladeStock(set, rng, look, 9, static_cast<int>(leaf * 1.2F), ill, rng.uniform() < 0.3F ? 0.2F : 0.0F);
  const float layers = rng.range(0.4F, 3.5F);
  const float area = leaf * leaf * std::min(look.aspect, 0.8F) * 0.6F;
  const int count = std::clamp(static_cast<int>(layers * size * fl(stage.height()) / area), 20, 1500);
  const float droop = rng.range(0.0F, 2.0F * kPi);
  const float order = rng.range(0.3F, 3.0F);
  const float deep = rng.range(100.0F, 500.0F);
  for (int k = 0; k < count; ++k) {
    Pose pose = randomPose(leaf * rng.range(0.55F, 1.15F), rng);
    pose.angle = droop + order * rng.normal();
    pose.x = rng.range(-0.05F, 1.05F) * size;
    pose.y = rng.range(-0.05F, 1.05F) * fl(stage.height());
    const float z = fl(k) / fl(count);
    pose.height = deep * z;
    pose.pitch += 0.45F * rng.normal();
    pose.tint = pose.tint * mix(0.55F, 1.0F, z);
    if (rng.uniform() < 0.12F) {  // paler underside
      pose.tint = pose.tint * Vec3{1.35F, 1.25F, 1.4F};
    }
    placeBlade(stage, stock[static_cast<std::size_t>(rng.below(static_cast<int>(stock.size())))], pose);
  }
  if (rng.uniform() < 0.15F) {
    addDrops(stage, rng);
  }
}

}  // namespace

DrawnPicture drawBoard(SceneSet set, std::uint64_t index, int sidePx) {
  Rng rng(seedOf(set, index));
  const float shape = rng.uniform() < 0.8F ? 0.75F : 1.0F;
  const bool upright = rng.uniform() < 0.3F;
  const int shorter = static_cast<int>(fl(sidePx) * shape);
  Stage stage(2 * (upright ? shorter : sidePx), 2 * (upright ? sidePx : shorter));
  Light light = randomLight(rng, fl(sidePx));
  DrawnPicture drawn;
  float depthBlur = 0.0F;
  const float kind = rng.uniform();
  if (kind < 0.10F) {
    drawn.kind = "blade";
    drawWholeFrameBlade(stage, set, rng);
  } else if (kind < 0.40F) {
    drawn.kind = "leaves";
    drawLeavesOnBoard(stage, set, rng);
  } else if (kind < 0.60F) {
    drawn.kind = "seedlings";
    drawSeedlings(stage, set, rng);
  } else if (kind < 0.85F) {
    drawn.kind = "needles";
    drawNeedles(stage, set, rng);
  } else {
    drawn.kind = "canopy";
    drawCanopy(stage, set, rng);
    depthBlur = rng.uniform() < 0.5F ? rng.range(0.0F, 3.0F) : 0.0F;
  }
  if (kind < 0.40F && rng.uniform() < 0.1F) {
    addDrops(stage, rng);
  }
  if (rng.uniform() < (kind >= 0.85F ? 0.5F : 0.15F)) {
    light.dapple = rng.range(0.5F, 0.95F);
  }
  Lit scene = lit(stage, light);
  drawn.picture = photographed(scene, rng, depthBlur);
  drawn.labels = scene.labels;
  return drawn;
}

}  // namespace edamori::scenes
