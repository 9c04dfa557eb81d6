// SPDX-License-Identifier: GPL-3.0-or-later
#include "generator/lighting.h"

#include <array>

#include "generator/rng.h"

namespace edamori::scenes {
namespace {

std::size_t cellIndex(const SkyGrid& grid, int x, int y, int z) {
  return (static_cast<std::size_t>(z) * static_cast<std::size_t>(grid.ny) +
          static_cast<std::size_t>(y)) *
             static_cast<std::size_t>(grid.nx) +
         static_cast<std::size_t>(x);
}

struct Density {
  SkyGrid grid;
  std::vector<float> perMm;  // optical density

  void add(Vec3 point, float areaMm2) {
    const Vec3 p = (point - grid.low) * (1.0F / grid.cellMm);
    const int x = static_cast<int>(p.x);
    const int y = static_cast<int>(p.y);
    const int z = static_cast<int>(p.z);
    if (p.x >= 0.0F && p.y >= 0.0F && p.z >= 0.0F && x < grid.nx && y < grid.ny && z < grid.nz) {
      // Half the area of randomly turned leaves faces any one direction; a half more stands for
      // the clumping that the coarse grid cannot see (chosen by eye).
      perMm[cellIndex(grid, x, y, z)] +=
          0.75F * areaMm2 / (grid.cellMm * grid.cellMm * grid.cellMm);
    }
  }
  float at(Vec3 point) const {
    const Vec3 p = (point - grid.low) * (1.0F / grid.cellMm);
    const int x = static_cast<int>(std::floor(p.x));
    const int y = static_cast<int>(std::floor(p.y));
    const int z = static_cast<int>(std::floor(p.z));
    const bool inside = x >= 0 && y >= 0 && z >= 0 && x < grid.nx && y < grid.ny && z < grid.nz;
    return inside ? perMm[cellIndex(grid, x, y, z)] : 0.0F;
  }
};

constexpr int kSkyDirections = 14;

std::array<Vec3, kSkyDirections> skyDirections() {
  std::array<Vec3, kSkyDirections> directions;
  for (int i = 0; i < kSkyDirections; ++i) {
    const float y = (static_cast<float>(i) + 0.5F) / kSkyDirections;
    const float angle = 2.39996F * static_cast<float>(i);
    const float r = std::sqrt(1.0F - y * y);
    directions.at(static_cast<std::size_t>(i)) = {r * std::cos(angle), y, r * std::sin(angle)};
  }
  return directions;
}

float skySeenFrom(const Density& density, Vec3 point) {
  static const std::array<Vec3, kSkyDirections> kDirections = skyDirections();
  float sum = 0.0F;
  float weights = 0.0F;
  for (const Vec3 direction : kDirections) {
    float depth = 0.0F;
    for (float s = density.grid.cellMm * 0.7F; s < 420.0F; s *= 1.22F) {
      depth += density.at(point + direction * s) * s * 0.2F;
    }
    const float weight = 0.35F + direction.y;
    sum += weight * std::exp(-depth);
    weights += weight;
  }
  return sum / weights;
}

void fillDensity(Density& density, const FoliageModel& foliage, const std::vector<Mesh>& solids) {
  for (const Leaf& leaf : foliage.leaves) {
    density.add(leaf.base + leaf.along * (leaf.lengthMm * 0.5F),
                0.5F * leaf.lengthMm * leaf.widthMm);
  }
  for (const Strand& strand : foliage.strands) {
    const float areaMm2 = 2.0F * strand.radiusMm * length(strand.to - strand.from);
    density.add(mix(strand.from, strand.to, 0.35F), areaMm2 * 0.5F);
    density.add(mix(strand.from, strand.to, 0.8F), areaMm2 * 0.5F);
  }
  for (const Mesh& mesh : solids) {
    if (mesh.object != 0 || mesh.material == Material::Wood) {
      continue;
    }
    for (std::size_t i = 0; i + 2 < mesh.corners.size(); i += 3) {
      const Vec3 a = mesh.vertices[static_cast<std::size_t>(mesh.corners[i])].position;
      const Vec3 b = mesh.vertices[static_cast<std::size_t>(mesh.corners[i + 1])].position;
      const Vec3 c = mesh.vertices[static_cast<std::size_t>(mesh.corners[i + 2])].position;
      density.add((a + b + c) * (1.0F / 3.0F), 0.7F * length(cross(b - a, c - a)));
    }
  }
}

// Share of the sun's disc seen from the point: a disc of depth comparisons, turned per pixel.
float sunSeenFrom(const LightField& field, Vec3 point, unsigned grain) {
  constexpr int kTaps = 9;
  const ScreenPoint centre = field.sunView.project(point);
  const float turn = 2.0F * kPi * hashedUnit(grain);
  const float radius = std::max(1.1F, field.look.penumbraMm * field.sunView.scale);
  float seen = 0.0F;
  for (int i = 0; i < kTaps; ++i) {
    const float r = radius * std::sqrt((static_cast<float>(i) + 0.5F) / kTaps);
    const float angle = turn + 2.39996F * static_cast<float>(i);
    const int x = static_cast<int>(centre.x + r * std::cos(angle));
    const int y = static_cast<int>(centre.y + r * std::sin(angle));
    if (x < 0 || y < 0 || x >= field.sunView.width || y >= field.sunView.height) {
      seen += 1.0F;
      continue;
    }
    const float blocker =
        field.sunKey[static_cast<std::size_t>(y) * static_cast<std::size_t>(field.sunView.width) +
                     static_cast<std::size_t>(x)];
    // Contact shadows fade in over half a millimetre, which hides the map's grid.
    seen += 1.0F - smoothStep(0.35F, 0.9F + 0.3F * field.look.penumbraMm, blocker - centre.key);
  }
  return seen / kTaps;
}

}  // namespace

Vec3 sunDirection(const LightLook& light) {
  const float elevation = radians(light.elevationDeg);
  const float azimuth = radians(light.azimuthDeg);
  return {std::cos(azimuth) * std::cos(elevation),
          std::sin(elevation),
          std::sin(azimuth) * std::cos(elevation)};
}

float SkyGrid::at(Vec3 point) const {
  const Vec3 p = (point - low) * (1.0F / cellMm) - Vec3{0.5F, 0.5F, 0.5F};
  const int x = std::clamp(static_cast<int>(std::floor(p.x)), 0, nx - 2);
  const int y = std::clamp(static_cast<int>(std::floor(p.y)), 0, ny - 2);
  const int z = std::clamp(static_cast<int>(std::floor(p.z)), 0, nz - 2);
  const float u = clamp01(p.x - static_cast<float>(x));
  const float v = clamp01(p.y - static_cast<float>(y));
  const float w = clamp01(p.z - static_cast<float>(z));
  const auto value = [&](int dx, int dy, int dz) {
    return visible[cellIndex(*this, x + dx, y + dy, z + dz)];
  };
  const float near =
      mix(mix(value(0, 0, 0), value(1, 0, 0), u), mix(value(0, 1, 0), value(1, 1, 0), u), v);
  const float far =
      mix(mix(value(0, 0, 1), value(1, 0, 1), u), mix(value(0, 1, 1), value(1, 1, 1), u), v);
  return mix(near, far, w);
}

SkyGrid buildSkyGrid(const FoliageModel& foliage, const std::vector<Mesh>& solids) {
  Density density;
  SkyGrid& grid = density.grid;
  grid.low = {-470.0F, -20.0F, -350.0F};
  grid.cellMm = 9.0F;
  grid.nx = 105;
  grid.ny = 92;
  grid.nz = 78;
  const std::size_t cells = static_cast<std::size_t>(grid.nx) * static_cast<std::size_t>(grid.ny) *
                            static_cast<std::size_t>(grid.nz);
  density.perMm.assign(cells, 0.0F);
  fillDensity(density, foliage, solids);
  grid.visible.assign(cells, 1.0F);
  for (int z = 0; z < grid.nz; ++z) {
    for (int y = 0; y < grid.ny; ++y) {
      for (int x = 0; x < grid.nx; ++x) {
        const Vec3 offset{static_cast<float>(x) + 0.5F,
                          static_cast<float>(y) + 0.5F,
                          static_cast<float>(z) + 0.5F};
        grid.visible[cellIndex(grid, x, y, z)] =
            skySeenFrom(density, grid.low + offset * grid.cellMm);
      }
    }
  }
  return grid;
}

Vec3 shade(
    const LightField& field, const Surface& surface, Vec3 point, Vec3 toEye, unsigned grain) {
  Vec3 normal = surface.normal;
  const bool thin = surface.material == Material::Blade;
  if (thin && dot(normal, toEye) < 0.0F) {
    normal = -normal;
  }
  const float facing = dot(normal, field.toSun);
  const float sunny = luminance(field.look.sun) > 0.01F
                          ? sunSeenFrom(field, point + normal * 0.25F + field.toSun * 0.3F, grain)
                          : 0.0F;
  const Vec3 sun = field.look.sun * sunny;
  const float open = field.sky.at(point + normal * 8.0F);
  const float upward = 0.5F + 0.5F * normal.y;
  const float floor = 0.25F * (1.0F - upward) * (0.35F + 0.65F * open);
  const Vec3 bounce = (field.look.sun * 0.35F + field.look.sky) * Vec3{0.95F, 0.9F, 0.75F} * floor;
  const Vec3 sky = field.look.sky * (open * (0.30F + 0.70F * upward));
  Vec3 light = sun * std::max(0.0F, facing) + sky + bounce;
  Vec3 result = surface.albedo * light;
  if (surface.translucency > 0.0F) {
    // Light through a blade is yellower than light off it.
    const Vec3 through = surface.albedo * Vec3{1.12F, 1.06F, 0.62F} * surface.translucency;
    result += through * (sun * std::max(0.0F, -facing) +
                         field.look.sky * (0.35F * open * (1.0F - 0.5F * upward)));
  }
  const Vec3 half = normalized(field.toSun + toEye);
  const float sharp = mix(10.0F, 220.0F, surface.gloss * surface.gloss);
  const float lobe = std::pow(std::max(0.0F, dot(normal, half)), sharp);
  const float grazing = std::pow(1.0F - clamp01(dot(normal, toEye)), 5.0F);
  const float fresnel = 0.04F + 0.5F * grazing * surface.gloss;
  result +=
      sun * (lobe * surface.gloss * (0.05F + sharp * 0.009F) * smoothStep(0.0F, 0.15F, facing));
  // The sky mirrored in wax or glaze: a bright zone above, with a soft edge.
  const Vec3 mirrored = normal * (2.0F * dot(normal, toEye)) - toEye;
  const float above = smoothStep(-0.05F, mix(0.9F, 0.35F, surface.gloss), mirrored.y);
  result += field.look.sky * (above * open * surface.gloss * fresnel * 2.6F);
  return result;
}

Vec3 bumpedNormal(const SurfaceBuffer& buffer, int x, int y) {
  const int width = buffer.view.width;
  const auto at = [&](int dx, int dy) {
    return static_cast<std::size_t>((y + dy) * width + x + dx);
  };
  const Surface& here = buffer.surface[at(0, 0)];
  if (x + 1 >= width || y + 1 >= buffer.view.height || here.material == Material::Needle) {
    return here.normal;
  }
  const Surface& right = buffer.surface[at(1, 0)];
  const Surface& below = buffer.surface[at(0, 1)];
  if (right.material != here.material || below.material != here.material ||
      right.object != here.object || below.object != here.object) {
    return here.normal;
  }
  const auto point = [&](int dx, int dy) {
    return buffer.view.unproject(static_cast<float>(x + dx) + 0.5F,
                                 static_cast<float>(y + dy) + 0.5F,
                                 buffer.key[at(dx, dy)]);
  };
  const Vec3 p = point(0, 0);
  const Vec3 sx = point(1, 0) - p;
  const Vec3 sy = point(0, 1) - p;
  const float pitch = buffer.view.pxPerMm(buffer.key[at(0, 0)]);
  if (length(sx) * pitch > 9.0F || length(sy) * pitch > 9.0F) {
    return here.normal;
  }
  const float steep =
      3.0F / pitch;  // relief between two samples is limited: deeper steps are aliasing
  const float hx = std::clamp(right.heightMm - here.heightMm, -steep, steep);
  const float hy = std::clamp(below.heightMm - here.heightMm, -steep, steep);
  const Vec3 r1 = cross(sy, here.normal);
  const Vec3 r2 = cross(here.normal, sx);
  const float det = dot(sx, r1);
  const Vec3 gradient = (r1 * hx + r2 * hy) * (det < 0.0F ? -1.0F : 1.0F);
  return normalized(here.normal * std::abs(det) - gradient);
}

}  // namespace edamori::scenes
