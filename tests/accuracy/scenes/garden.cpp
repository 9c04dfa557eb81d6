// SPDX-License-Identifier: GPL-3.0-or-later
#include "garden.h"

#include "generator/foliage.h"
#include "generator/skeleton.h"

#include <array>
#include <span>
#include <utility>

namespace edamori::scenes {
namespace {

// A mature colour and the one that young or odd leaves lean towards, sRGB.
struct Palette {
  Vec3 mature, other;
};

// Leaf colours as seen from photographs in general; chosen by eye.
std::span<const Palette> leafPalettes(SceneSet set) {
  static const std::array kTuning{
      Palette{fromSrgb(84, 108, 46), fromSrgb(136, 150, 72)},
      Palette{fromSrgb(60, 86, 40), fromSrgb(112, 132, 62)},
      Palette{fromSrgb(44, 70, 36), fromSrgb(90, 120, 50)},
      Palette{fromSrgb(70, 96, 62), fromSrgb(120, 150, 96)},
      Palette{fromSrgb(108, 130, 48), fromSrgb(178, 184, 80)},
      Palette{fromSrgb(128, 140, 58), fromSrgb(196, 170, 80)},
      Palette{fromSrgb(52, 80, 58), fromSrgb(86, 118, 80)},
      Palette{fromSrgb(108, 32, 34), fromSrgb(156, 58, 46)},
      Palette{fromSrgb(86, 30, 44), fromSrgb(130, 40, 40)},
      Palette{fromSrgb(134, 52, 36), fromSrgb(120, 104, 50)},
      Palette{fromSrgb(150, 90, 40), fromSrgb(196, 150, 60)},
      Palette{fromSrgb(196, 156, 50), fromSrgb(150, 150, 60)}};
  static const std::array kHeldOut{
      Palette{fromSrgb(72, 100, 38), fromSrgb(150, 162, 84)},
      Palette{fromSrgb(50, 76, 46), fromSrgb(102, 136, 70)},
      Palette{fromSrgb(118, 138, 52), fromSrgb(186, 178, 78)},
      Palette{fromSrgb(96, 30, 38), fromSrgb(146, 50, 40)},
      Palette{fromSrgb(90, 112, 70), fromSrgb(60, 90, 52)}};
  return set == SceneSet::HeldOut ? std::span<const Palette>(kHeldOut) : kTuning;
}

std::span<const Palette> needlePalettes(SceneSet set) {
  static const std::array kTuning{
      Palette{fromSrgb(58, 84, 40), fromSrgb(104, 124, 56)},
      Palette{fromSrgb(72, 104, 92), fromSrgb(140, 162, 146)},
      Palette{fromSrgb(78, 104, 62), fromSrgb(132, 152, 92)},
      Palette{fromSrgb(42, 66, 40), fromSrgb(80, 104, 60)},
      Palette{fromSrgb(90, 110, 50), fromSrgb(150, 156, 84)},
      Palette{fromSrgb(60, 90, 78), fromSrgb(100, 130, 110)}};
  static const std::array kHeldOut{
      Palette{fromSrgb(66, 92, 46), fromSrgb(116, 138, 70)},
      Palette{fromSrgb(62, 96, 82), fromSrgb(126, 150, 130)},
      Palette{fromSrgb(50, 74, 50), fromSrgb(92, 118, 66)}};
  return set == SceneSet::HeldOut ? std::span<const Palette>(kHeldOut) : kTuning;
}

Vec3 varied(Vec3 colour, Rng& rng) {
  const float light = rng.range(0.7F, 1.35F);
  return {colour.x * light * rng.range(0.88F, 1.14F), colour.y * light,
          colour.z * light * rng.range(0.8F, 1.25F)};
}

Vec3 anyColour(Rng& rng) {
  const float grey = rng.range(20.0F, 210.0F);
  const float tint = rng.range(0.0F, 50.0F);
  const auto level = [&] {
    return static_cast<int>(std::clamp(grey + tint * rng.range(-1.0F, 1.0F), 8.0F, 240.0F));
  };
  const int red = level();
  const int green = level();
  return fromSrgb(red, green, level());
}

bool areNeedles(FoliageKind kind) {
  return kind == FoliageKind::NeedlePairs || kind == FoliageKind::NeedleFives ||
         kind == FoliageKind::NeedleWhorls;
}

std::vector<BranchSpec> anyBranches(Rng& rng, float scale) {
  struct Limb {
    const char* name;
    float attach, azimuth, length, rise, radius;
  };
  static constexpr std::array kLimbs{
      Limb{"First left", 0.34F, 172, 215, 6, 0.36F},  Limb{"First right", 0.44F, 12, 200, 6, 0.34F},
      Limb{"Back", 0.50F, 268, 150, 14, 0.32F},       Limb{"Second left", 0.60F, 200, 150, 10, 0.32F},
      Limb{"Second right", 0.66F, 345, 135, 14, 0.32F}, Limb{"First right", 0.47F, 52, 120, 12, 0.26F},
      Limb{"First left", 0.40F, 132, 125, 14, 0.26F}, Limb{"Second left", 0.70F, 140, 105, 16, 0.3F},
      Limb{"Second right", 0.77F, 45, 100, 18, 0.3F}, Limb{"Apex", 0.82F, 190, 95, 25, 0.34F},
      Limb{"Apex", 0.86F, 320, 85, 30, 0.36F},        Limb{"Apex", 0.90F, 90, 72, 38, 0.4F},
      Limb{"Apex", 0.93F, 230, 66, 45, 0.45F},        Limb{"Apex", 0.97F, 20, 58, 62, 0.6F}};
  std::vector<BranchSpec> branches;
  for (const Limb& limb : kLimbs) {
    branches.push_back({limb.name, limb.attach + rng.range(-0.025F, 0.025F),
                        limb.azimuth + rng.range(-20.0F, 20.0F),
                        limb.length * scale * rng.range(0.75F, 1.2F),
                        limb.rise + rng.range(-10.0F, 14.0F), limb.radius * rng.range(0.85F, 1.2F)});
  }
  return branches;
}

TreeHabit anyHabit(std::uint64_t seed, Rng& rng) {
  static constexpr std::array kKinds{FoliageKind::PalmateLeaf, FoliageKind::SerrateLeaf,
                                     FoliageKind::SerrateLeaf, FoliageKind::NeedlePairs,
                                     FoliageKind::NeedleFives, FoliageKind::NeedleWhorls};
  TreeHabit habit;
  habit.seed = seed;
  habit.foliage = kKinds.at(static_cast<std::size_t>(rng.below(6)));
  habit.bark = static_cast<BarkStyle>(rng.below(5));
  habit.heightMm = rng.range(380.0F, 600.0F);
  habit.trunkRadiusMm = rng.range(20.0F, 40.0F);
  habit.sweepMm = rng.range(15.0F, 65.0F);
  habit.leanMm = rng.range(-40.0F, 40.0F);
  habit.branches = anyBranches(rng, rng.range(0.85F, 1.15F));
  habit.secondarySpacingMm = rng.range(16.0F, 26.0F);
  habit.secondaryLength = rng.range(0.36F, 0.5F);
  habit.twigSpacingMm = rng.range(10.0F, 20.0F);
  habit.twigLengthMm = rng.range(20.0F, 40.0F);
  return habit;
}

FoliageLook anyFoliage(SceneSet set, FoliageKind kind, Rng& rng) {
  const auto palettes = areNeedles(kind) ? needlePalettes(set) : leafPalettes(set);
  const Palette& palette =
      palettes[static_cast<std::size_t>(rng.below(static_cast<int>(palettes.size())))];
  FoliageLook look;
  look.colour = varied(palette.mature, rng);
  look.otherColour = varied(palette.other, rng);
  look.otherShare = rng.range(0.05F, 0.5F);
  look.colourSpread = rng.range(0.08F, 0.25F);
  look.gloss = rng.range(0.05F, 0.6F);
  look.leafLengthMm = rng.range(16.0F, 42.0F);
  look.leavesPerSite = rng.range(1.0F, 2.8F);
  look.droop = rng.range(0.1F, 0.6F);
  const bool isWhorl = kind == FoliageKind::NeedleWhorls;
  look.needleLengthMm = isWhorl ? rng.range(9.0F, 16.0F) : rng.range(22.0F, 60.0F);
  look.needleRadiusMm = rng.range(0.42F, 0.75F);
  look.fasciclesPerTuft = kind == FoliageKind::NeedlePairs ? rng.range(22.0F, 42.0F)
                                                          : rng.range(12.0F, 22.0F);
  look.candleMm = areNeedles(kind) && !isWhorl && rng.uniform() < 0.35F ? rng.range(3.0F, 28.0F) : 0.0F;
  look.blossomShare = kind == FoliageKind::SerrateLeaf && rng.uniform() < 0.12F ? rng.range(0.05F, 0.3F) : 0.0F;
  look.seed = hashed(static_cast<std::uint64_t>(rng.below(1 << 20)));
  return look;
}

// A third of the trees is sound; of the others every branch has its own share.
std::vector<BranchHealth> anyHealth(FoliageKind kind, Rng& rng) {
  const bool isSound = rng.uniform() < 0.33F;
  const bool isThin = rng.uniform() < 0.4F;
  const float worst = rng.range(0.03F, areNeedles(kind) ? 0.9F : 0.5F);
  std::vector<BranchHealth> health;
  for (const char* name : {"First left", "First right", "Second left", "Second right", "Apex", ""}) {
    BranchHealth own{name, isThin ? rng.range(0.25F, 1.0F) : rng.range(0.85F, 1.0F), 0.0F, 0.0F};
    const float share = isSound ? 0.0F : worst * rng.uniform() * rng.uniform();
    (areNeedles(kind) ? own.blightFraction : own.spotFraction) = share;
    health.push_back(std::move(own));
  }
  return health;
}

CameraLook anyCamera(const SceneDescription& scene, const Skeleton& skeleton, int longSidePx, Rng& rng) {
  CameraLook camera;
  const bool isUpright = rng.uniform() < 0.5F;
  const int shortSide = longSidePx * 3 / 4;
  camera.widthPx = isUpright ? shortSide : longSidePx;
  camera.heightPx = isUpright ? longSidePx : shortSide;
  const bool isWhole = rng.uniform() < 0.35F;
  const float distance = isWhole ? 1500.0F : rng.range(420.0F, 1100.0F);
  const float field = isWhole ? rng.range(560.0F, 760.0F) : rng.range(110.0F, 420.0F);
  if (isWhole) {
    camera.target = {0.25F * scene.tree.leanMm, 0.52F * scene.tree.heightMm + 20.0F, 0.0F};
  } else {
    const auto place = static_cast<std::size_t>(rng.below(static_cast<int>(skeleton.sites.size())));
    camera.target = skeleton.sites[place].position;
  }
  const float yaw = radians(rng.range(-28.0F, 28.0F));
  camera.eye = camera.target + Vec3{distance * std::sin(yaw), distance * rng.range(-0.15F, 0.4F),
                                    distance * std::cos(yaw)};
  camera.rollDeg = rng.range(-12.0F, 12.0F);
  camera.focalPx = static_cast<float>(longSidePx) * distance / field;
  camera.planeZMm = isWhole ? 0.0F : camera.target.z;
  const float size = static_cast<float>(longSidePx) / 1680.0F;
  camera.defocusPx = (isWhole ? rng.range(1.0F, 4.0F) : rng.range(3.0F, 12.0F)) * size;
  camera.exposureEv = rng.range(-0.6F, 0.6F);
  camera.whiteBalance = {rng.range(0.88F, 1.12F), 1.0F, rng.range(0.86F, 1.14F)};
  camera.noise = rng.range(0.3F, 2.6F);
  camera.vignette = rng.range(0.0F, 0.3F);
  return camera;
}

Vec3 anyOf(const Range& hueDeg, const Range& saturation, const Range& value, Rng& rng) {
  const float v = rng.range(value.low, value.high);
  const float s = rng.range(saturation.low, saturation.high);
  const float hue = rng.range(hueDeg.low, hueDeg.high) / 60.0F;
  const auto level = [&](float from) {
    const float k = std::fmod(from + hue, 6.0F);
    return static_cast<int>(255.0F * v * (1.0F - s * std::clamp(std::min(k, 4.0F - k), 0.0F, 1.0F)));
  };
  const int red = level(5.0F);
  const int green = level(3.0F);
  return fromSrgb(red, green, level(1.0F));
}

Vec3 anyLeafColour(bool isNeedles, Rng& rng) {
  const float draw = rng.uniform();
  if (draw < 0.6F) {
    return anyOf({70.0F, 160.0F}, {0.2F, 0.65F}, {0.2F, 0.65F}, rng);
  }
  if (draw < 0.8F || isNeedles) {  // waxy, blue-green
    return anyOf({110.0F, 190.0F}, {0.08F, 0.45F}, {0.25F, 0.7F}, rng);
  }
  return draw < 0.9F ? anyOf({335.0F, 375.0F}, {0.35F, 0.8F}, {0.2F, 0.6F}, rng)
                     : anyOf({36.0F, 68.0F}, {0.4F, 0.8F}, {0.5F, 0.85F}, rng);
}

}  // namespace

LightLook drawnLight(const LightRanges& ranges, Rng& rng) {
  const auto within = [&rng](const Range& range) { return rng.range(range.low, range.high); };
  LightLook light;
  light.azimuthDeg = rng.range(20.0F, 165.0F);
  light.elevationDeg = within(ranges.elevationDeg);
  const float strength = rng.uniform() < 0.35F ? within(ranges.cloudySun) : within(ranges.clearSun);
  const float warmth = rng.range(0.0F, ranges.mostWarmth);
  light.sun = Vec3{1.0F, 1.0F - 0.35F * warmth, 1.0F - warmth} * strength;
  const float blue = rng.range(0.0F, ranges.mostBlue);
  light.sky = Vec3{1.0F - blue, 1.0F - 0.6F * blue, 1.0F} * rng.range(0.6F, 1.3F);
  light.penumbraMm = within(strength < ranges.softBelow ? ranges.softPenumbraMm : ranges.hardPenumbraMm);
  return light;
}

void growOtherwise(TreeHabit& tree, const HabitSpread& spread, Rng& rng) {
  for (BranchSpec& branch : tree.branches) {
    branch.attach = std::clamp(branch.attach + rng.range(-spread.attach, spread.attach), 0.05F, 0.99F);
    branch.azimuthDeg += rng.range(-spread.azimuthDeg, spread.azimuthDeg);
    branch.lengthMm *= rng.range(spread.length.low, spread.length.high);
    branch.riseDeg += rng.range(-spread.riseDeg, spread.riseDeg);
  }
  tree.sweepMm *= rng.range(spread.sweep.low, spread.sweep.high);
  tree.leanMm *= rng.range(-1.3F, 1.3F);
}

bool bearsNeedles(const SceneDescription& scene) { return areNeedles(scene.tree.foliage); }

SceneDescription drawnGarden(SceneSet set, std::uint64_t index, int longSidePx) {
  const std::uint64_t seed = seedOf(set, index);
  Rng rng(seed);
  SceneDescription scene;
  scene.tree = anyHabit(seed, rng);
  scene.foliage = anyFoliage(set, scene.tree.foliage, rng);
  scene.health = anyHealth(scene.tree.foliage, rng);
  scene.pot = {rng.range(130.0F, 180.0F), rng.range(95.0F, 125.0F), rng.range(50.0F, 80.0F),
               rng.range(2.0F, 6.0F), anyColour(rng), anyColour(rng), rng.range(0.05F, 0.9F),
               rng.range(0.0F, 0.9F), seed};
  scene.light = drawnLight({}, rng);
  scene.backdrop.kind = static_cast<BackdropKind>(rng.below(4));
  scene.backdrop.brightness = rng.range(0.5F, 1.25F);
  scene.backdrop.blurShare = rng.range(0.003F, 0.016F);
  scene.backdrop.tint = {rng.range(0.85F, 1.15F), 1.0F, rng.range(0.85F, 1.15F)};
  scene.backdrop.wood = fromSrgb(90 + rng.below(80), 80 + rng.below(60), 64 + rng.below(56));
  scene.backdrop.seed = seed;
  const Skeleton skeleton = grow(scene.tree, scene.pot.heightMm * 0.93F + 14.0F);
  scene.camera = anyCamera(scene, skeleton, longSidePx, rng);
  scene.camera.seed = seed;
  return scene;
}

void varyForTraining(SceneDescription& scene) {
  Rng rng(hashed(scene.camera.seed));
  FoliageLook& look = scene.foliage;
  const bool isNeedles = areNeedles(scene.tree.foliage);
  if (rng.uniform() < 0.5F) {
    look.colour = anyLeafColour(isNeedles, rng);
    look.otherColour = rng.uniform() < 0.7F ? varied(look.colour, rng) * rng.range(1.0F, 1.6F)
                                            : anyLeafColour(isNeedles, rng);
  }
  if (!isNeedles && rng.uniform() < 0.15F) {
    look.blossomShare = rng.range(0.05F, 0.5F);
  }
  CameraLook& camera = scene.camera;
  if (rng.uniform() < 0.35F) {
    camera.defocusPx *= rng.range(1.0F, 2.2F);
  }
  if (rng.uniform() < 0.5F) {
    const float warmth = rng.range(-0.25F, 0.25F);
    camera.whiteBalance.x *= std::exp(warmth);
    camera.whiteBalance.y *= std::exp(rng.range(-0.06F, 0.06F));
    camera.whiteBalance.z *= std::exp(-1.1F * warmth);
    camera.exposureEv += rng.range(-0.5F, 0.4F);
  }
}

}  // namespace edamori::scenes
