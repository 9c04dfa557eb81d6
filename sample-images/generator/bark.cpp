// SPDX-License-Identifier: GPL-3.0-or-later
#include "generator/bark.h"

#include "generator/noise.h"

namespace edamori::scenes {
namespace {

MaterialSample pinePlates(Vec3 g) {
  const Vec3 warp{3.0F * fractalNoise(g * 0.09F, 3),
                  5.0F * fractalNoise(g * 0.07F + Vec3{9.0F, 0.0F, 0.0F}, 3),
                  0.0F};
  const Vec3 w = g + warp;
  const CellNoise plate = cellNoise({w.x * 0.17F, w.y * 0.075F, w.z * 0.17F});
  const float gap = smoothStep(
      0.0F, 0.22F, plate.second - plate.nearest + 0.35F * (fractalNoise(g * 0.5F, 3) - 0.5F));
  const float flake = fractalNoise({g.x * 0.55F, g.y * 0.32F, g.z * 0.55F}, 4);
  MaterialSample sample;
  sample.heightMm = 2.6F * gap + 2.4F * flake + 0.8F * plate.cellValue;
  const Vec3 dark = fromSrgb(58, 47, 41);
  const Vec3 grey = mix(fromSrgb(112, 102, 94), fromSrgb(126, 102, 86), plate.cellValue);
  sample.colour = mix(dark, grey * (0.55F + 0.9F * flake), gap);
  return sample;
}

MaterialSample flakingElm(Vec3 g) {
  const float map = fractalNoise(g * 0.085F, 4);
  const float edge = fractalNoise(g * 0.42F + Vec3{3.0F, 1.0F, 0.0F}, 3);
  const float flake = smoothStep(0.50F, 0.53F, map + 0.12F * (edge - 0.5F));
  const float older = smoothStep(0.41F, 0.43F, map + 0.10F * (edge - 0.5F));
  const CellNoise dots = cellNoise(g * 0.33F);
  const float lenticel =
      smoothStep(0.24F, 0.10F, dots.nearest) * (dots.cellValue > 0.55F ? 1.0F : 0.0F);
  const float fine = fractalNoise(g * 1.3F, 3);
  MaterialSample sample;
  sample.heightMm =
      0.55F * (1.0F - flake) + 0.35F * (1.0F - older) + 0.5F * lenticel + 0.35F * fine;
  const Vec3 grey = mix(fromSrgb(122, 116, 106), fromSrgb(148, 144, 134), edge);
  const Vec3 fresh = mix(fromSrgb(156, 122, 92), fromSrgb(142, 126, 102), edge);
  const Vec3 mid = fromSrgb(132, 122, 100);
  sample.colour = mix(mix(grey, mid, older), fresh, flake) * (0.72F + 0.5F * fine);
  sample.colour = mix(sample.colour, fromSrgb(150, 104, 72), 0.6F * lenticel);
  const float algae =
      smoothStep(0.55F, 0.75F, fractalNoise(g * 0.05F + Vec3{40.0F, 0.0F, 0.0F}, 4));
  sample.colour = mix(sample.colour, fromSrgb(98, 108, 70) * (0.6F + 0.6F * fine), 0.45F * algae);
  return sample;
}

MaterialSample smoothMaple(Vec3 g) {
  const float streak = fractalNoise({g.x * 0.35F, g.y * 0.04F, g.z * 0.35F}, 4);
  const float fine = fractalNoise({g.x * 1.4F, g.y * 0.5F, g.z * 1.4F}, 3);
  const float ring =
      smoothStep(0.62F, 0.8F, fractalNoise({g.x * 0.04F, g.y * 0.28F, g.z * 0.04F}, 3));
  MaterialSample sample;
  sample.heightMm = 0.9F * streak + 0.4F * fine + 0.4F * ring;
  sample.colour = mix(fromSrgb(118, 106, 92), fromSrgb(168, 158, 140), streak) *
                  (0.7F + 0.5F * fine) * (1.0F - 0.3F * ring);
  const float lichen =
      smoothStep(0.58F, 0.66F, fractalNoise(g * 0.12F + Vec3{11.0F, 5.0F, 0.0F}, 4));
  sample.colour =
      mix(sample.colour, fromSrgb(150, 162, 138) * (0.6F + 0.6F * fine), 0.55F * lichen);
  return sample;
}

MaterialSample bandedFruit(Vec3 g) {
  const float band =
      smoothStep(0.58F, 0.70F, fractalNoise({g.x * 0.07F, g.y * 0.75F, g.z * 0.07F}, 3));
  const float fine = fractalNoise(g * 0.9F, 4);
  const float scale = fractalNoise({g.x * 0.12F, g.y * 0.16F, g.z * 0.12F}, 4);
  MaterialSample sample;
  sample.heightMm = 0.9F * band + 0.9F * fine + 1.1F * smoothStep(0.5F, 0.56F, scale);
  sample.colour = mix(fromSrgb(78, 60, 52), fromSrgb(128, 106, 92), scale) * (0.65F + 0.6F * fine);
  sample.colour = mix(sample.colour, fromSrgb(150, 122, 100), 0.5F * band);
  sample.gloss = 0.15F;
  return sample;
}

MaterialSample fibrousJuniper(Vec3 g) {
  const float twist = 0.25F * g.y;
  const Vec3 w{g.x + 3.0F * std::sin(twist * 0.05F), g.y, g.z};
  const float fibre = fractalNoise({w.x * 0.75F, w.y * 0.045F, w.z * 0.75F}, 4);
  const float strip = fractalNoise({w.x * 0.22F, w.y * 0.018F, w.z * 0.22F}, 3);
  MaterialSample sample;
  sample.heightMm = 2.4F * fibre + 2.6F * strip;
  sample.colour = mix(fromSrgb(72, 46, 36), fromSrgb(158, 116, 88), fibre);
  sample.colour =
      mix(sample.colour, fromSrgb(160, 146, 130), 0.55F * smoothStep(0.5F, 0.65F, strip));
  return sample;
}

MaterialSample barkOf(BarkStyle style, Vec3 grain) {
  switch (style) {
    case BarkStyle::PinePlates:
      return pinePlates(grain);
    case BarkStyle::FlakingElm:
      return flakingElm(grain);
    case BarkStyle::BandedFruit:
      return bandedFruit(grain);
    case BarkStyle::FibrousJuniper:
      return fibrousJuniper(grain);
    case BarkStyle::SmoothMaple:
      break;
  }
  return smoothMaple(grain);
}

MaterialSample potSample(const PotLook& pot, Vec3 g) {
  const float flow = fractalNoise(
      {g.x * 0.03F, g.y * 0.012F + static_cast<float>(pot.seed % 31U), g.z * 0.03F}, 4);
  const float speckle = valueNoise(g * 1.1F);
  const float lip = smoothStep(0.80F, 0.98F, g.y / pot.heightMm);
  MaterialSample sample;
  sample.colour = mix(pot.colour, pot.flowColour, clamp01(0.55F * lip + 1.5F * (flow - 0.35F)));
  sample.colour = sample.colour * (0.86F + 0.2F * speckle + 0.12F * fractalNoise(g * 0.3F, 3));
  const float lime = smoothStep(0.55F, 0.8F, fractalNoise(g * 0.035F + Vec3{5.0F, 2.0F, 1.0F}, 4)) *
                     smoothStep(0.5F, 0.1F, g.y / pot.heightMm);
  sample.colour = mix(sample.colour, fromSrgb(176, 168, 152), 0.30F * lime);
  sample.heightMm = mix(0.45F, 0.10F, pot.gloss) * fractalNoise(g * 0.4F, 3) +
                    0.35F * fractalNoise(g * 0.06F, 2) * pot.gloss;
  sample.gloss = pot.gloss * (1.0F - 0.5F * lime);
  return sample;
}

MaterialSample soilSample(const PotLook& pot, Vec3 g) {
  const float fine = fractalNoise(g * 0.9F, 3);
  MaterialSample sample;
  if (g.y > 300.0F) {  // a grain of substrate; buildGrains lifts them out of the soil's range
    const float kind = valueNoise({g.y * 0.071F, 1.0F, 2.0F});
    const Vec3 clay = mix(fromSrgb(132, 92, 60), fromSrgb(176, 140, 100), kind);
    sample.colour = (kind > 0.72F ? fromSrgb(86, 82, 80) : clay) * (0.6F + 0.7F * fine);
    sample.heightMm = 0.4F * fine;
    return sample;
  }
  const float moss = smoothStep(
      0.0F,
      0.10F,
      fractalNoise({g.x * 0.022F, g.z * 0.022F, 2.0F + static_cast<float>(pot.seed % 13U)}, 4) -
          (0.78F - 0.56F * pot.mossShare));
  const float tuft = fractalNoise(g * 0.55F, 4);
  const Vec3 green =
      mix(fromSrgb(40, 50, 20), fromSrgb(112, 122, 54), smoothStep(0.3F, 0.75F, tuft));
  const Vec3 earth = mix(fromSrgb(52, 38, 28), fromSrgb(116, 88, 62), fine);
  sample.colour = mix(earth, green, moss);
  sample.heightMm = mix(1.0F * fine, 2.4F * tuft + 0.8F * valueNoise(g * 2.4F), moss);
  return sample;
}

MaterialSample woodSample(const BackdropLook& look, Vec3 g) {
  const float warp = 7.0F * fractalNoise({g.x * 0.02F, g.y * 0.004F, g.z * 0.02F}, 3);
  const float rings = 0.5F + 0.5F * std::sin((g.x + g.z * 0.7F) * 0.42F + warp * 2.2F);
  const float fibre = fractalNoise({g.x * 0.9F, g.y * 0.022F, g.z * 0.9F}, 4);
  const float crack =
      smoothStep(0.72F, 0.84F, fractalNoise({g.x * 0.32F, g.y * 0.006F, g.z * 0.32F + 9.0F}, 3));
  const float stain = fractalNoise({g.x * 0.012F, g.y * 0.008F, 4.0F}, 4);
  MaterialSample sample;
  sample.colour = look.wood * (0.62F + 0.30F * rings + 0.55F * fibre) * (0.75F + 0.5F * stain) *
                  (1.0F - 0.6F * crack);
  const float algae =
      smoothStep(0.55F, 0.75F, fractalNoise({g.x * 0.02F + 8.0F, g.y * 0.009F, 1.0F}, 4));
  sample.colour = mix(sample.colour, fromSrgb(92, 100, 76) * (0.5F + 0.5F * fibre), 0.35F * algae);
  sample.heightMm = 0.55F * fibre + 0.3F * rings - 1.0F * crack;
  sample.gloss = 0.06F;
  return sample;
}

}  // namespace

MaterialSample materialAt(const SceneDescription& scene, const Mesh& mesh, Vec3 grain) {
  switch (mesh.material) {
    case Material::Bark:
      return barkOf(scene.tree.bark, grain);
    case Material::Twig: {
      MaterialSample sample = barkOf(scene.tree.bark, grain * 2.0F);
      return {sample.colour * 0.8F, 0.1F * sample.heightMm, 0.05F};
    }
    case Material::Pot:
      return potSample(scene.pot, grain);
    case Material::Soil:
      return soilSample(scene.pot, grain);
    case Material::Wood:
      return woodSample(scene.backdrop, grain);
    case Material::ScaleInsect: {
      // Grain coordinates run over the unit dome: a pale waxy margin, fine rings, a darker crown.
      const float rim = smoothStep(0.93F, 1.0F, std::sqrt(grain.x * grain.x + grain.y * grain.y));
      const float mottle = 0.75F + 0.5F * fractalNoise(grain * 3.0F + mesh.colour * 90.0F, 3);
      return {
          mix(mesh.colour * mottle, fromSrgb(170, 140, 118), 0.35F * rim), 0.03F * mottle, 0.75F};
    }
    case Material::Aphid:
      return {mesh.colour * (0.8F + 0.4F * fractalNoise(grain * 2.0F, 2)), 0.0F, 0.5F};
    case Material::Nothing:
    case Material::Blade:
    case Material::Needle:
      break;
  }
  return {mesh.colour, 0.0F, 0.0F};
}

}  // namespace edamori::scenes
