// SPDX-License-Identifier: GPL-3.0-or-later
#include "generator/skeleton.h"

#include "generator/rng.h"

namespace edamori::scenes {
namespace {

constexpr Vec3 kUp{0.0F, 1.0F, 0.0F};

struct Growth {
  const TreeHabit& habit;
  Rng rng;
  Skeleton skeleton;
};

bool hasNeedles(FoliageKind kind) {
  return kind != FoliageKind::PalmateLeaf && kind != FoliageKind::SerrateLeaf;
}

void addTrunk(Growth& growth) {
  const TreeHabit& habit = growth.habit;
  const float phase = growth.rng.range(0.0F, 2.0F * kPi);
  Limb trunk;
  trunk.level = LimbLevel::Trunk;
  constexpr int kPoints = 64;
  for (int i = 0; i < kPoints; ++i) {
    const float t = static_cast<float>(i) / (kPoints - 1);
    const float calm = std::min(1.0F, t * 5.0F) * (1.0F - 0.45F * t);
    const float x = habit.leanMm * t + habit.sweepMm * calm * std::sin(5.6F * t + phase);
    const float z = 0.35F * habit.sweepMm * calm * std::sin(7.3F * t + phase * 1.7F);
    const float y = growth.skeleton.soilMm - 14.0F + (habit.heightMm + 14.0F) * t;
    const float radius = habit.trunkRadiusMm * (0.94F * std::pow(1.0F - t, 0.85F) + 0.06F);
    trunk.points.push_back({{x, y, z}, radius});
  }
  // The base stands over the origin whatever the phase.
  const Vec3 base = trunk.points.front().position;
  for (LimbPoint& point : trunk.points) {
    point.position += Vec3{-base.x, 0.0F, -base.z};
  }
  growth.skeleton.limbs.push_back(trunk);
}

void addRoots(Growth& growth) {
  const float r = growth.habit.trunkRadiusMm;
  const int count = 7 + growth.rng.below(3);
  for (int i = 0; i < count; ++i) {
    const float azimuth = 2.0F * kPi * (static_cast<float>(i) + growth.rng.range(-0.3F, 0.3F)) /
                          static_cast<float>(count);
    const float reach = r * growth.rng.range(1.9F, 3.2F);
    const float thick = r * growth.rng.range(0.2F, 0.36F);
    const float bend = growth.rng.range(-0.5F, 0.5F);
    Limb root;
    root.level = LimbLevel::Root;
    for (int k = 0; k < 16; ++k) {
      const float t = static_cast<float>(k) / 15.0F;
      const float angle = azimuth + bend * t * t;
      const float out = r * 0.35F + reach * t;
      const float height = growth.skeleton.soilMm + r * 0.95F * std::pow(1.0F - t, 2.6F) -
                           thick * 0.35F - 7.0F * t * t;
      root.points.push_back(
          {{out * std::cos(angle), height, out * std::sin(angle)}, thick * (1.0F - 0.72F * t)});
    }
    growth.skeleton.limbs.push_back(root);
  }
}

// A wandering, tapering limb. `level` pulls the direction back to the given rise as it grows.
Limb wander(
    Rng& rng, LimbPoint start, Vec3 direction, float lengthMm, float riseTarget, float wobble) {
  const int steps = std::clamp(static_cast<int>(lengthMm / 7.0F), 4, 36);
  const float step = lengthMm / static_cast<float>(steps);
  Limb limb;
  limb.points.push_back(start);
  Vec3 position = start.position;
  for (int i = 1; i <= steps; ++i) {
    const float t = static_cast<float>(i) / static_cast<float>(steps);
    const Vec3 jitter{rng.normal(), rng.normal() * 0.7F, rng.normal()};
    direction =
        normalized(direction + jitter * wobble + kUp * (0.16F * (riseTarget - direction.y)));
    position += direction * step;
    limb.points.push_back(
        {position, std::max(0.55F, start.radiusMm * (1.0F - 0.86F * std::pow(t, 0.8F)))});
  }
  return limb;
}

void addSite(Growth& growth, const Limb& twig, float along, float outward) {
  const LimbPoint here = pointAt(twig, along);
  const LimbPoint before = pointAt(twig, std::max(0.0F, along - 0.2F));
  const std::uint64_t id = hashed(growth.skeleton.sites.size() * 7919ULL + growth.habit.seed);
  growth.skeleton.sites.push_back({here.position,
                                   normalized(here.position - before.position),
                                   twig.branch,
                                   along,
                                   outward,
                                   id});
}

void addTwigSites(Growth& growth, const Limb& twig, float outward) {
  if (hasNeedles(growth.habit.foliage)) {
    addSite(growth, twig, 1.0F, outward);
    return;
  }
  const float length = growth.habit.twigLengthMm;
  const int count = std::max(2, static_cast<int>(length / 10.0F));
  for (int i = 0; i < count; ++i) {
    addSite(growth,
            twig,
            0.35F + 0.65F * static_cast<float>(i) / static_cast<float>(count - 1),
            outward);
  }
}

void addTwigs(Growth& growth, const Limb& parent, float outward) {
  const TreeHabit& habit = growth.habit;
  const float parentLength = 7.0F * static_cast<float>(parent.points.size());
  const int count = std::max(2, static_cast<int>(parentLength / habit.twigSpacingMm));
  for (int i = 0; i < count; ++i) {
    const float t = 0.22F + 0.78F * (static_cast<float>(i) + growth.rng.range(0.0F, 0.6F)) /
                                static_cast<float>(count);
    const LimbPoint start = pointAt(parent, std::min(t, 1.0F));
    const Vec3 axis = normalized(pointAt(parent, std::min(t + 0.1F, 1.0F)).position -
                                 pointAt(parent, std::max(t - 0.1F, 0.0F)).position);
    const float side = i % 2 == 0 ? 1.0F : -1.0F;
    Vec3 direction = rotated(axis, kUp, side * radians(growth.rng.range(28.0F, 62.0F)));
    direction = normalized(direction + kUp * growth.rng.range(0.05F, 0.75F));
    const float length = habit.twigLengthMm * growth.rng.range(0.6F, 1.15F);
    Limb twig = wander(growth.rng,
                       {start.position, std::min(start.radiusMm * 0.7F, 1.5F)},
                       direction,
                       length,
                       0.45F,
                       0.12F);
    twig.level = LimbLevel::Twig;
    twig.branch = parent.branch;
    addTwigSites(growth, twig, outward);
    growth.skeleton.limbs.push_back(std::move(twig));
  }
  addSite(growth, parent, 1.0F, outward);
}

void addSecondaries(Growth& growth, const Limb& primary, float lengthMm) {
  const TreeHabit& habit = growth.habit;
  const int count = std::max(3, static_cast<int>(lengthMm / habit.secondarySpacingMm));
  for (int i = 0; i < count; ++i) {
    const float t = 0.26F + 0.72F * static_cast<float>(i) / static_cast<float>(count - 1);
    const LimbPoint start = pointAt(primary, t);
    const Vec3 axis = normalized(pointAt(primary, std::min(t + 0.08F, 1.0F)).position -
                                 pointAt(primary, std::max(t - 0.08F, 0.0F)).position);
    const float side = i % 2 == 0 ? 1.0F : -1.0F;
    Vec3 direction = rotated(axis, kUp, side * radians(growth.rng.range(32.0F, 68.0F)));
    direction = normalized(direction + kUp * growth.rng.range(-0.05F, 0.4F));
    const float length =
        lengthMm * habit.secondaryLength * (1.0F - 0.5F * t) * growth.rng.range(0.75F, 1.2F);
    Limb limb = wander(growth.rng,
                       {start.position, std::min(start.radiusMm * 0.62F, 4.5F)},
                       direction,
                       std::max(length, 26.0F),
                       0.1F,
                       0.11F);
    limb.level = LimbLevel::Secondary;
    limb.branch = primary.branch;
    addTwigs(growth, limb, t);
    growth.skeleton.limbs.push_back(std::move(limb));
  }
}

int branchIndex(Skeleton& skeleton, const std::string& name) {
  for (std::size_t i = 0; i < skeleton.branchNames.size(); ++i) {
    if (skeleton.branchNames[i] == name) {
      return static_cast<int>(i);
    }
  }
  skeleton.branchNames.push_back(name);
  return static_cast<int>(skeleton.branchNames.size()) - 1;
}

void addPrimary(Growth& growth, const BranchSpec& spec) {
  const LimbPoint start = pointAt(growth.skeleton.limbs.front(), spec.attach);
  const float azimuth = radians(spec.azimuthDeg);
  const float rise = radians(spec.riseDeg);
  const Vec3 direction{
      std::cos(azimuth) * std::cos(rise), std::sin(rise), std::sin(azimuth) * std::cos(rise)};
  Limb primary = wander(growth.rng,
                        {start.position, std::max(1.6F, start.radiusMm * spec.radiusFactor)},
                        direction,
                        spec.lengthMm,
                        std::sin(rise * 0.35F),
                        0.085F);
  primary.level = LimbLevel::Primary;
  primary.branch = branchIndex(growth.skeleton, spec.name);
  growth.skeleton.limbs.push_back(primary);
  addSecondaries(growth, primary, spec.lengthMm);
}

}  // namespace

LimbPoint pointAt(const Limb& limb, float t) {
  const float scaled = clamp01(t) * static_cast<float>(limb.points.size() - 1);
  const std::size_t index = std::min(static_cast<std::size_t>(scaled), limb.points.size() - 2);
  const float f = scaled - static_cast<float>(index);
  const LimbPoint& a = limb.points[index];
  const LimbPoint& b = limb.points[index + 1];
  return {mix(a.position, b.position, f), mix(a.radiusMm, b.radiusMm, f)};
}

Skeleton grow(const TreeHabit& habit, float soilMm) {
  Growth growth{habit, Rng(habit.seed), {}};
  growth.skeleton.soilMm = soilMm;
  addTrunk(growth);
  addRoots(growth);
  std::uint64_t number = 1;
  for (const BranchSpec& spec : habit.branches) {
    // A generator per branch, so that changing one branch leaves the others as they were.
    growth.rng = Rng(habit.seed * 1000ULL + number++);
    addPrimary(growth, spec);
  }
  return std::move(growth.skeleton);
}

}  // namespace edamori::scenes
