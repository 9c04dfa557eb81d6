// SPDX-License-Identifier: GPL-3.0-or-later
#include "generator/foliage.h"

#include <algorithm>

#include "generator/rng.h"
#include "generator/solids.h"

namespace edamori::scenes {
namespace {

constexpr Vec3 kUp{0.0F, 1.0F, 0.0F};

struct Dresser {
  const SceneDescription& scene;
  const Skeleton& skeleton;
  std::vector<BranchHealth> health;  // per branch of the skeleton
  FoliageModel model;
};

Vec3 tinted(const FoliageLook& look, Rng& rng) {
  const float lean =
      rng.uniform() < look.otherShare ? rng.range(0.35F, 1.0F) : rng.range(0.0F, 0.25F);
  const float light = std::exp(look.colourSpread * rng.normal());
  const Vec3 shift{1.0F + 0.06F * rng.normal(), 1.0F, 1.0F + 0.08F * rng.normal()};
  return mix(look.colour, look.otherColour, lean) * shift * std::min(light, 1.7F);
}

// A lesion map that makes the branch's mean severity come out near `fraction`.
int chooseLesions(const std::vector<LesionTexture>& maps, float fraction, Rng& rng) {
  const float incidence = std::min(0.88F, 0.12F + 5.0F * fraction);
  const float draw = rng.uniform();
  const float wanted = -std::log(1.0F - 0.97F * rng.uniform()) * fraction / incidence * 1.05F;
  if (draw >= incidence || fraction <= 0.0F) {
    return -1;
  }
  int best = 0;
  for (std::size_t i = 1; i < maps.size(); ++i) {
    const auto gap = [&](std::size_t k) { return std::abs(maps[k].severity - wanted); };
    if (gap(i) < gap(static_cast<std::size_t>(best))) {
      best = static_cast<int>(i);
    }
  }
  return best;
}

// Turns a blade to a plausible attitude: mostly facing the sky, hanging towards its tip.
void orientLeaf(Leaf& leaf, Vec3 outward, float droop, Rng& rng) {
  const Vec3 flat = normalized(Vec3{outward.x, outward.y * 0.25F, outward.z});
  const float hang = droop * rng.range(0.3F, 1.6F);
  leaf.along = normalized(flat + kUp * -hang + rng.direction() * 0.22F);
  const Vec3 sky = normalized(kUp + flat * (0.25F + 0.5F * droop) + rng.direction() * 0.42F);
  leaf.normal = normalized(sky - leaf.along * dot(sky, leaf.along));
}

void addLeaf(Dresser& dresser, const Site& site, float turn, Rng& rng) {
  const FoliageLook& look = dresser.scene.foliage;
  const bool palmate = dresser.scene.tree.foliage == FoliageKind::PalmateLeaf;
  Leaf leaf;
  leaf.branch = site.branch;
  const Vec3 side = normalized(rotated(
      cross(site.direction, normalized(kUp + rng.direction() * 0.3F)), site.direction, turn));
  const Vec3 outward = normalized(side + site.direction * rng.range(0.3F, 1.1F));
  leaf.lengthMm = look.leafLengthMm * rng.range(0.68F, 1.14F) * (site.along > 0.95F ? 0.86F : 1.0F);
  leaf.widthMm = leaf.lengthMm * (palmate ? 1.08F : 1.0F);
  const float stalk = leaf.lengthMm * (palmate ? rng.range(0.3F, 0.6F) : rng.range(0.08F, 0.18F));
  leaf.base = site.position + outward * stalk + kUp * (stalk * 0.25F);
  orientLeaf(leaf, outward, look.droop, rng);
  leaf.bend = rng.range(0.02F, 0.26F);
  leaf.fold = rng.range(0.05F, 0.4F);
  leaf.shape = rng.below(static_cast<int>(dresser.model.shapes.size()) - 1);
  leaf.colour = tinted(look, rng);
  const float spots = dresser.health[static_cast<std::size_t>(site.branch)].spotFraction;
  leaf.lesions =
      chooseLesions(dresser.model.lesions[static_cast<std::size_t>(leaf.shape)], spots, rng);
  const Vec3 stalkColour = mix(leaf.colour, fromSrgb(150, 60, 50), palmate ? 0.5F : 0.15F);
  const Vec3 joint = leaf.base + leaf.along * (palmate ? leaf.lengthMm * 0.1F : 0.0F);
  dresser.model.strands.push_back({site.position,
                                   mix(site.position, joint, 0.5F) + kUp * (stalk * 0.15F),
                                   joint,
                                   palmate ? 0.42F : 0.32F,
                                   stalkColour,
                                   2.0F,
                                   128,
                                   site.branch});
  dresser.model.leaves.push_back(leaf);
}

void addBlossom(Dresser& dresser, const Site& site, Rng& rng) {
  const Vec3 axis = normalized(kUp * 0.6F + site.direction + rng.direction() * 0.8F);
  const Vec3 centre = site.position + axis * rng.range(10.0F, 20.0F);
  const Vec3 across = normalized(cross(axis, rng.direction()));
  const Vec3 pink = mix(fromSrgb(236, 150, 175), fromSrgb(250, 226, 232), rng.uniform());
  for (int i = 0; i < 5; ++i) {
    Leaf petal;
    petal.petal = true;
    petal.branch = site.branch;
    const Vec3 out =
        rotated(across, axis, 2.0F * kPi * static_cast<float>(i) / 5.0F + rng.range(-0.1F, 0.1F));
    petal.base = centre;
    petal.along = normalized(out + axis * rng.range(0.15F, 0.5F));
    petal.normal = normalized(axis - petal.along * dot(axis, petal.along));
    petal.lengthMm = rng.range(13.0F, 17.0F);
    petal.widthMm = petal.lengthMm;
    petal.bend = -0.15F;
    petal.fold = 0.25F;
    petal.shape = static_cast<int>(dresser.model.shapes.size()) - 1;
    petal.colour = pink * rng.range(0.85F, 1.05F);
    dresser.model.leaves.push_back(petal);
  }
  for (int i = 0; i < 9; ++i) {
    const Vec3 tip = centre + normalized(axis + rng.direction() * 0.55F) * 5.0F;
    dresser.model.strands.push_back(
        {centre, mix(centre, tip, 0.5F), tip, 0.3F, fromSrgb(240, 214, 120), 2.0F, 0, site.branch});
  }
  dresser.model.strands.push_back({site.position,
                                   mix(site.position, centre, 0.5F),
                                   centre,
                                   0.5F,
                                   fromSrgb(120, 130, 60),
                                   2.0F,
                                   0,
                                   site.branch});
}

struct NeedleSeat {
  Vec3 from;
  Vec3 direction;
  float lengthMm = 40.0F;
};

void addNeedle(Dresser& dresser, const Site& site, const NeedleSeat& seat, Rng& rng) {
  const FoliageLook& look = dresser.scene.foliage;
  const BranchHealth& health = dresser.health[static_cast<std::size_t>(site.branch)];
  Strand needle;
  needle.branch = site.branch;
  needle.from = seat.from;
  needle.to = seat.from + seat.direction * seat.lengthMm;
  const Vec3 sag = rng.direction() * (seat.lengthMm * 0.05F) + kUp * (seat.lengthMm * -0.03F);
  needle.control = mix(needle.from, needle.to, 0.5F) + sag;
  needle.radiusMm = look.needleRadiusMm * rng.range(0.85F, 1.12F);
  needle.colour = tinted(look, rng);
  // Whole tufts are worse than others, as spores splash from shoot to shoot.
  const float tuft = clamp01(health.blightFraction * (0.35F + 1.3F * hashedUnit(site.id + 17U)));
  if (rng.uniform() < tuft) {
    needle.blightFrom = rng.range(0.02F, 0.75F);
  }
  dresser.model.strands.push_back(needle);
}

// Fascicles of two or five needles around the last centimetres of a shoot.
void addTuft(Dresser& dresser, const Site& site, Rng& rng) {
  const FoliageLook& look = dresser.scene.foliage;
  const int perFascicle = dresser.scene.tree.foliage == FoliageKind::NeedleFives ? 5 : 2;
  const Vec3 axis = normalized(site.direction + kUp * 0.55F);
  const Vec3 across = normalized(cross(axis, Vec3{0.31F, 0.2F, 0.93F}));
  const float cover = dresser.health[static_cast<std::size_t>(site.branch)].cover;
  const float shoot = look.needleLengthMm * 0.34F;
  const int fascicles = static_cast<int>(look.fasciclesPerTuft * rng.range(0.8F, 1.2F));
  for (int i = 0; i < fascicles; ++i) {
    const float t = (static_cast<float>(i) + rng.uniform()) / static_cast<float>(fascicles);
    const Vec3 radial =
        rotated(across, axis, 2.39996F * static_cast<float>(i) + rng.range(-0.4F, 0.4F));
    const float spread = radians(mix(78.0F, 16.0F, t) + rng.range(-8.0F, 8.0F));
    const Vec3 direction = axis * std::cos(spread) + radial * std::sin(spread) + kUp * 0.10F;
    const float lengthMm = look.needleLengthMm * rng.range(0.78F, 1.08F);
    const Vec3 seat = site.position + axis * (shoot * (t - 0.75F));
    const bool kept = rng.uniform() < 0.4F + 0.6F * cover;
    for (int k = 0; k < perFascicle; ++k) {
      const Vec3 fan = rng.direction() * (perFascicle == 2 ? 0.09F : 0.16F);
      if (kept) {
        addNeedle(dresser,
                  site,
                  {seat, normalized(direction + fan), lengthMm * rng.range(0.95F, 1.03F)},
                  rng);
      }
    }
  }
}

void addCandle(Dresser& dresser, const Site& site, Rng& rng) {
  const FoliageLook& look = dresser.scene.foliage;
  const Vec3 axis = normalized(site.direction * 0.5F + kUp + rng.direction() * 0.2F);
  const float lengthMm = std::max(4.0F, look.candleMm * rng.range(0.5F, 1.2F));
  const Vec3 colour = look.candleMm > 6.0F
                          ? mix(fromSrgb(196, 196, 150), fromSrgb(150, 170, 90), rng.uniform())
                          : mix(fromSrgb(150, 100, 70), fromSrgb(200, 185, 160), rng.uniform());
  const Vec3 from = site.position + axis * (look.needleLengthMm * 0.08F);
  const Vec3 tip = from + axis * lengthMm;
  const bool bud = look.candleMm <= 6.0F;
  dresser.model.strands.push_back({from,
                                   mix(from, tip, 0.5F) + rng.direction() * 0.6F,
                                   tip,
                                   bud ? 1.3F : 1.15F,
                                   colour,
                                   2.0F,
                                   static_cast<std::uint8_t>(bud ? 0 : 128),
                                   site.branch});
}

// Short needles in whorls of three along the whole twig.
void addWhorls(Dresser& dresser, const Site& site, Rng& rng) {
  const FoliageLook& look = dresser.scene.foliage;
  const float twig = dresser.scene.tree.twigLengthMm;
  const Vec3 axis = normalized(site.direction + kUp * 0.25F);
  const Vec3 across = normalized(cross(axis, Vec3{0.31F, 0.2F, 0.93F}));
  const float cover = dresser.health[static_cast<std::size_t>(site.branch)].cover;
  const int whorls = static_cast<int>(look.fasciclesPerTuft);
  for (int i = 0; i < whorls * 3; ++i) {
    const float t = static_cast<float>(i / 3) / static_cast<float>(whorls);
    const float turn = 2.0944F * static_cast<float>(i % 3) + 1.05F * static_cast<float>(i / 3 % 2) +
                       rng.range(-0.3F, 0.3F);
    const Vec3 radial = rotated(across, axis, turn);
    const float spread = radians(mix(68.0F, 28.0F, t * t) + rng.range(-9.0F, 9.0F));
    const Vec3 direction =
        normalized(axis * std::cos(spread) + radial * std::sin(spread) + kUp * 0.12F);
    const Vec3 seat = site.position + axis * (twig * (t - 0.85F) * 0.8F);
    const float lengthMm = look.needleLengthMm * rng.range(0.75F, 1.1F) * mix(1.0F, 0.6F, t * t);
    if (rng.uniform() < 0.35F + 0.65F * cover) {
      addNeedle(dresser, site, {seat, direction, lengthMm}, rng);
    }
  }
}

void dressSite(Dresser& dresser, const Site& site) {
  const FoliageLook& look = dresser.scene.foliage;
  const FoliageKind kind = dresser.scene.tree.foliage;
  const float cover = dresser.health[static_cast<std::size_t>(site.branch)].cover;
  // Bare sites stay bare: the same draw on every date, so that a falling cover only removes.
  if (hashedUnit(site.id) > cover) {
    return;
  }
  Rng rng(site.id ^ (look.seed * 0x51ED2701ULL));
  if (kind == FoliageKind::NeedleWhorls) {
    addWhorls(dresser, site, rng);
  } else if (kind == FoliageKind::NeedlePairs || kind == FoliageKind::NeedleFives) {
    addTuft(dresser, site, rng);
    addCandle(dresser, site, rng);
  } else {
    const int leaves = static_cast<int>(look.leavesPerSite + rng.uniform());
    for (int i = 0; i < leaves; ++i) {
      addLeaf(dresser, site, kPi * static_cast<float>(i) + rng.range(-0.5F, 0.5F), rng);
    }
    if (rng.uniform() < look.blossomShare) {
      addBlossom(dresser, site, rng);
    }
  }
}

Insect scaleInsectOnTrunk(const TreeHabit& habit,
                          const Skeleton& skeleton,
                          const InsectGroup& group,
                          Rng& rng) {
  Insect insect;
  insect.kind = group.kind;
  const float t = mix(group.from, group.to, rng.uniform());
  const LimbPoint point = pointAt(skeleton.limbs.front(), t);
  const Vec3 axis = normalized(pointAt(skeleton.limbs.front(), t + 0.02F).position -
                               pointAt(skeleton.limbs.front(), t - 0.02F).position);
  const float angle = radians(90.0F + 58.0F * (rng.uniform() + rng.uniform() - 1.0F) * 1.2F);
  const Vec3 around{std::cos(angle), 0.0F, std::sin(angle)};
  insect.normal = normalized(around - axis * dot(around, axis));
  insect.position =
      point.position + insect.normal * (trunkSurfaceMm(habit, skeleton, t, angle) - 0.1F);
  insect.heading = normalized(axis + cross(axis, insect.normal) * rng.range(-1.0F, 1.0F));
  insect.lengthMm = group.sizeMm * std::clamp(std::exp(0.24F * rng.normal()), 0.68F, 1.36F);
  insect.colour = mix(fromSrgb(62, 30, 24), fromSrgb(94, 50, 36), rng.uniform());
  return insect;
}

Insect aphidOnShoot(const Site& site, Rng& rng) {
  Insect insect;
  insect.kind = InsectKind::Aphid;
  const Vec3 axis = normalized(site.direction + kUp * 0.5F);
  const Vec3 across = normalized(cross(axis, Vec3{0.31F, 0.2F, 0.93F}));
  const Vec3 radial =
      normalized(rotated(across, axis, rng.range(0.0F, 2.0F * kPi)) + Vec3{0.0F, 0.1F, 0.75F});
  insect.normal = normalized(radial - axis * dot(radial, axis));
  insect.position = site.position + axis * rng.range(-16.0F, 24.0F) + insect.normal * 1.3F +
                    rng.direction() * 0.35F;
  insect.heading =
      normalized(axis * (rng.uniform() < 0.8F ? -1.0F : 1.0F) + rng.direction() * 0.4F);
  insect.lengthMm = 2.0F * std::clamp(std::exp(0.22F * rng.normal()), 0.55F, 1.35F);
  insect.colour = rng.uniform() < 0.3F
                      ? fromSrgb(44, 44, 34)
                      : mix(fromSrgb(112, 140, 52), fromSrgb(150, 168, 86), rng.uniform());
  return insect;
}

void addSoftShoot(Dresser& dresser, const Site& site) {
  const Vec3 axis = normalized(site.direction + kUp * 0.5F);
  const Vec3 from = site.position - axis * 18.0F;
  const Vec3 tip = site.position + axis * 27.0F;
  dresser.model.strands.push_back(
      {from, site.position, tip, 1.25F, fromSrgb(128, 138, 66), 2.0F, 128, site.branch});
  Rng rng(site.id + 5U);
  for (int i = 0; i < 5; ++i) {
    Site top = site;
    top.position = tip - axis * (3.0F * static_cast<float>(i));
    top.along = 1.0F;
    addLeaf(dresser, top, 2.4F * static_cast<float>(i), rng);
    Leaf& young = dresser.model.leaves.back();
    young.lengthMm *= 0.34F + 0.06F * static_cast<float>(i);
    young.widthMm = young.lengthMm;
    young.along = normalized(axis + young.along * 0.5F);
    young.normal = normalized(young.normal - young.along * dot(young.normal, young.along));
    young.fold = 0.6F;
    young.colour = mix(young.colour, fromSrgb(168, 186, 92), 0.6F);
  }
}

void addInsects(Dresser& dresser) {
  for (std::size_t g = 0; g < dresser.scene.insects.size(); ++g) {
    const InsectGroup& group = dresser.scene.insects[g];
    Rng rng(group.seed);
    const std::vector<Site> tips = shootTips(dresser.skeleton, group.branch);
    if (group.place == InsectPlace::ShootTip) {
      std::for_each(
          tips.begin(), tips.end(), [&](const Site& site) { addSoftShoot(dresser, site); });
    }
    for (int i = 0; i < group.count; ++i) {
      Insect insect = group.place == InsectPlace::TrunkFront
                          ? scaleInsectOnTrunk(dresser.scene.tree, dresser.skeleton, group, rng)
                          : aphidOnShoot(tips[static_cast<std::size_t>(i) % tips.size()], rng);
      insect.group = static_cast<int>(g);
      insect.cluster = tips.empty() ? 0 : i % static_cast<int>(tips.size());
      if (i < group.kept) {
        dresser.model.insects.push_back(insect);
      }
    }
  }
}

}  // namespace

std::vector<Site> shootTips(const Skeleton& skeleton, const std::string& branch) {
  std::vector<Site> tips;
  for (const Site& site : skeleton.sites) {
    if (site.along >= 0.99F && site.direction.y > 0.05F &&
        skeleton.branchNames[static_cast<std::size_t>(site.branch)] == branch) {
      tips.push_back(site);
    }
  }
  if (tips.empty()) {
    return tips;
  }
  const auto nearness = [](const Site& site) { return site.position.z + 0.4F * site.position.y; };
  const Site best = *std::max_element(tips.begin(), tips.end(), [&](const Site& a, const Site& b) {
    return nearness(a) < nearness(b);
  });
  std::sort(tips.begin(), tips.end(), [&](const Site& a, const Site& b) {
    return length(a.position - best.position) < length(b.position - best.position);
  });
  tips.resize(std::min<std::size_t>(tips.size(), 3));
  return tips;
}

BranchHealth healthOf(const SceneDescription& scene, const std::string& branch) {
  BranchHealth result;
  for (const BranchHealth& entry : scene.health) {
    if (entry.branch == branch) {
      return entry;
    }
    if (entry.branch.empty()) {
      result = entry;
    }
  }
  return result;
}

FoliageModel dress(const SceneDescription& scene, const Skeleton& skeleton) {
  Dresser dresser{scene, skeleton, {}, {}};
  for (const std::string& name : skeleton.branchNames) {
    dresser.health.push_back(healthOf(scene, name));
  }
  const bool leafy = scene.tree.foliage == FoliageKind::PalmateLeaf ||
                     scene.tree.foliage == FoliageKind::SerrateLeaf;
  if (leafy) {
    dresser.model.shapes = paintLeaves(scene.tree.foliage, scene.tree.seed);
    for (const LeafTexture& shape : dresser.model.shapes) {
      dresser.model.lesions.push_back(
          paintLesions(shape, scene.foliage.seed + dresser.model.lesions.size()));
    }
    dresser.model.shapes.push_back(paintPetal(scene.tree.seed));
  }
  for (const Site& site : skeleton.sites) {
    dressSite(dresser, site);
  }
  addInsects(dresser);
  return std::move(dresser.model);
}

}  // namespace edamori::scenes
