// SPDX-License-Identifier: GPL-3.0-or-later
// What sits on the wood: scale insects, and much that looks like them.
#include "canvas.h"

#include <array>
#include <cmath>

namespace edamori::scenes {

namespace {

// A place on a limb, and how the camera sees its surface there.
struct Site {
  float x = 0.0F, y = 0.0F;    // px
  float cosAlong = 1.0F, sinAlong = 0.0F;
  float lean = 1.0F;           // shortening across the limb
  float base = 0.0F;           // px, relief of the bark at the place
  bool isGood = false;
};

Site siteAt(Canvas& canvas, const WoodPlan& plan, float x, float y) {
  Site site{.x = x, .y = y};
  const int ix = static_cast<int>(x);
  const int iy = static_cast<int>(y);
  if (!canvas.holds(ix, iy) || canvas.at(ix, iy).wood < 0) {
    return site;
  }
  const Spot& spot = canvas.at(ix, iy);
  const Limb& limb = plan.limbs[static_cast<std::size_t>(spot.wood)];
  const float length = std::hypot(limb.x1 - limb.x0, limb.y1 - limb.y0);
  site.cosAlong = (limb.x1 - limb.x0) / length;
  site.sinAlong = (limb.y1 - limb.y0) / length;
  const float across = (y - limb.y0) * site.cosAlong - (x - limb.x0) * site.sinAlong;
  const float t = ((x - limb.x0) * site.cosAlong + (y - limb.y0) * site.sinAlong) / length;
  const float s = across / mix(limb.radius0, limb.radius1, clamp01(t));
  site.lean = std::sqrt(std::max(0.0F, 1.0F - s * s));
  site.base = spot.height - spot.base;
  site.isGood = site.lean > 0.4F;
  return site;
}

Site randomSite(Canvas& canvas, const WoodPlan& plan, Rng& rng) {
  for (int attempt = 0; attempt < 60; ++attempt) {
    const Site site = siteAt(canvas, plan, rng.uniform() * fl(canvas.width()), rng.uniform() * fl(canvas.height()));
    if (site.isGood) {
      return site;
    }
  }
  return {};
}

// An ellipse that lies on the bark: half axes in px, turned against the limb, with a wavy rim.
struct Lying {
  Site site;
  float a = 5.0F, b = 5.0F, turn = 0.0F, wave = 0.0F, wavePhase = 0.0F;
  int waves = 3;

