// SPDX-License-Identifier: GPL-3.0-or-later
#include "generator/solids.h"

#include <array>

#include "generator/noise.h"
#include "generator/rng.h"

namespace edamori::scenes {
namespace {

constexpr Vec3 kUp{0.0F, 1.0F, 0.0F};

// Appends the triangles of a grid of rows × columns vertices; the last column meets the first if
// closed.
enum class Seam { Open, Closed };

void joinGrid(Mesh& mesh, int first, int rows, int columns, Seam seam) {
  const int last = seam == Seam::Closed ? columns : columns - 1;
  for (int r = 0; r + 1 < rows; ++r) {
    for (int c = 0; c < last; ++c) {
      const int a = first + r * columns + c;
      const int b = first + r * columns + (c + 1) % columns;
      mesh.corners.insert(mesh.corners.end(), {a, b, a + columns, b, b + columns, a + columns});
    }
  }
}

// Normals from the grid's own geometry, pointing away from `inside` by the sense of the grid.
void gridNormals(Mesh& mesh, int first, int rows, int columns, Seam seam) {
  const auto at = [&](int r, int c) -> Vertex& {
    return mesh.vertices[static_cast<std::size_t>(first + r * columns + c)];
  };
  for (int r = 0; r < rows; ++r) {
    for (int c = 0; c < columns; ++c) {
      const int left = seam == Seam::Closed ? (c + columns - 1) % columns : std::max(c - 1, 0);
      const int right = seam == Seam::Closed ? (c + 1) % columns : std::min(c + 1, columns - 1);
      const Vec3 across = at(r, right).position - at(r, left).position;
      const Vec3 along =
          at(std::min(r + 1, rows - 1), c).position - at(std::max(r - 1, 0), c).position;
      const Vec3 n = cross(along, across);
      if (dot(n, n) > 1e-10F) {
        at(r, c).normal = normalized(n);
      }
    }
  }
}

float trunkFlare(const TreeHabit& habit, float heightMm, float angle) {
  const float fall = std::exp(-heightMm / (habit.trunkRadiusMm * 1.15F));
  const float lobes =
      0.5F + 0.5F * valueNoise({std::cos(angle) * 2.4F + 7.0F, std::sin(angle) * 2.4F, 3.0F});
  return 1.0F + 0.55F * fall * lobes;
}

float limbRadius(
    const TreeHabit& habit, const Limb& limb, const LimbPoint& point, float angle, float lengthMm) {
  const float soft =
      valueNoise({std::cos(angle) * 1.3F, lengthMm * 0.022F, std::sin(angle) * 1.3F + 5.0F});
  if (limb.level == LimbLevel::Trunk) {
    return point.radiusMm * (0.88F + 0.24F * soft) * trunkFlare(habit, lengthMm, angle);
  }
  const float burl = valueNoise({lengthMm * 0.09F, point.radiusMm, angle * 0.3F});
  const float collar =
      limb.level == LimbLevel::Primary
          ? 1.0F + 0.55F * std::exp(-lengthMm / (1.3F * limb.points.front().radiusMm))
          : 1.0F;
  return collar * point.radiusMm *
         (limb.level == LimbLevel::Twig ? 1.0F : 0.84F + 0.22F * soft + 0.14F * burl);
}

void addTube(Mesh& mesh, const TreeHabit& habit, const Limb& limb) {
  const float thickest = limb.points.front().radiusMm;
  const int sides = std::clamp(static_cast<int>(thickest * 5.0F), 5, 120);
  const int rows = limb.level == LimbLevel::Trunk
                       ? 260
                       : static_cast<int>(limb.points.size()) * (thickest > 2.0F ? 4 : 1);
  const int first = static_cast<int>(mesh.vertices.size());
  const float shift = 37.0F * static_cast<float>(first % 101);
  Vec3 across{1.0F, 0.0F, 0.0F};
  float lengthMm = 0.0F;
  Vec3 before = limb.points.front().position;
  for (int r = 0; r < rows; ++r) {
    const float t = static_cast<float>(r) / static_cast<float>(rows - 1);
    const LimbPoint point = pointAt(limb, t);
    const Vec3 axis =
        normalized(pointAt(limb, t + 0.02F).position - pointAt(limb, t - 0.02F).position);
    across = normalized(across - axis * dot(across, axis));
    const Vec3 other = cross(across, axis);
    lengthMm += length(point.position - before);
    before = point.position;
    for (int s = 0; s < sides; ++s) {
      const float angle = 2.0F * kPi * static_cast<float>(s) / static_cast<float>(sides);
      const float radius = limbRadius(habit, limb, point, angle, lengthMm);
      const Vec3 out = across * std::cos(angle) + other * std::sin(angle);
      const Vec3 grain{
          std::cos(angle) * point.radiusMm + shift, lengthMm, std::sin(angle) * point.radiusMm};
      mesh.vertices.push_back({point.position + out * radius, out, grain});
    }
  }
  joinGrid(mesh, first, rows, sides, Seam::Closed);
  if (thickest > 2.0F) {
    gridNormals(mesh, first, rows, sides, Seam::Closed);
    for (std::size_t i = static_cast<std::size_t>(first); i < mesh.vertices.size(); ++i) {
      Vertex& vertex = mesh.vertices[i];
      const std::size_t row =
          (i - static_cast<std::size_t>(first)) / static_cast<std::size_t>(sides);
      const Vec3 centre =
          pointAt(limb, static_cast<float>(row) / static_cast<float>(rows - 1)).position;
      if (dot(vertex.normal, vertex.position - centre) < 0.0F) {
        vertex.normal = -vertex.normal;
      }
    }
  }
}

struct ProfilePoint {
  float scale = 1.0F;
  float heightMm = 0.0F;
};

std::vector<ProfilePoint> potProfile(const PotLook& pot) {
  const float h = pot.heightMm;
  const std::vector<ProfilePoint> knots{{0.80F, 0.0F},
                                        {0.81F, h * 0.10F},
                                        {0.86F, h * 0.13F},
                                        {0.93F, h * 0.34F},
                                        {0.975F, h * 0.62F},
                                        {0.985F, h * 0.80F},
                                        {0.99F, h * 0.83F},
                                        {1.04F, h * 0.86F},
                                        {1.055F, h * 0.90F},
                                        {1.055F, h * 0.97F},
                                        {1.04F, h},
                                        {0.97F, h},
                                        {0.95F, h * 0.97F},
                                        {0.94F, h * 0.80F}};
  std::vector<ProfilePoint> fine;
  for (std::size_t i = 0; i + 1 < knots.size(); ++i) {
    for (int k = 0; k < 4; ++k) {
      const float t = static_cast<float>(k) / 4.0F;
      fine.push_back({mix(knots[i].scale, knots[i + 1].scale, t),
                      mix(knots[i].heightMm, knots[i + 1].heightMm, t)});
    }
  }
  fine.push_back(knots.back());
  return fine;
}

// Point of the superellipse |x/a|^n + |z/b|^n = 1 in the direction of the angle.
Vec3 rimPoint(const PotLook& pot, float angle) {
  const float c = std::cos(angle);
  const float s = std::sin(angle);
  const float n = pot.squareness;
  const float reach = std::pow(std::pow(std::abs(c), n) + std::pow(std::abs(s), n), -1.0F / n);
  return {pot.halfWidthMm * reach * c, 0.0F, pot.halfDepthMm * reach * s};
}

Mesh buildPot(const PotLook& pot) {
  Mesh mesh;
  mesh.material = Material::Pot;
  const std::vector<ProfilePoint> profile = potProfile(pot);
  constexpr int kSides = 240;
  for (const ProfilePoint& ring : profile) {
    for (int s = 0; s < kSides; ++s) {
      const Vec3 rim = rimPoint(pot, 2.0F * kPi * static_cast<float>(s) / kSides);
      const Vec3 position = rim * ring.scale + kUp * ring.heightMm;
      mesh.vertices.push_back({position, kUp, position});
    }
  }
  joinGrid(mesh, 0, static_cast<int>(profile.size()), kSides, Seam::Closed);
  gridNormals(mesh, 0, static_cast<int>(profile.size()), kSides, Seam::Closed);
  return mesh;
}

Mesh buildSoil(const PotLook& pot, float soilMm) {
  Mesh mesh;
  mesh.material = Material::Soil;
  constexpr int kRings = 110;
  constexpr int kSides = 320;
  const float edge = pot.heightMm * 0.93F;
  for (int r = 0; r < kRings; ++r) {
    const float t = static_cast<float>(r) / (kRings - 1);
    for (int s = 0; s < kSides; ++s) {
      const Vec3 flat = rimPoint(pot, 2.0F * kPi * static_cast<float>(s) / kSides) * (0.96F * t);
      const float mound = (soilMm - edge) * std::exp(-t * t * 3.0F);
      const Vec3 at{flat.x * 0.05F, flat.z * 0.05F, static_cast<float>(pot.seed % 97U)};
      const float bumps = 5.0F * fractalNoise(at, 4) + 1.4F * valueNoise(at * 9.0F) - 3.0F;
      const Vec3 position{flat.x, edge + mound + bumps * (t < 0.97F ? 1.0F : 0.3F), flat.z};
      mesh.vertices.push_back({position, kUp, position});
    }
  }
  joinGrid(mesh, 0, kRings, kSides, Seam::Closed);
  gridNormals(mesh, 0, kRings, kSides, Seam::Closed);
  for (Vertex& vertex : mesh.vertices) {
    vertex.normal = vertex.normal.y < 0.0F ? -vertex.normal : vertex.normal;
  }
  return mesh;
}

// A low dome over an ellipse, for insects and grains of soil.
struct Dome {
  Vec3 position;
  Vec3 normal;
  Vec3 heading;
  float halfLengthMm = 1.0F;
  float halfWidthMm = 1.0F;
  float heightMm = 1.0F;
  float pear = 0.0F;  // > 0: wider behind
};

void addDome(Mesh& mesh, const Dome& dome, int rings, int sides) {
  const int first = static_cast<int>(mesh.vertices.size());
  const Vec3 across = cross(dome.normal, dome.heading);
  for (int r = 0; r < rings; ++r) {
    const float polar = mix(0.02F, 1.75F, static_cast<float>(r) / static_cast<float>(rings - 1));
    for (int s = 0; s < sides; ++s) {
      const float angle = 2.0F * kPi * static_cast<float>(s) / static_cast<float>(sides);
      const float u = std::cos(angle) * std::sin(polar);
      const float v = std::sin(angle) * std::sin(polar) * (1.0F - dome.pear * u);
      const Vec3 local = dome.heading * (u * dome.halfLengthMm) + across * (v * dome.halfWidthMm) +
                         dome.normal * (std::cos(polar) * dome.heightMm);
      const Vec3 normal =
          normalized(dome.heading * (u / dome.halfLengthMm) + across * (v / dome.halfWidthMm) +
                     dome.normal * (std::cos(polar) / dome.heightMm));
      mesh.vertices.push_back({dome.position + local, normal, {u, v, std::cos(polar)}});
    }
  }
  joinGrid(mesh, first, rings, sides, Seam::Closed);
}

Mesh buildGrains(const PotLook& pot, const Mesh& soil) {
  Mesh mesh;
  mesh.material = Material::Soil;
  Rng rng(pot.seed + 77U);
  for (int i = 0; i < 1500; ++i) {
    const Vertex& seat =
        soil.vertices[static_cast<std::size_t>(rng.below(static_cast<int>(soil.vertices.size())))];
    const float size = rng.range(1.0F, 2.7F);
    const Vec3 normal = normalized(rng.direction() + kUp * 1.5F);
    const Vec3 heading = normalized(cross(normal, rng.direction()));
    const std::size_t first = mesh.vertices.size();
    addDome(mesh,
            {seat.position,
             normal,
             heading,
             size,
             size * rng.range(0.65F, 1.0F),
             size * rng.range(0.5F, 0.9F),
             0.0F},
            5,
            8);
    for (std::size_t k = first; k < mesh.vertices.size(); ++k) {
      mesh.vertices[k].grain =
          mesh.vertices[k].position + Vec3{0.0F, 500.0F + 13.0F * static_cast<float>(i), 0.0F};
    }
  }
  return mesh;
}

// One face of a board as a grid; u and v span it from the corner.
void addFace(Mesh& mesh, Vec3 corner, Vec3 u, Vec3 v, Vec3 normal) {
  const int columns = std::max(2, static_cast<int>(length(u) / 14.0F));
  const int rows = std::max(2, static_cast<int>(length(v) / 7.0F));
  const int first = static_cast<int>(mesh.vertices.size());
  for (int r = 0; r < rows; ++r) {
    for (int c = 0; c < columns; ++c) {
      const Vec3 p = corner + u * (static_cast<float>(c) / static_cast<float>(columns - 1)) +
                     v * (static_cast<float>(r) / static_cast<float>(rows - 1));
      mesh.vertices.push_back({p, normal, {p.z * 1.0F, p.x, p.y}});
    }
  }
  joinGrid(mesh, first, rows, columns, Seam::Open);
}

Mesh buildBench(const PotLook& pot) {
  Mesh mesh;
  mesh.material = Material::Wood;
  constexpr float kHalfLength = 950.0F;
  constexpr float kThickness = 38.0F;
  constexpr float kGap = 7.0F;
  constexpr float kBevel = 3.5F;
  const float board = (2.0F * pot.halfDepthMm + 150.0F) / 3.0F;
  for (int i = 0; i < 3; ++i) {
    const float back = -1.5F * board + board * static_cast<float>(i) + kGap * 0.5F;
    const float front = back + board - kGap;
    const std::size_t first = mesh.vertices.size();
    const Vec3 along{2.0F * kHalfLength, 0.0F, 0.0F};
    addFace(mesh, {-kHalfLength, 0.0F, back}, along, {0.0F, 0.0F, front - back - kBevel}, kUp);
    addFace(mesh,
            {-kHalfLength, 0.0F, front - kBevel},
            along,
            {0.0F, -kBevel, kBevel},
            normalized(Vec3{0.0F, 1.0F, 1.0F}));
    addFace(
        mesh, {-kHalfLength, -kBevel, front}, along, {0.0F, -kThickness, 0.0F}, {0.0F, 0.0F, 1.0F});
    for (std::size_t k = first; k < mesh.vertices.size(); ++k) {
      mesh.vertices[k].grain +=
          Vec3{317.0F * static_cast<float>(i), 911.0F * static_cast<float>(i), 0.0F};
    }
  }
  return mesh;
}

Mesh buildInsect(const Insect& insect, int object) {
  Mesh mesh;
  mesh.object = object;
  mesh.colour = insect.colour;
  const float half = insect.lengthMm * 0.5F;
  if (insect.kind == InsectKind::ScaleInsect) {
    mesh.material = Material::ScaleInsect;
    addDome(
        mesh,
        {insect.position, insect.normal, insect.heading, half, half * 0.86F, half * 0.62F, 0.06F},
        12,
        22);
  } else {
    mesh.material = Material::Aphid;
    addDome(
        mesh,
        {insect.position, insect.normal, insect.heading, half, half * 0.62F, half * 0.62F, 0.38F},
        10,
        16);
  }
  return mesh;
}

}  // namespace

float trunkSurfaceMm(const TreeHabit& habit, const Skeleton& skeleton, float t, float angle) {
  const Limb& trunk = skeleton.limbs.front();
  float lengthMm = 0.0F;
  Vec3 before = trunk.points.front().position;
  for (int i = 1; i <= 60; ++i) {
    const Vec3 here = pointAt(trunk, t * static_cast<float>(i) / 60.0F).position;
    lengthMm += length(here - before);
    before = here;
  }
  return limbRadius(habit, trunk, pointAt(trunk, t), angle, lengthMm);
}

std::vector<Mesh> buildSolids(const SceneDescription& scene,
                              const Skeleton& skeleton,
                              const FoliageModel& foliage) {
  std::vector<Mesh> meshes;
  Mesh bark;
  bark.material = Material::Bark;
  Mesh twigs;
  twigs.material = Material::Twig;
  for (const Limb& limb : skeleton.limbs) {
    addTube(limb.points.front().radiusMm > 2.0F ? bark : twigs, scene.tree, limb);
  }
  meshes.push_back(std::move(bark));
  meshes.push_back(std::move(twigs));
  meshes.push_back(buildPot(scene.pot));
  meshes.push_back(buildSoil(scene.pot, skeleton.soilMm));
  meshes.push_back(buildGrains(scene.pot, meshes.back()));
  meshes.push_back(buildBench(scene.pot));
  int object = 1;
  for (const Insect& insect : foliage.insects) {
    meshes.push_back(buildInsect(insect, object++));
  }
  return meshes;
}

}  // namespace edamori::scenes
