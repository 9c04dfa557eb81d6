// SPDX-License-Identifier: GPL-3.0-or-later
#include "generator/render.h"

#include <array>
#include <functional>
#include <thread>

#include "generator/background.h"
#include "generator/bark.h"
#include "generator/camera_effects.h"
#include "generator/lighting.h"
#include "generator/rng.h"
#include <opencv2/imgproc.hpp>

namespace edamori::scenes {
namespace {

constexpr int kSunMapPx = 3600;

// Both passes draw the same geometry; the shadow pass keeps depth only.
enum class Pass { Visible, Shadow };

struct Drawing {
  const SceneDescription& scene;
  const FoliageModel& foliage;
  const std::vector<Mesh>& solids;
};

void inTwoBands(int rows, const std::function<void(int, int)>& work) {
  std::thread other([&] { work(rows / 2, rows); });
  work(0, rows / 2);
  other.join();
}

template <Pass kPass>
void drawMesh(SurfaceBuffer& buffer,
              const RowBand& band,
              const SceneDescription& scene,
              const Mesh& mesh) {
  std::vector<ScreenPoint> screen;
  screen.reserve(mesh.vertices.size());
  for (const Vertex& vertex : mesh.vertices) {
    screen.push_back(buffer.view.project(vertex.position));
  }
  for (std::size_t i = 0; i + 2 < mesh.corners.size(); i += 3) {
    const std::size_t a = static_cast<std::size_t>(mesh.corners[i]);
    const std::size_t b = static_cast<std::size_t>(mesh.corners[i + 1]);
    const std::size_t c = static_cast<std::size_t>(mesh.corners[i + 2]);
    fillTriangle(band,
                 screen[a],
                 screen[b],
                 screen[c],
                 [&](int index, float key, float wa, float wb, float wc) {
                   const std::size_t at = static_cast<std::size_t>(index);
                   if (key <= buffer.key[at]) {
                     return;
                   }
                   buffer.key[at] = key;
                   if constexpr (kPass == Pass::Visible) {
                     const Vertex& va = mesh.vertices[a];
                     const Vertex& vb = mesh.vertices[b];
                     const Vertex& vc = mesh.vertices[c];
                     const MaterialSample sample =
                         materialAt(scene, mesh, va.grain * wa + vb.grain * wb + vc.grain * wc);
                     const Vec3 normal =
                         normalized(va.normal * wa + vb.normal * wb + vc.normal * wc);
                     buffer.surface[at] = {sample.colour,
                                           normal,
                                           sample.heightMm,
                                           sample.gloss,
                                           0.0F,
                                           mesh.material,
                                           kNotFoliage,
                                           mesh.object};
                   }
                 });
  }
}

constexpr int kBladeRows = 7;
constexpr int kBladeColumns = 5;

struct BladeVertex {
  Vec3 position;
  Vec3 normal;
  float s = 0.0F;
  float t = 0.0F;
};

BladeVertex bladeVertex(const Leaf& leaf, int row, int column) {
  BladeVertex vertex;
  vertex.t = static_cast<float>(row) / (kBladeRows - 1);
  vertex.s = static_cast<float>(column) / (kBladeColumns - 1);
  const float x = vertex.s - 0.5F;
  const Vec3 side = cross(leaf.along, leaf.normal);
  const float lift = leaf.fold * std::abs(x) * leaf.widthMm;
  const float wave = 0.04F * std::sin(vertex.t * 9.0F + leaf.base.x) * x;
  const float sag = leaf.bend * vertex.t * vertex.t - wave;
  vertex.position =
      leaf.base + leaf.along * (leaf.lengthMm * vertex.t * (1.0F - 0.15F * leaf.bend * vertex.t)) +
      side * (leaf.widthMm * x * (1.0F - 0.25F * leaf.fold)) +
      leaf.normal * (lift - sag * leaf.lengthMm);
  const Vec3 dt = leaf.along - leaf.normal * (2.0F * leaf.bend * vertex.t);
  const Vec3 ds = side + leaf.normal * (leaf.fold * std::clamp(x * 5.0F, -1.0F, 1.0F));
  vertex.normal = normalized(cross(ds, dt));
  return vertex;
}

Surface bladeSurface(const FoliageModel& foliage,
                     const Leaf& leaf,
                     const FoliageLook& look,
                     Vec3 normal,
                     float s,
                     float t) {
  const LeafTexture& shape = foliage.shapes[static_cast<std::size_t>(leaf.shape)];
  const float vein = shape.vein.at(s, t);
  Surface surface;
  surface.material = Material::Blade;
  surface.normal = normal;
  surface.albedo = leaf.colour * shape.tone.at(s, t);
  surface.gloss = leaf.petal ? 0.1F : look.gloss * (1.0F - 0.3F * vein);
  surface.translucency = leaf.petal ? 0.7F : 0.6F;
  surface.heightMm = -0.42F * vein * leaf.lengthMm / 28.0F + 0.15F * shape.tone.at(s, t);
  surface.label = leaf.petal ? kNotFoliage : kSoundFoliage;
  if (!leaf.petal) {
    surface.albedo =
        mix(surface.albedo, surface.albedo * 1.3F + Vec3{0.012F, 0.014F, 0.006F}, 0.75F * vein);
  } else {
    surface.albedo = mix(surface.albedo, Vec3{0.9F, 0.86F, 0.84F}, 0.35F * t);
  }
  if (leaf.lesions >= 0) {
    const LesionTexture& lesions =
        foliage
            .lesions[static_cast<std::size_t>(leaf.shape)][static_cast<std::size_t>(leaf.lesions)];
    const float dead = lesions.lesion.at(s, t);
    const float halo = lesions.halo.at(s, t);
    const Vec3 rim = fromSrgb(44, 34, 27);
    const Vec3 centre = fromSrgb(126, 100, 74) * (0.7F + 0.5F * shape.tone.at(t, s));
    surface.albedo = mix(surface.albedo, fromSrgb(170, 160, 72), 0.5F * halo);
    surface.albedo = mix(surface.albedo, mix(rim, centre, 0.7F * lesions.centre.at(s, t)), dead);
    surface.translucency *= 1.0F - 0.75F * dead;
    surface.gloss *= 1.0F - 0.8F * dead;
    surface.heightMm -= 0.2F * dead;
    surface.label = dead >= 0.5F ? kSpottedFoliage : kSoundFoliage;
  }
  return surface;
}

template <Pass kPass>
void drawLeaf(SurfaceBuffer& buffer,
              const RowBand& band,
              const Drawing& drawing,
              const Leaf& leaf) {
  const ScreenPoint middle = buffer.view.project(leaf.base);
  const float reach = 1.6F * leaf.lengthMm * buffer.view.pxPerMm(middle.key);
  if (middle.key <= 0.0F || middle.y + reach < static_cast<float>(band.first) ||
      middle.y - reach > static_cast<float>(band.end)) {
    return;
  }
  std::array<BladeVertex, kBladeRows * kBladeColumns> grid;
  std::array<ScreenPoint, kBladeRows * kBladeColumns> screen;
  for (int i = 0; i < kBladeRows * kBladeColumns; ++i) {
    grid.at(static_cast<std::size_t>(i)) = bladeVertex(leaf, i / kBladeColumns, i % kBladeColumns);
    screen.at(static_cast<std::size_t>(i)) =
        buffer.view.project(grid.at(static_cast<std::size_t>(i)).position);
  }
  const LeafTexture& shape = drawing.foliage.shapes[static_cast<std::size_t>(leaf.shape)];
  const auto triangle = [&](int ia, int ib, int ic) {
    const BladeVertex& a = grid[static_cast<std::size_t>(ia)];
    const BladeVertex& b = grid[static_cast<std::size_t>(ib)];
    const BladeVertex& c = grid[static_cast<std::size_t>(ic)];
    fillTriangle(band,
                 screen[static_cast<std::size_t>(ia)],
                 screen[static_cast<std::size_t>(ib)],
                 screen[static_cast<std::size_t>(ic)],
                 [&](int index, float key, float wa, float wb, float wc) {
                   const std::size_t at = static_cast<std::size_t>(index);
                   const float s = a.s * wa + b.s * wb + c.s * wc;
                   const float t = a.t * wa + b.t * wb + c.t * wc;
                   if (key <= buffer.key[at] || shape.cover.at(s, t) < 0.5F) {
                     return;
                   }
                   buffer.key[at] = key;
                   if constexpr (kPass == Pass::Visible) {
                     const Vec3 normal = normalized(a.normal * wa + b.normal * wb + c.normal * wc);
                     buffer.surface[at] =
                         bladeSurface(drawing.foliage, leaf, drawing.scene.foliage, normal, s, t);
                   }
                 });
  };
  for (int r = 0; r + 1 < kBladeRows; ++r) {
    for (int c = 0; c + 1 < kBladeColumns; ++c) {
      const int corner = r * kBladeColumns + c;
      triangle(corner, corner + 1, corner + kBladeColumns);
      triangle(corner + 1, corner + kBladeColumns + 1, corner + kBladeColumns);
    }
  }
}

Surface strandSurface(const Strand& strand, const FoliageLook& look, Vec3 normal, float t) {
  Surface surface;
  surface.material = Material::Needle;
  surface.normal = normal;
  surface.gloss = look.gloss;
  surface.label = strand.label;
  // Needles are paler and browner in their sheath, and a little yellow at the tip.
  surface.albedo =
      mix(strand.colour * Vec3{1.25F, 1.05F, 0.9F}, strand.colour, smoothStep(0.0F, 0.25F, t));
  surface.translucency = 0.25F;
  if (t >= strand.blightFrom) {
    const float past = t - strand.blightFrom;
    const float bands = 0.5F + 0.5F * std::sin(t * 31.0F + strand.blightFrom * 40.0F);
    const Vec3 brown = mix(fromSrgb(122, 82, 48), fromSrgb(168, 126, 82), past);
    surface.albedo = mix(brown, fromSrgb(128, 48, 26), 0.75F * bands * bands);
    surface.gloss = 0.1F;
    surface.translucency = 0.0F;
    surface.label = strand.label == kNotFoliage ? kNotFoliage : kSpottedFoliage;
  } else if (strand.blightFrom < 1.0F) {
    surface.albedo =
        mix(surface.albedo, fromSrgb(168, 158, 70), smoothStep(0.22F, 0.0F, strand.blightFrom - t));
  }
  return surface;
}

template <Pass kPass>
void drawStrand(SurfaceBuffer& buffer,
                const RowBand& band,
                const Strand& strand,
                const FoliageLook& look) {
  constexpr int kPieces = 3;
  std::array<Vec3, kPieces + 1> curve;
  std::array<ScreenPoint, kPieces + 1> screen;
  for (int i = 0; i <= kPieces; ++i) {
    const float t = static_cast<float>(i) / kPieces;
    const std::size_t k = static_cast<std::size_t>(i);
    curve.at(k) = mix(mix(strand.from, strand.control, t), mix(strand.control, strand.to, t), t);
    screen.at(k) = buffer.view.project(curve.at(k));
  }
  const auto [low, high] = std::minmax({screen[0].y, screen[1].y, screen[2].y, screen[3].y});
  if (high + 8.0F < static_cast<float>(band.first) || low - 8.0F > static_cast<float>(band.end)) {
    return;
  }
  const Vec3 toViewer = buffer.view.forward * -1.0F;
  for (std::size_t i = 0; i < kPieces; ++i) {
    const ScreenPoint p = screen.at(i);
    const ScreenPoint q = screen.at(i + 1);
    const float dx = q.x - p.x;
    const float dy = q.y - p.y;
    const float inverse = 1.0F / std::max(std::sqrt(dx * dx + dy * dy), 1e-3F);
    const auto offset = [&](ScreenPoint c, float t, float side) {
      const float taper = t > 0.99F ? 0.35F : 1.0F;
      const float half =
          side * std::max(strand.radiusMm * taper * buffer.view.pxPerMm(c.key), 0.62F);
      return ScreenPoint{c.x - dy * inverse * half, c.y + dx * inverse * half, c.key};
    };
    const float t0 = static_cast<float>(i) / kPieces;
    const float t1 = static_cast<float>(i + 1) / kPieces;
    const std::array<ScreenPoint, 4> quad{
        offset(p, t0, -1.0F), offset(p, t0, 1.0F), offset(q, t1, -1.0F), offset(q, t1, 1.0F)};
    const Vec3 axis = normalized(curve.at(i + 1) - curve.at(i));
    const Vec3 facing = normalized(toViewer - axis * dot(toViewer, axis));
    const Vec3 side = buffer.view.right * (-dy * inverse) + buffer.view.up * (-dx * inverse);
    const auto write = [&](int index, float key, float across, float t) {
      const std::size_t at = static_cast<std::size_t>(index);
      if (key <= buffer.key[at]) {
        return;
      }
      buffer.key[at] = key;
      if constexpr (kPass == Pass::Visible) {
        const Vec3 normal =
            normalized(side * across + facing * std::sqrt(std::max(0.0F, 1.0F - across * across)));
        buffer.surface[at] = strandSurface(strand, look, normal, t);
      }
    };
    fillTriangle(
        band, quad[0], quad[1], quad[2], [&](int index, float key, float wa, float wb, float wc) {
          write(index, key, wb - wa - wc, mix(t0, t1, wc));
        });
    fillTriangle(
        band, quad[1], quad[3], quad[2], [&](int index, float key, float wa, float wb, float wc) {
          write(index, key, wa + wb - wc, mix(t0, t1, wb + wc));
        });
  }
}

template <Pass kPass>
void drawAll(SurfaceBuffer& buffer, const Drawing& drawing) {
  const std::size_t count =
      static_cast<std::size_t>(buffer.view.width) * static_cast<std::size_t>(buffer.view.height);
  buffer.key.assign(count, 0.0F);
  if constexpr (kPass == Pass::Visible) {
    buffer.surface.assign(count, {});
  }
  inTwoBands(buffer.view.height, [&](int first, int end) {
    const RowBand band{first, end, buffer.view.width};
    for (const Leaf& leaf : drawing.foliage.leaves) {
      drawLeaf<kPass>(buffer, band, drawing, leaf);
    }
    for (const Strand& strand : drawing.foliage.strands) {
      drawStrand<kPass>(buffer, band, strand, drawing.scene.foliage);
    }
    for (const Mesh& mesh : drawing.solids) {
      drawMesh<kPass>(buffer, band, drawing.scene, mesh);
    }
  });
}

View sunView(const LightLook& light) {
  View view;
  view.projection = Projection::Parallel;
  const Vec3 toSun = sunDirection(light);
  view.forward = -toSun;
  view.right = normalized(cross(view.forward, Vec3{0.0F, 1.0F, 0.0F}));
  view.up = cross(view.right, view.forward);
  view.eye = Vec3{0.0F, 300.0F, 0.0F} + toSun * 3000.0F;
  view.width = kSunMapPx;
  view.height = kSunMapPx;
  view.scale = kSunMapPx / 1250.0F;
  return view;
}

struct LitPicture {
  cv::Mat radiance;
  cv::Mat nearness;
};

// Mean of a pixel's samples; the backdrop fills those that show nothing.
void resolvePixel(
    const SurfaceBuffer& buffer, const LightField& field, LitPicture& lit, int x, int y) {
  constexpr int kN = kSupersampling;
  Vec3 sum;
  float nearness = 0.0F;
  const cv::Vec3f& behind = lit.radiance.at<cv::Vec3f>(y, x);
  for (int k = 0; k < kN * kN; ++k) {
    const int sx = x * kN + k % kN;
    const int sy = y * kN + k / kN;
    const std::size_t at =
        static_cast<std::size_t>(sy) * static_cast<std::size_t>(buffer.view.width) +
        static_cast<std::size_t>(sx);
    Surface surface = buffer.surface[at];
    if (surface.material == Material::Nothing) {
      sum += Vec3{behind[0], behind[1], behind[2]};
      continue;
    }
    const Vec3 point = buffer.view.unproject(
        static_cast<float>(sx) + 0.5F, static_cast<float>(sy) + 0.5F, buffer.key[at]);
    surface.normal = bumpedNormal(buffer, sx, sy);
    const Vec3 light = shade(
        field, surface, point, normalized(buffer.view.eye - point), static_cast<unsigned>(at));
    // Glints far above white would leave jagged edges after averaging.
    sum += Vec3{std::min(light.x, 6.0F), std::min(light.y, 6.0F), std::min(light.z, 6.0F)};
    nearness = std::max(nearness, buffer.key[at]);
  }
  constexpr float kShare = 1.0F / (kN * kN);
  lit.radiance.at<cv::Vec3f>(y, x) = {sum.x * kShare, sum.y * kShare, sum.z * kShare};
  lit.nearness.at<float>(y, x) = nearness;
}

LitPicture light(const Drawing& drawing, const SurfaceBuffer& buffer) {
  const CameraLook& camera = drawing.scene.camera;
  LightField field;
  field.look = drawing.scene.light;
  field.toSun = sunDirection(field.look);
  field.sky = buildSkyGrid(drawing.foliage, drawing.solids);
  SurfaceBuffer shadow;
  shadow.view = sunView(field.look);
  if (luminance(field.look.sun) > 0.01F) {
    drawAll<Pass::Shadow>(shadow, drawing);
  }
  field.sunView = shadow.view;
  field.sunKey = std::move(shadow.key);
  LitPicture lit;
  constexpr int kBackdropReduction = 3;
  const cv::Mat backdrop =
      paintBackdrop(drawing.scene.backdrop, field.look, camera, kBackdropReduction);
  cv::resize(backdrop, lit.radiance, {camera.widthPx, camera.heightPx}, 0.0, 0.0, cv::INTER_CUBIC);
  lit.nearness = cv::Mat(camera.heightPx, camera.widthPx, CV_32F, cv::Scalar(0.0));
  inTwoBands(camera.heightPx, [&](int first, int end) {
    for (int y = first; y < end; ++y) {
      for (int x = 0; x < camera.widthPx; ++x) {
        resolvePixel(buffer, field, lit, x, y);
      }
    }
  });
  return lit;
}

// A pixel is foliage if at least half of its samples are, and spotted if at least half of those
// are.
cv::Mat resolveLabels(const SurfaceBuffer& buffer, const CameraLook& camera) {
  constexpr int kN = kSupersampling;
  cv::Mat labels(camera.heightPx, camera.widthPx, CV_8U, cv::Scalar(kNotFoliage));
  for (int y = 0; y < labels.rows; ++y) {
    for (int x = 0; x < labels.cols; ++x) {
      int foliage = 0;
      int spotted = 0;
      for (int k = 0; k < kN * kN; ++k) {
        const std::size_t at = static_cast<std::size_t>(y * kN + k / kN) *
                                   static_cast<std::size_t>(buffer.view.width) +
                               static_cast<std::size_t>(x * kN + k % kN);
        foliage += buffer.surface[at].label != kNotFoliage ? 1 : 0;
        spotted += buffer.surface[at].label == kSpottedFoliage ? 1 : 0;
      }
      if (foliage * 2 >= kN * kN) {
        labels.at<unsigned char>(y, x) = spotted * 2 >= foliage ? kSpottedFoliage : kSoundFoliage;
      }
    }
  }
  return labels;
}

void countInsectSamples(const Drawing& drawing,
                        const SurfaceBuffer& buffer,
                        RenderedScene& result) {
  result.visibleSamples.assign(drawing.foliage.insects.size(), 0);
  result.unhiddenSamples.assign(drawing.foliage.insects.size(), 0);
  for (const Surface& surface : buffer.surface) {
    if (surface.object > 0) {
      ++result.visibleSamples[static_cast<std::size_t>(surface.object) - 1];
    }
  }
  for (const Mesh& mesh : drawing.solids) {
    if (mesh.object == 0) {
      continue;
    }
    // Half the area of all triangles: each is covered once from the front and once from behind.
    float area = 0.0F;
    for (std::size_t i = 0; i + 2 < mesh.corners.size(); i += 3) {
      const ScreenPoint a =
          buffer.view.project(mesh.vertices[static_cast<std::size_t>(mesh.corners[i])].position);
      const ScreenPoint b = buffer.view.project(
          mesh.vertices[static_cast<std::size_t>(mesh.corners[i + 1])].position);
      const ScreenPoint c = buffer.view.project(
          mesh.vertices[static_cast<std::size_t>(mesh.corners[i + 2])].position);
      area += std::abs((b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)) * 0.25F;
    }
    result.unhiddenSamples[static_cast<std::size_t>(mesh.object) - 1] =
        std::max(1, static_cast<int>(area));
  }
}

}  // namespace

View cameraView(const CameraLook& camera, int factor) {
  View view;
  view.eye = camera.eye;
  view.forward = normalized(camera.target - camera.eye);
  const Vec3 level = normalized(cross(view.forward, Vec3{0.0F, 1.0F, 0.0F}));
  view.right = rotated(level, view.forward, radians(camera.rollDeg));
  view.up = cross(view.right, view.forward);
  view.scale = camera.focalPx * static_cast<float>(factor);
  view.width = camera.widthPx * factor;
  view.height = camera.heightPx * factor;
  return view;
}

RenderedScene renderScene(const SceneDescription& scene) {
  RenderedScene result;
  constexpr float kMoundMm = 14.0F;
  result.skeleton = grow(scene.tree, scene.pot.heightMm * 0.93F + kMoundMm);
  result.foliage = dress(scene, result.skeleton);
  const std::vector<Mesh> solids = buildSolids(scene, result.skeleton, result.foliage);
  const Drawing drawing{scene, result.foliage, solids};
  SurfaceBuffer buffer;
  buffer.view = cameraView(scene.camera, kSupersampling);
  drawAll<Pass::Visible>(buffer, drawing);
  result.labels = resolveLabels(buffer, scene.camera);
  countInsectSamples(drawing, buffer, result);
  const LitPicture lit = light(drawing, buffer);
  result.picture = develop(lit.radiance, lit.nearness, scene.camera);
  result.nearness = lit.nearness;
  result.view = cameraView(scene.camera, 1);
  return result;
}

}  // namespace edamori::scenes