  [[nodiscard]] float reach() const { return 1.6F * std::max(a, b) + 2.0F; }
  struct Place {
    float p, q, d;  // along and across its long axis, and distance; 1 at the rim
  };
  [[nodiscard]] Place placeOf(int x, int y) const {
    const float dx = fl(x) + 0.5F - site.x;
    const float dy = fl(y) + 0.5F - site.y;
    const float along = dx * site.cosAlong + dy * site.sinAlong;
    const float across = (dy * site.cosAlong - dx * site.sinAlong) / site.lean;
    const float c = std::cos(turn);
    const float s = std::sin(turn);
    const float p = (along * c + across * s) / a;
    const float q = (across * c - along * s) / b;
    const float rim = 1.0F + wave * std::sin(fl(waves) * std::atan2(q, p) + wavePhase);
    return {p / rim, q / rim, std::hypot(p, q) / rim};
  }
  [[nodiscard]] float coverOf(float d) const { return clamp01((1.0F - d) * std::sqrt(a * b * site.lean) + 0.5F); }
  [[nodiscard]] float radiusPx() const { return std::sqrt(a * b * site.lean); }
};

Lying lyingAt(const Site& site, float radius, float aspect, Rng& rng) {
  Lying lying{.site = site};
  lying.a = radius * std::sqrt(aspect);
  lying.b = radius / std::sqrt(aspect);
  lying.turn = rng.range(0.0F, kPi);
  lying.wavePhase = rng.range(0.0F, 6.0F);
  return lying;
}

struct Body {
  Vec3 colour{}, rim{}, dust{};
  float tall = 0.6F;      // height over radius
  float shape = 0.5F;     // exponent of the dome
  float gloss = 0.4F, sharp = 40.0F;
  float mottle = 0.2F;
  float ridge = 0.0F;     // a pale line along the back
  float bands = 0.0F;     // folds across
  float dusting = 0.0F;   // share with wax
  float fringe = 0.0F;    // pale wax around the rim
  bool isDead = false;
  float hole = 0.0F;      // left by a parasitoid, share of the radius
};

Vec3 insectColour(Rng& rng) {
  constexpr std::array<std::array<int, 3>, 8> kTones = {{{72, 30, 24}, {98, 46, 32}, {128, 66, 44}, {58, 30, 26}, {112, 60, 34}, {90, 30, 30}, {140, 84, 56}, {44, 26, 24}}};
  const auto& a = kTones[static_cast<std::size_t>(rng.below(8))];
  const auto& b = kTones[static_cast<std::size_t>(rng.below(8))];
  return mix(fromSrgb(a[0], a[1], a[2]), fromSrgb(b[0], b[1], b[2]), rng.uniform()) * rng.range(0.8F, 1.2F);
}

Body kindOfInsect(Rng& rng) {
  Body body;
  body.colour = insectColour(rng);
  body.rim = body.colour * rng.range(0.5F, 1.5F);
  body.dust = mix(fromSrgb(200, 190, 180), fromSrgb(150, 140, 136), rng.uniform());
  body.tall = rng.range(0.3F, 1.0F);
  body.shape = rng.range(0.35F, 0.9F);
  body.gloss = rng.range(0.1F, 0.9F);
  body.sharp = std::exp(rng.range(2.3F, 4.6F));
  body.mottle = rng.range(0.0F, 0.5F);
  body.ridge = rng.uniform() < 0.3F ? rng.range(0.2F, 0.6F) : 0.0F;
  body.bands = rng.uniform() < 0.3F ? rng.range(0.1F, 0.4F) : 0.0F;
  body.dusting = rng.uniform() < 0.3F ? rng.range(0.1F, 0.5F) : 0.0F;
  body.fringe = rng.uniform() < 0.25F ? rng.range(0.3F, 0.9F) : 0.0F;
  return body;
}

Body thisOne(Body body, Rng& rng) {
  body.colour = body.colour * rng.range(0.75F, 1.3F);
  body.gloss *= rng.range(0.6F, 1.2F);
  body.tall *= rng.range(0.8F, 1.2F);
  if (rng.uniform() < 0.12F) {
    body.isDead = true;
    const float grey = luminance(body.colour) * rng.range(1.2F, 4.0F) + 0.02F;
    body.colour = mix(body.colour, {grey * 1.08F, grey, grey * 0.92F}, rng.range(0.5F, 0.95F));
    body.rim = body.colour * 0.7F;
    body.gloss *= 0.3F;
    body.hole = rng.uniform() < 0.35F ? rng.range(0.15F, 0.35F) : 0.0F;
  }
  return body;
}

void drawBody(Canvas& canvas, const Lying& lying, const Body& body, int insect, Rng& rng) {
  const auto seed = hashed(static_cast<std::uint64_t>(rng.below(1 << 24)));
  const float radius = std::sqrt(lying.a * lying.b);
  const float holeP = rng.range(-0.4F, 0.4F);
  canvas.around(lying.site.x, lying.site.y, lying.reach(), [&](int x, int y) {
    Spot& spot = canvas.at(x, y);
    const auto at = lying.placeOf(x, y);
    if (spot.wood < 0) {
      return;
    }
    if (body.fringe > 0.0F && at.d > 0.9F && at.d < 1.3F) {
      spot.albedo = mix(spot.albedo, body.dust, body.fringe * (1.0F - smoothStep(1.02F, 1.25F, at.d)));
    }
    const float cover = lying.coverOf(at.d);
    if (cover <= 0.0F) {
      return;
    }
    const float inside = std::max(0.0F, 1.0F - at.d * at.d);
    Vec3 colour = mix(body.colour, body.rim, at.d * at.d * 0.8F);
    colour = colour * (1.0F + body.mottle * 2.0F * (cloudAt(3.0F * at.p, 3.0F * at.q, seed, 3) - 0.5F));
    colour = mix(colour, colour * 2.2F, body.ridge * (1.0F - smoothStep(0.05F, 0.2F, std::abs(at.q))));
    colour = colour * (1.0F - body.bands * (0.5F + 0.5F * std::sin(14.0F * at.p)));
    colour = mix(colour, body.dust, body.dusting * smoothStep(0.45F, 0.65F, cloudAt(2.5F * at.p, 2.5F * at.q, seed + 5, 3)));
    float gloss = body.gloss * (1.0F - 0.6F * body.dusting);
    float height = spot.base + lying.site.base + body.tall * radius * std::pow(inside, body.shape);
    if (body.hole > 0.0F && std::hypot(at.p - holeP, at.q) < body.hole) {
      colour = {0.004F, 0.004F, 0.004F};
      height -= 0.3F * radius;
      gloss = 0.0F;
    }
    spot.albedo = mix(spot.albedo, colour, cover);
    spot.height = mix(spot.height, height, cover);
    spot.gloss = mix(spot.gloss, gloss, cover);
    spot.sharp = body.sharp;
    if (cover > 0.5F) {
      spot.insect = insect;
    }
  });
}

// A lump in the bark's own colour, a stone, a bud, a drop, a bead of resin: never an insect.
void drawLump(Canvas& canvas, const Lying& lying, const Body& body, Rng& rng) { drawBody(canvas, lying, body, -1, rng); }

Vec3 colourAt(Canvas& canvas, const Site& site) { return canvas.at(static_cast<int>(site.x), static_cast<int>(site.y)).albedo; }

void addWart(Canvas& canvas, const Site& site, float r, Rng& rng) {
  Body body{.colour = colourAt(canvas, site) * rng.range(0.7F, 1.4F)};
  body.rim = body.colour * rng.range(0.5F, 1.1F);
  body.tall = rng.range(0.2F, 0.8F);
  body.gloss = rng.range(0.0F, 0.12F);
  body.mottle = rng.range(0.2F, 0.6F);
  Lying lying = lyingAt(site, r, rng.range(1.0F, 1.8F), rng);
  lying.wave = rng.range(0.0F, 0.15F);
  drawLump(canvas, lying, body, rng);
}

void addGrain(Canvas& canvas, const Site& site, float r, Rng& rng) {
  constexpr std::array<std::array<int, 3>, 6> kTones = {{{60, 46, 36}, {120, 100, 80}, {150, 146, 140}, {92, 62, 44}, {36, 30, 28}, {180, 150, 110}}};
  const auto& c = kTones[static_cast<std::size_t>(rng.below(6))];
  Body body{.colour = fromSrgb(c[0], c[1], c[2]) * rng.range(0.7F, 1.3F)};
  body.rim = body.colour * rng.range(0.6F, 1.0F);
  body.tall = rng.range(0.4F, 1.2F);
  body.shape = rng.range(0.2F, 0.5F);
  body.gloss = rng.range(0.0F, 0.1F);
  body.mottle = rng.range(0.6F, 1.4F);
  Lying lying = lyingAt(site, r, rng.range(1.0F, 2.0F), rng);
  lying.wave = rng.range(0.15F, 0.35F);
  lying.waves = 3 + rng.below(4);
  drawLump(canvas, lying, body, rng);
}

// Scales of a bud: pointed, one over the other.
void addBud(Canvas& canvas, const Site& site, float r, Rng& rng) {
  const Vec3 colour = mix(insectColour(rng), fromSrgb(130, 90, 50), rng.uniform());
  const float turn = rng.range(0.0F, kPi);
  for (int k = 0; k < 4; ++k) {
    Body body{.colour = colour * rng.range(0.8F, 1.3F)};
    body.rim = body.colour * rng.range(0.4F, 0.8F);
    body.tall = 0.7F;
    body.gloss = rng.range(0.1F, 0.5F);
    Lying lying = lyingAt(site, r * (1.0F - 0.18F * fl(k)), rng.range(1.9F, 2.8F), rng);
    lying.turn = turn + rng.range(-0.35F, 0.35F);
    lying.site.x += 0.5F * r * fl(k) * std::cos(turn) * site.cosAlong;
    lying.site.y += 0.5F * r * fl(k) * std::cos(turn) * site.sinAlong;
    lying.site.base += 0.3F * r * fl(k);
    drawLump(canvas, lying, body, rng);
  }
}

// Clear water: it shows the bark below it, gathers light opposite its highlight.
void addDrop(Canvas& canvas, const Site& site, float r, Rng& rng) {
  Lying lying = lyingAt(site, r, rng.range(1.0F, 1.3F), rng);
  lying.wave = rng.range(0.0F, 0.08F);
  const float amber = rng.uniform() < 0.2F ? 1.0F : 0.0F;  // resin
  canvas.around(site.x, site.y, lying.reach(), [&](int x, int y) {
    Spot& spot = canvas.at(x, y);
    const auto at = lying.placeOf(x, y);
    const float cover = lying.coverOf(at.d);
    if (spot.wood < 0 || cover <= 0.0F) {
      return;
    }
    const Vec3 seen = spot.albedo * (0.55F + 0.2F * at.d);
    spot.albedo = mix(spot.albedo, mix(seen, seen * Vec3{1.6F, 0.9F, 0.25F} + Vec3{0.05F, 0.02F, 0.0F}, amber), cover);
    spot.height = mix(spot.height, spot.base + site.base + 0.5F * r * std::sqrt(std::max(0.0F, 1.0F - at.d * at.d)), cover);
    spot.gloss = mix(spot.gloss, 1.0F, cover);
    spot.sharp = 120.0F;
    spot.glow = 0.7F * cover;
  });
}

// Flat marks: lenticels, lichen, holes, stains.
void addFlat(Canvas& canvas, const Site& site, float r, Rng& rng) {
  Lying lying = lyingAt(site, r, rng.range(1.0F, 2.6F), rng);
  lying.wave = rng.range(0.0F, 0.25F);
  lying.waves = 2 + rng.below(5);
  const Vec3 own = colourAt(canvas, site);
  const int kind = rng.below(4);
  const Vec3 colour = kind == 0 ? own * 0.12F                                                 // a hole
                      : kind == 1 ? mix(fromSrgb(150, 160, 140), fromSrgb(196, 190, 150), rng.uniform())  // lichen
                      : kind == 2 ? own * rng.range(0.3F, 0.7F)                               // a stain
                                  : mix(own, fromSrgb(170, 120, 80), 0.7F);                   // a lenticel
  const float deep = kind == 0 ? -rng.range(0.3F, 0.9F) * r : kind == 3 ? 0.15F * r : 0.0F;
  const auto seed = hashed(static_cast<std::uint64_t>(rng.below(1 << 24)));
  canvas.around(site.x, site.y, lying.reach(), [&](int x, int y) {
    Spot& spot = canvas.at(x, y);
    const auto at = lying.placeOf(x, y);
    const float cover = lying.coverOf(at.d);
    if (spot.wood < 0 || cover <= 0.0F) {
      return;
    }
    const float patchy = kind == 1 ? 0.6F + 0.6F * cloudAt(4 * at.p, 4 * at.q, seed, 2) : 1.0F;
    spot.albedo = mix(spot.albedo, colour * patchy, 0.9F * cover);
    spot.height += deep * cover * std::max(0.0F, 1.0F - at.d * at.d);
    spot.gloss *= 1.0F - cover;
  });
}

// A knot: rings around a dark middle, with a raised lip.
void addKnot(Canvas& canvas, const Site& site, float r, Rng& rng) {
  Lying lying = lyingAt(site, r, rng.range(1.0F, 1.7F), rng);
  lying.wave = rng.range(0.0F, 0.12F);
  const float rings = rng.range(8.0F, 22.0F);
  const Vec3 heart = colourAt(canvas, site) * rng.range(0.15F, 0.6F);
  canvas.around(site.x, site.y, lying.reach(), [&](int x, int y) {
    Spot& spot = canvas.at(x, y);
    const auto at = lying.placeOf(x, y);
    if (spot.wood < 0 || at.d > 1.3F) {
      return;
    }
    const float lip = std::exp(-30.0F * (at.d - 1.0F) * (at.d - 1.0F));
    const float in = 1.0F - smoothStep(0.6F, 1.0F, at.d);
    spot.height += 0.2F * r * lip - 0.15F * r * in;
    spot.albedo = mix(spot.albedo, heart * (1.0F + 0.4F * std::sin(rings * at.d)), 0.8F * in);
  });
}

// An ant or mite: three beads in a row.
void addWalker(Canvas& canvas, const Site& site, float r, Rng& rng) {
  const float turn = rng.range(0.0F, 2 * kPi);
  for (int k = -1; k <= 1; ++k) {
    Body body{.colour = fromSrgb(40, 26, 20) * rng.range(0.5F, 1.5F)};
    body.rim = body.colour;
    body.tall = 0.8F;
    body.gloss = 0.4F;
    Lying lying = lyingAt(site, r * (k == 0 ? 0.3F : 0.45F), 1.5F, rng);
    lying.turn = turn;
    lying.site.x += 0.75F * r * fl(k) * (std::cos(turn) * site.cosAlong - std::sin(turn) * site.sinAlong);
    lying.site.y += 0.75F * r * fl(k) * (std::cos(turn) * site.sinAlong + std::sin(turn) * site.cosAlong);
    drawLump(canvas, lying, body, rng);
  }
}

struct Dweller {
  void (*draw)(Canvas&, const Site&, float, Rng&);
  float chance;  // that a picture has some
  float most;    // how many
};

constexpr std::array kOthers = {Dweller{addWart, 0.5F, 60.0F}, Dweller{addGrain, 0.4F, 40.0F}, Dweller{addBud, 0.3F, 8.0F},
                                Dweller{addDrop, 0.25F, 40.0F}, Dweller{addFlat, 0.6F, 60.0F}, Dweller{addKnot, 0.3F, 4.0F},
                                Dweller{addWalker, 0.12F, 5.0F}};

struct Colony {
  Site heart;
  float spreadPx = 0.0F;
  int count = 0;
  float radiusPx = 8.0F;
  Body kind;
  float aspect = 1.2F;
};

Colony plannedColony(Canvas& canvas, const WoodPlan& plan, float radius, const Body& kind, Rng& rng) {
  Colony colony{.heart = randomSite(canvas, plan, rng), .radiusPx = radius, .kind = kind, .aspect = rng.range(1.0F, 1.45F)};
  const float room = 0.25F * fl(canvas.width()) * fl(canvas.height()) / (kPi * radius * radius);
  colony.count = static_cast<int>(std::min(3.0F * std::exp(rng.uniform() * rng.uniform() * 4.2F), room)) + 1;
  colony.spreadPx = radius * std::sqrt(fl(colony.count)) * rng.range(1.2F, 6.0F);
  // Many sit in forks: where a side limb begins.
  if (plan.limbs.size() > 1 && rng.uniform() < 0.4F) {
    const Site fork = siteAt(canvas, plan, plan.limbs[1].x0 + rng.normal() * radius * 3, plan.limbs[1].y0 + rng.normal() * radius * 3);
    colony.heart = fork.isGood ? fork : colony.heart;
  }
  return colony;
}

bool isTooNear(const std::vector<TrueInsect>& insects, const TrueInsect& next) {
  for (const TrueInsect& other : insects) {
    if (std::hypot(other.x - next.x, other.y - next.y) < 0.8F * (other.radiusPx + next.radiusPx)) {
      return true;
    }
  }
  return false;
}

void drawColony(Canvas& canvas, const WoodPlan& plan, const Colony& colony, std::vector<TrueInsect>& insects, Rng& rng) {
  int made = 0;
  for (int attempt = 0; attempt < 6 * colony.count && made < colony.count; ++attempt) {
    const Site site = siteAt(canvas, plan, colony.heart.x + rng.normal() * colony.spreadPx, colony.heart.y + rng.normal() * colony.spreadPx);
    if (!site.isGood) {
      continue;
    }
    const float radius = std::clamp(colony.radiusPx * std::exp(0.18F * rng.normal()), 3.8F, 34.0F);
    Lying lying = lyingAt(site, radius, colony.aspect * rng.range(0.95F, 1.1F), rng);
    lying.wave = rng.range(0.0F, 0.06F);
    const Body body = thisOne(colony.kind, rng);
    const TrueInsect insect{.x = site.x, .y = site.y, .radiusPx = lying.radiusPx(), .visible = 1.0F, .isDead = body.isDead};
    if (insect.radiusPx < 3.5F || isTooNear(insects, insect)) {
      continue;
    }
    insects.push_back(insect);
    drawBody(canvas, lying, body, static_cast<int>(insects.size()) - 1, rng);
    ++made;
  }
}

std::vector<int> seenPixels(Canvas& canvas, std::size_t count) {
  std::vector<int> seen(count, 0);
  for (int y = 0; y < canvas.height(); ++y) {
    for (int x = 0; x < canvas.width(); ++x) {
      if (const int insect = canvas.at(x, y).insect; insect >= 0) {
        ++seen[static_cast<std::size_t>(insect)];
      }
    }
  }
  return seen;
}

// Bark from elsewhere laid over one side of an insect.
void coverPartly(Canvas& canvas, const TrueInsect& insect, Rng& rng) {
  const float angle = rng.range(0.0F, 2 * kPi);
  const float from = rng.range(-0.5F, 0.7F) * insect.radiusPx;
  const int shiftX = static_cast<int>(rng.range(2.0F, 4.0F) * insect.radiusPx) + 4;
  const auto seed = hashed(static_cast<std::uint64_t>(rng.below(1 << 24)));
  canvas.around(insect.x, insect.y, 1.5F * insect.radiusPx, [&](int x, int y) {
    const float dx = fl(x) - insect.x;
    const float dy = fl(y) - insect.y;
    const float side = dx * std::cos(angle) + dy * std::sin(angle) + 0.6F * insect.radiusPx * (noiseAt(fl(x) / insect.radiusPx, fl(y) / insect.radiusPx, seed) - 0.5F);
    const int sx = std::clamp(x + shiftX, 0, canvas.width() - 1);
    if (side < from || canvas.at(x, y).wood < 0 || canvas.at(sx, y).wood < 0 || canvas.at(sx, y).insect >= 0 || std::hypot(dx, dy) > 1.4F * insect.radiusPx) {
      return;
    }
    Spot& spot = canvas.at(x, y);
    const Spot& bark = canvas.at(sx, y);
    const float base = spot.base;
    const float top = std::max(spot.height, base + bark.height - bark.base) + 0.25F * insect.radiusPx;
    spot = bark;
    spot.base = base;
    spot.height = top;
    spot.insect = -1;
  });
}

}  // namespace

void drawOtherThings(Canvas& canvas, const WoodPlan& plan, SceneSet set, Rng& rng) {
  for (const Dweller& other : kOthers) {
    // The untrained sets are not kinder: more of everything now and then.
    if (rng.uniform() > other.chance) {
      continue;
    }
    const float typical = 3.5F * std::exp(rng.range(0.0F, 2.1F));
    const int count = 1 + static_cast<int>(rng.uniform() * rng.uniform() * other.most * (set == SceneSet::Tuning ? 1.2F : 1.0F));
    for (int k = 0; k < count; ++k) {
      const Site site = randomSite(canvas, plan, rng);
      if (site.isGood) {
        other.draw(canvas, site, typical * std::exp(0.25F * rng.normal()) * (other.draw == addKnot ? 3.0F : 1.0F), rng);
      }
    }
  }
}

std::vector<TrueInsect> drawInsects(Canvas& canvas, const WoodPlan& plan, Rng& rng) {
  std::vector<TrueInsect> insects;
  const float radius = 4.0F * std::exp(rng.range(0.0F, 2.02F));  // 4 … 30 px
  const Body kind = kindOfInsect(rng);
  const Body second = kindOfInsect(rng);
  const int colonies = 1 + rng.below(3);
  for (int k = 0; k < colonies; ++k) {
    const Colony colony = plannedColony(canvas, plan, radius * rng.range(0.85F, 1.15F), rng.uniform() < 0.85F ? kind : second, rng);
    if (colony.heart.isGood) {
      drawColony(canvas, plan, colony, insects, rng);
    }
  }
  return insects;
}

void drawCovers(Canvas& canvas, const WoodPlan& plan, std::vector<TrueInsect>& insects, Rng& rng) {
  std::vector<int> whole(insects.size());
  for (std::size_t k = 0; k < insects.size(); ++k) {
    whole[k] = std::max(1, static_cast<int>(kPi * insects[k].radiusPx * insects[k].radiusPx));
  }
  for (const TrueInsect& insect : insects) {
    if (rng.uniform() < 0.1F) {
      coverPartly(canvas, insect, rng);
    }
  }
  if (rng.uniform() < 0.3F) {
    for (int k = rng.below(12); k > 0; --k) {
      if (const Site site = randomSite(canvas, plan, rng); site.isGood) {
        addGrain(canvas, site, rng.range(2.0F, 10.0F), rng);
      }
    }
  }
  const std::vector<int> seen = seenPixels(canvas, insects.size());
  std::vector<TrueInsect> kept;
  for (std::size_t k = 0; k < insects.size(); ++k) {
    TrueInsect insect = insects[k];
    insect.visible = std::min(1.0F, static_cast<float>(seen[k]) / static_cast<float>(whole[k]));
    if (insect.visible >= 0.15F && insect.x >= 0.0F && insect.y >= 0.0F && canvas.holds(static_cast<int>(insect.x), static_cast<int>(insect.y))) {
      kept.push_back(insect);
    }
  }
  insects = std::move(kept);
}

}  // namespace edamori::scenes
