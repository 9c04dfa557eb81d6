// SPDX-License-Identifier: GPL-3.0-or-later
#include "blade.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <span>

#include <opencv2/imgproc.hpp>

namespace edamori::scenes {
namespace {

constexpr unsigned kTune = 1;
constexpr unsigned kCalibrate = 2;
constexpr unsigned kHold = 4;
constexpr unsigned kAll = 7;

unsigned bitOf(SceneSet set) {
  return set == SceneSet::Tuning ? kTune : set == SceneSet::Calibration ? kCalibrate : kHold;
}

struct ColourFamily {
  int red, green, blue;
  float weight;
  unsigned sets;
};

// sRGB of typical blades; from memory of photographs, no source.
constexpr std::array<ColourFamily, 24> kGreens{{
    {72, 112, 48, 3, kAll},           {96, 136, 52, 3, kAll},        {128, 160, 62, 2, kAll},
    {38, 72, 36, 2, kAll},            {52, 88, 44, 2, kAll},         {74, 110, 92, 1, kTune | kHold},
    {98, 104, 52, 1.5F, kAll},        {150, 176, 108, 1.5F, kAll},   {148, 190, 72, 1.5F, kAll},
    {60, 130, 92, 1, kTune | kCalibrate}, {128, 146, 122, 1, kHold}, {112, 128, 88, 1, kCalibrate | kHold},
    {100, 170, 120, 1, kTune},        {130, 88, 56, 0.6F, kTune | kHold},  {190, 132, 112, 0.5F, kTune | kCalibrate},
    {92, 38, 46, 0.8F, kAll},         {62, 34, 56, 0.5F, kTune | kHold},   {150, 44, 38, 0.7F, kAll},
    {214, 178, 58, 0.9F, kAll},       {206, 116, 42, 0.6F, kTune | kHold}, {168, 50, 36, 0.6F, kCalibrate | kHold},
    {196, 186, 92, 0.6F, kAll},       {44, 96, 60, 1, kAll},         {84, 120, 40, 2, kAll},
}};

struct LesionColours {
  int red, green, blue;
};
constexpr std::array<LesionColours, 14> kNecrosis{{{98, 64, 38}, {122, 82, 48}, {72, 46, 32},
    {150, 112, 72}, {178, 148, 108}, {136, 72, 44}, {60, 48, 40}, {112, 92, 74}, {90, 56, 60},
    {160, 128, 84}, {84, 70, 44}, {128, 62, 50}, {196, 176, 142}, {104, 78, 56}}};

template <class Item, std::size_t N>
const Item& oneOf(const std::array<Item, N>& items, Rng& rng) {
  return items[static_cast<std::size_t>(rng.below(static_cast<int>(N)))];
}

Vec3 jittered(Vec3 c, float amount, Rng& rng) {
  const float all = std::exp(amount * rng.normal());
  return {c.x * all * std::exp(0.5F * amount * rng.normal()),
          c.y * all * std::exp(0.3F * amount * rng.normal()),
          c.z * all * std::exp(0.6F * amount * rng.normal())};
}

Vec3 familyColour(SceneSet set, Rng& rng) {
  float total = 0.0F;
  for (const ColourFamily& f : kGreens) {
    total += (f.sets & bitOf(set)) != 0U ? f.weight : 0.0F;
  }
  float pick = rng.uniform() * total;
  for (const ColourFamily& f : kGreens) {
    pick -= (f.sets & bitOf(set)) != 0U ? f.weight : 0.0F;
    if (pick <= 0.0F) {
      return jittered(fromSrgb(f.red, f.green, f.blue), 0.2F, rng);
    }
  }
  return fromSrgb(80, 120, 50);
}

Vec3 necrosisColour(Rng& rng) {
  const LesionColours& c = oneOf(kNecrosis, rng);
  return jittered(fromSrgb(c.red, c.green, c.blue), 0.22F, rng);
}

// Half width at u from the stalk (0) to the tip (1), 1 at the widest.
float profile(Outline outline, float u) {
  const auto bell = [u](float a, float b) {  // maximum 1 at a / (a + b)
    const float m = a / (a + b);
    return std::pow(u / m, a) * std::pow((1.0F - u) / (1.0F - m), b);
  };
  switch (outline) {
    case Outline::Ovate: return bell(0.55F, 0.95F);
    case Outline::Lanceolate: return bell(0.7F, 1.2F);
    case Outline::Elliptic: return bell(0.6F, 0.6F);
    case Outline::Cordate: return bell(0.28F, 0.95F);
    case Outline::Obovate: return bell(1.2F, 0.45F);
    case Outline::PinnateLobed:
      return bell(0.6F, 0.6F) * (0.62F + 0.38F * std::sin(u * 31.0F + 0.6F));
    case Outline::Linear: return std::min(1.0F, 3.0F * std::min(u + 0.15F, std::sqrt(1.0F - u) * 0.9F));
    case Outline::Round: return bell(0.5F, 0.5F);
    case Outline::Deltoid: return std::min(1.0F, u * 9.0F) * std::pow(1.0F - u, 0.8F) * 1.05F;
    case Outline::Wavy: return bell(0.55F, 0.7F) * (1.0F + 0.1F * std::sin(u * 38.0F));
    case Outline::Notched: return bell(0.9F, 0.35F);
    case Outline::PalmateLobed: return 1.0F;
  }
  return 1.0F;
}

struct LeafPoint {
  float x, y;
};

std::vector<LeafPoint> palmateOutline(const BladeLook& look, Rng& rng) {
  std::vector<LeafPoint> points;
  const float lobes = rng.uniform() < 0.6F ? 5.0F : 3.0F;
  const float depth = rng.range(0.2F, 0.6F);
  for (int i = 0; i < 720; ++i) {
    const float a = (fl(i) / 720.0F - 0.5F) * 2.0F * kPi * 0.94F;  // 0 points to the tip
    const float lobe = std::abs(std::cos(a * lobes * 0.5F));
    float r = mix(1.0F - depth, 1.0F, std::pow(lobe, 1.3F)) * (0.62F + 0.38F * std::cos(a * 0.5F));
    r *= 1.0F + look.serration * (std::fmod(fl(i) * look.serrationCount / 500.0F, 1.0F) - 0.5F);
    points.push_back({0.62F * r * std::sin(a), 0.36F + 0.62F * r * std::cos(a)});
  }
  return points;
}

std::vector<LeafPoint> outlinePoints(const BladeLook& look, Rng& rng) {
  if (look.outline == Outline::PalmateLobed) {
    return palmateOutline(look, rng);
  }
  constexpr int kSteps = 400;
  std::vector<LeafPoint> points;
  const float half = 0.5F * look.aspect;
  const float seed = rng.uniform();
  for (const float side : {1.0F, -1.0F}) {
    const float skew = rng.range(0.92F, 1.06F);
    for (int i = 0; i <= kSteps; ++i) {
      const float u = side > 0.0F ? fl(i) / kSteps : 1.0F - fl(i) / kSteps;
      float w = half * skew * profile(look.outline, std::clamp(u, 0.0005F, 0.9995F));
      w *= 0.9F + 0.2F * tileNoise(u * 0.35F + seed, side * 0.2F + seed);
      const float tooth = std::fmod(u * look.serrationCount + 0.2F * side, 1.0F);
      w *= 1.0F + look.serration * (0.5F - tooth) * std::min(1.0F, 6.0F * (1.0F - u));
      const float back = look.outline == Outline::Cordate && u < 0.12F
                             ? -0.1F * std::sin(u / 0.12F * kPi)
                             : 0.0F;
      points.push_back({side * std::min(w, half * 1.15F), u + back});
    }
  }
  return points;
}

// Working maps while a blade is painted.
struct Canvas {
  BladeWindow window;
  cv::Mat cover;   // 8U
  cv::Mat veins;   // 8U, main and side veins
  cv::Mat height;  // 32F, in px
  cv::Mat edge;    // 32F, distance to the margin in leaf lengths
  cv::Mat necrosis;  // 32F
  cv::Mat halo;      // 32F
  cv::Mat colour;    // 32FC3
  float pxPerLeaf = 1.0F;
  float offsetX = 0.0F;
  float offsetY = 0.0F;
  std::uint32_t seed = 0;

  cv::Point2f toMap(LeafPoint p) const {
    const float c = std::cos(window.angle);
    const float s = std::sin(window.angle);
    const float dx = p.x - window.x0;
    const float dy = p.y - window.y0;
    return {(dx * c - dy * s) * pxPerLeaf + 0.5F * fl(window.width),
            (dx * s + dy * c) * pxPerLeaf + 0.5F * fl(window.height)};
  }
  LeafPoint toLeaf(int x, int y) const {
    const float c = std::cos(window.angle);
    const float s = std::sin(window.angle);
    const float dx = (fl(x) - 0.5F * fl(window.width)) / pxPerLeaf;
    const float dy = (fl(y) - 0.5F * fl(window.height)) / pxPerLeaf;
    return {dx * c + dy * s + window.x0, -dx * s + dy * c + window.y0};
  }
  float noise(LeafPoint p, float features) const {
    return noiseAt(p.x + offsetX, p.y + offsetY, features);
  }
};

cv::Point fixedPoint(cv::Point2f p) {
  return {static_cast<int>(std::clamp(p.x, -9000.0F, 9000.0F) * 16.0F),
          static_cast<int>(std::clamp(p.y, -9000.0F, 9000.0F) * 16.0F)};
}

void drawVein(Canvas& canvas, std::span<const LeafPoint> path, float widthLeaf, int value) {
  for (std::size_t i = 0; i + 1 < path.size(); ++i) {
    const float taper = 1.0F - 0.75F * static_cast<float>(i) / static_cast<float>(path.size());
    const int thickness =
        std::clamp(static_cast<int>(widthLeaf * taper * canvas.pxPerLeaf + 0.5F), 1, 200);
    cv::line(canvas.veins, fixedPoint(canvas.toMap(path[i])), fixedPoint(canvas.toMap(path[i + 1])),
             cv::Scalar(value), thickness, cv::LINE_AA, 4);
  }
}

std::vector<LeafPoint> veinPath(LeafPoint from, float angle, float length, float bend, Rng& rng) {
  std::vector<LeafPoint> path{from};
  const float wobble = rng.range(0.02F, 0.12F);
  for (int i = 0; i < 14; ++i) {
    angle += bend / 14.0F + wobble * rng.normal() * 0.5F;
    from = {from.x + std::sin(angle) * length / 14.0F, from.y + std::cos(angle) * length / 14.0F};
    path.push_back(from);
  }
  return path;
}

void drawSideVeins(Canvas& canvas, const std::vector<LeafPoint>& main, const BladeLook& look,
                   float reach, float width, Rng& rng) {
  const float angle = rng.range(0.6F, 1.15F);
  for (int k = 0; k < look.secondaries; ++k) {
    const float t = (fl(k) + rng.range(0.3F, 0.9F)) / (fl(look.secondaries) + 1.0F);
    const auto index = static_cast<std::size_t>(t * static_cast<float>(main.size() - 1));
    const LeafPoint next = main[std::min(index + 1, main.size() - 1)];
    const float heading = std::atan2(next.x - main[index].x, next.y - main[index].y);
    for (const float side : {1.0F, -1.0F}) {
      const std::vector<LeafPoint> path =
          veinPath(main[index], heading + side * angle * rng.range(0.9F, 1.1F) * (1.1F - 0.4F * t),
                   reach * (1.1F - 0.5F * t), -side * rng.range(0.2F, 0.7F), rng);
      drawVein(canvas, path, width, 200);
      for (std::size_t j = 3; j < path.size(); j += 3) {
        const std::vector<LeafPoint> twig =
            veinPath(path[j], heading + side * (angle - 0.9F + 1.6F * rng.uniform()), reach * 0.35F, 0.0F, rng);
        drawVein(canvas, twig, 0.4F * width, 120);
      }
    }
  }
}

void paintVeins(Canvas& canvas, const BladeLook& look, Rng& rng) {
  const float half = 0.5F * look.aspect;
  const float width = rng.range(0.010F, 0.024F);
  if (look.venation == Venation::Parallel) {
    const int count = std::clamp(static_cast<int>(look.aspect * 60.0F), 5, 34);
    for (int k = 0; k <= count; ++k) {
      const float s = (2.0F * fl(k) / fl(count) - 1.0F) * 0.97F;
      std::vector<LeafPoint> path;
      for (int i = 0; i <= 24; ++i) {
        const float u = fl(i) / 24.0F;
        path.push_back({s * half * profile(look.outline, std::clamp(u, 0.01F, 0.99F)), u});
      }
      drawVein(canvas, path, k == count / 2 ? width : 0.2F * width, k == count / 2 ? 255 : 130);
    }
    return;
  }
  const int mains = look.venation == Venation::Palmate ? 5 : 1;
  for (int k = 0; k < mains; ++k) {
    const float angle = mains == 1 ? 0.0F : (fl(k) - 2.0F) * 0.62F;
    const float start = look.outline == Outline::PalmateLobed ? 0.30F : 0.0F;
    const float length = mains == 1 ? 1.0F : (1.0F - start) * (1.0F - 0.16F * std::abs(fl(k) - 2.0F));
    const std::vector<LeafPoint> main =
        veinPath({0.0F, start}, angle, length, 0.06F * rng.normal(), rng);
    drawVein(canvas, main, width, 255);
    drawSideVeins(canvas, main, look, mains == 1 ? std::max(half * 1.3F, 0.1F) : 0.3F, 0.45F * width, rng);
  }
}

void punchHoles(Canvas& canvas, Rng& rng) {
  const int holes = 1 + rng.below(7);
  for (int k = 0; k < holes; ++k) {
    const cv::Point2f at{rng.uniform() * fl(canvas.window.width), rng.uniform() * fl(canvas.window.height)};
    const float size = canvas.pxPerLeaf * rng.range(0.008F, 0.06F);
    std::vector<cv::Point> ring;
    const float seed = rng.uniform();
    for (int i = 0; i < 40; ++i) {
      const float a = fl(i) / 40.0F * 2.0F * kPi;
      const float r = size * (0.4F + 1.3F * tileNoise(seed + 0.1F * std::cos(a), 0.1F * std::sin(a)));
      ring.push_back(fixedPoint({at.x + r * std::cos(a), at.y + r * std::sin(a)}));
    }
    const cv::Point* points = ring.data();
    const int count = static_cast<int>(ring.size());
    cv::fillPoly(canvas.cover, &points, &count, 1, cv::Scalar(0), cv::LINE_AA, 4);
  }
}

Canvas makeCanvas(const BladeLook& look, const BladeWindow& window, Rng& rng) {
  Canvas canvas;
  canvas.window = window;
  canvas.pxPerLeaf = 1.0F / window.unitsPerPx;
  canvas.offsetX = rng.uniform();
  canvas.offsetY = rng.uniform();
  canvas.seed = static_cast<std::uint32_t>(rng.below(1 << 24));
  const cv::Size size(window.width, window.height);
  canvas.cover = cv::Mat::zeros(size, CV_8U);
  canvas.veins = cv::Mat::zeros(size, CV_8U);
  canvas.necrosis = cv::Mat::zeros(size, CV_32F);
  canvas.halo = cv::Mat::zeros(size, CV_32F);
  canvas.height = cv::Mat::zeros(size, CV_32F);
  canvas.colour.create(size, CV_32FC3);
  std::vector<cv::Point> outline;
  for (const LeafPoint& p : outlinePoints(look, rng)) {
    outline.push_back(fixedPoint(canvas.toMap(p)));
  }
  const cv::Point* points = outline.data();
  const int count = static_cast<int>(outline.size());
  cv::fillPoly(canvas.cover, &points, &count, 1, cv::Scalar(255), cv::LINE_AA, 4);
  paintVeins(canvas, look, rng);
  if (rng.uniform() < 0.12F) {
    punchHoles(canvas, rng);
  }
  cv::distanceTransform(canvas.cover > 127, canvas.edge, cv::DIST_L2, 3);
  canvas.edge *= static_cast<double>(window.unitsPerPx);
  return canvas;
}

void paintGround(Canvas& canvas, const BladeLook& look, Rng& rng) {
  const float fineCells = look.areoles * rng.range(2.4F, 3.2F);
  const float areoleTone = rng.range(-0.25F, 0.25F) * look.veinStrength;
  const bool cells = look.venation != Venation::Parallel && canvas.pxPerLeaf / look.areoles > 5.0F;
  const bool fine = cells && canvas.pxPerLeaf / fineCells > 6.0F;
  const float reliefPx = look.relief * canvas.pxPerLeaf / look.areoles;
  const float grain = rng.range(0.03F, 0.16F);
  const float threshold = 0.5F + 0.5F * (0.5F - look.secondShare);
  cv::Mat softVeins;
  cv::GaussianBlur(canvas.veins, softVeins, {}, std::max(0.8, 0.006 * static_cast<double>(canvas.pxPerLeaf)));
  for (int y = 0; y < canvas.window.height; ++y) {
    for (int x = 0; x < canvas.window.width; ++x) {
      if (canvas.cover.at<unsigned char>(y, x) == 0) {
        continue;
      }
      const LeafPoint p = canvas.toLeaf(x, y);
      const float broad = canvas.noise(p, 3.0F) - 0.5F;
      const float mid = canvas.noise({p.y + 0.3F, p.x}, 17.0F) - 0.5F;
      const float small = canvas.noise({p.x + 0.7F, p.y}, 90.0F) - 0.5F;
      const float vein = fl(canvas.veins.at<unsigned char>(y, x)) / 255.0F;
      const float near = fl(softVeins.at<unsigned char>(y, x)) / 255.0F;
      float web = 0.0F;
      float dome = 0.0F;
      if (cells) {
        const float warp = 0.35F * small + 0.5F * mid;
        const Cell cell = cellAt(p.x * look.areoles + warp, p.y * look.areoles + warp, canvas.seed);
        web = 0.75F * (1.0F - smoothStep(0.02F, 0.16F, cell.border));
        dome = smoothStep(0.0F, 0.5F, cell.border) + 0.15F * cell.value;
        if (fine) {
          const Cell inner = cellAt(p.x * fineCells + warp, p.y * fineCells + 0.5F, canvas.seed + 9U);
          web += 0.3F * (1.0F - smoothStep(0.02F, 0.2F, inner.border));
          dome += 0.3F * smoothStep(0.0F, 0.5F, inner.border) + 0.1F * inner.value;
        }
      }
      const float tone = 1.0F + look.mottle * (1.4F * broad + 0.9F * mid) + grain * 3.0F * small + areoleTone * web;
      Vec3 c = look.colour * std::max(tone, 0.25F);
      c.x *= 1.0F + 0.7F * look.mottle * broad;
      c.z *= 1.0F - 0.8F * look.mottle * mid;
      if (look.secondShare > 0.0F) {
        const float where = broad + 0.5F + 0.35F * mid + (look.secondSparesVeins ? -0.5F * near : 0.0F) +
                            0.25F * (0.06F - std::min(canvas.edge.at<float>(y, x), 0.12F)) * 4.0F;
        c = mix(c, look.second * std::max(tone, 0.3F), smoothStep(threshold - 0.12F, threshold + 0.12F, where));
      }
      if (look.creamMargin > 0.0F) {
        const float rim = look.creamMargin * (0.4F + 1.4F * canvas.noise(p, 9.0F));
        c = mix(c, fromSrgb(228, 222, 168) * tone, smoothStep(rim + 0.01F, rim - 0.01F, canvas.edge.at<float>(y, x)) * 0.92F);
      }
      const float strength = clamp01(look.veinStrength * (0.9F * vein + 0.35F * near + 0.4F * web * (areoleTone < 0.0F ? 0.0F : 1.0F)));
      c = mix(c, look.veinColour * (0.9F + 0.4F * small), strength);
      const float bloom = look.bloom * smoothStep(0.35F, 0.75F, canvas.noise(p, 5.0F) + 0.5F * small);
      c = mix(c, Vec3{0.5F, 0.56F, 0.58F}, bloom);
      canvas.colour.at<cv::Vec3f>(y, x) = {c.x, c.y, c.z};
      canvas.height.at<float>(y, x) =
          reliefPx * (0.8F * dome + 0.25F * small + 0.5F * mid - 2.5F * near) + 0.4F * look.relief * canvas.pxPerLeaf * 0.03F * broad;
    }
  }
}

struct SpotLook {
  Vec3 centre;
  Vec3 rim;
  Vec3 halo;
  float haloStrength = 0.0F;
  float haloReach = 0.5F;
  float rimWidth = 0.0F;
  float softness = 0.1F;
  float roughness = 0.3F;
  float rings = 0.0F;
  float raised = -0.3F;
  bool angular = false;
  float smallest = 0.008F;  // radius in leaf lengths
  float largest = 0.03F;
};

SpotLook spotLook(LesionKind kind, Rng& rng) {
  SpotLook s;
  s.centre = necrosisColour(rng);
  s.rim = s.centre * rng.range(0.4F, 0.8F);
  s.halo = jittered(fromSrgb(190, 180, 70), 0.15F, rng);
  s.softness = rng.range(0.05F, 0.4F);
  s.roughness = rng.range(0.15F, 0.9F);
  s.rimWidth = rng.range(0.1F, 0.35F);
  s.haloStrength = rng.uniform() < 0.35F ? rng.range(0.1F, 0.5F) : 0.0F;
  s.smallest = rng.range(0.004F, 0.012F);
  s.largest = s.smallest * rng.range(1.3F, 6.0F);
  switch (kind) {
    case LesionKind::BlackSpot:
      s.centre = jittered(fromSrgb(36, 30, 28), 0.2F, rng);
      s.rim = s.centre * 1.1F;
      s.softness = rng.range(0.1F, 0.6F);
      break;
    case LesionKind::TanDarkRim:
      s.centre = jittered(fromSrgb(190, 160, 118), 0.15F, rng);
      s.rim = jittered(fromSrgb(74, 42, 34), 0.2F, rng);
      break;
    case LesionKind::WhiteCentre:
      s.centre = jittered(fromSrgb(212, 204, 190), 0.1F, rng);
      s.rim = jittered(fromSrgb(96, 40, 62), 0.2F, rng);
      s.rimWidth = rng.range(0.3F, 0.55F);
      break;
    case LesionKind::HaloedBrown:
      s.haloStrength = rng.range(0.4F, 0.95F);
      s.haloReach = rng.range(0.3F, 1.3F);
      break;
    case LesionKind::Angular:
      s.angular = true;
      s.smallest *= 1.5F;
      s.largest *= 1.5F;
      break;
    case LesionKind::RustPustules:
      s.centre = jittered(fromSrgb(176, 92, 34), 0.25F, rng);
      s.rim = s.centre * 0.7F;
      s.raised = 0.6F;
      s.smallest = 0.0018F;
      s.largest = rng.range(0.003F, 0.008F);
      s.haloStrength = rng.uniform() < 0.5F ? rng.range(0.2F, 0.6F) : 0.0F;
      break;
    case LesionKind::DarkFreckles:
      s.centre = jittered(fromSrgb(58, 42, 34), 0.25F, rng);
      s.smallest = 0.0016F;
      s.largest = rng.range(0.003F, 0.009F);
      break;
    case LesionKind::PurpleSpot:
      s.centre = jittered(fromSrgb(88, 44, 72), 0.25F, rng);
      s.rim = jittered(fromSrgb(70, 30, 56), 0.2F, rng);
      break;
    case LesionKind::RingedBlotch:
      s.rings = rng.range(10.0F, 22.0F);
      s.smallest = rng.range(0.02F, 0.05F);
      s.largest = s.smallest * rng.range(1.5F, 3.0F);
      break;
    case LesionKind::ShotHole:
      s.rim = jittered(fromSrgb(120, 70, 40), 0.2F, rng);
      s.rimWidth = rng.range(0.2F, 0.4F);
      s.softness = 0.08F;
      break;
    default: break;
  }
  return s;
}

void paintSpot(Canvas& canvas, const SpotLook& s, LesionKind kind, cv::Point2f at, float radiusPx, const BladeLook& look, Rng& rng) {
  const float reach = radiusPx * (1.6F + (s.haloStrength > 0.0F ? s.haloReach : 0.0F)) +
                      (s.angular ? canvas.pxPerLeaf / look.areoles : 0.0F) + 2.0F;
  const int x0 = std::max(0, whole(at.x - reach));
  const int x1 = std::min(canvas.window.width - 1, whole(at.x + reach));
  const int y0 = std::max(0, whole(at.y - reach));
  const int y1 = std::min(canvas.window.height - 1, whole(at.y + reach));
  const float stretch = rng.range(0.7F, 1.4F);
  const float seedX = rng.uniform();
  const float seedY = rng.uniform();
  const Vec3 centre = jittered(s.centre, 0.1F, rng);
  const bool falls = kind == LesionKind::ShotHole && rng.uniform() < 0.8F;
  for (int y = y0; y <= y1; ++y) {
    for (int x = x0; x <= x1; ++x) {
      if (canvas.cover.at<unsigned char>(y, x) == 0) {
        continue;
      }
      float px = fl(x);
      float py = fl(y);
      if (s.angular) {
        const LeafPoint p = canvas.toLeaf(x, y);
        const float warp = 0.35F * (canvas.noise({p.x + 0.7F, p.y}, 90.0F) - 0.5F) + 0.5F * (canvas.noise({p.y + 0.3F, p.x}, 17.0F) - 0.5F);
        const Cell cell = cellAt(p.x * look.areoles + warp, p.y * look.areoles + warp, canvas.seed);
        const cv::Point2f site = canvas.toMap({(cell.siteX - warp) / look.areoles, (cell.siteY - warp) / look.areoles});
        px = mix(px, site.x, 0.92F);
        py = mix(py, site.y, 0.92F);
      }
      const float dx = (px - at.x) / radiusPx * stretch;
      const float dy = (py - at.y) / radiusPx / stretch;
      const float texture = tileNoise(seedX + 0.08F * (fl(x) - at.x) / radiusPx, seedY + 0.08F * (fl(y) - at.y) / radiusPx);
      const float fine = tileNoise(seedY + fl(x) / 260.0F, seedX + fl(y) / 260.0F) - 0.5F;
      const float d = std::sqrt(dx * dx + dy * dy) * (1.0F + s.roughness * 1.6F * (texture - 0.5F));
      const float a = smoothStep(1.0F + 0.5F * s.softness, 1.0F - 0.5F * s.softness, d);
      cv::Vec3f& pixel = canvas.colour.at<cv::Vec3f>(y, x);
      Vec3 c{pixel[0], pixel[1], pixel[2]};
      if (s.haloStrength > 0.0F) {
        const float h = s.haloStrength * smoothStep(1.0F + s.haloReach, 0.85F, d + 0.5F * fine);
        c = mix(c, s.halo * (0.7F + 0.6F * luminance(c) / 0.2F), std::min(h, 0.95F));
        canvas.halo.at<float>(y, x) = std::max(canvas.halo.at<float>(y, x), h);
      }
      float tone = 1.0F + 1.1F * fine + 0.5F * (texture - 0.5F);
      if (s.rings > 0.0F) {
        tone *= 1.0F + 0.25F * std::sin(d * s.rings);
      }
      const float rim = s.rimWidth > 0.0F ? smoothStep(1.0F - 1.6F * s.rimWidth, 1.0F - 0.5F * s.rimWidth, d) : 0.0F;
      const Vec3 dead = mix(centre, s.rim, rim) * std::max(tone, 0.3F);
      c = mix(c, dead, a * 0.97F);
      pixel = {c.x, c.y, c.z};
      canvas.necrosis.at<float>(y, x) = std::max(canvas.necrosis.at<float>(y, x), a);
      canvas.height.at<float>(y, x) += a * radiusPx * 0.12F * s.raised + a * 2.0F * fine;
      if (falls && d < 1.0F - s.rimWidth) {
        canvas.cover.at<unsigned char>(y, x) = 0;
      }
    }
  }
}

void paintSpots(Canvas& canvas, LesionKind kind, float share, float sizeFactor, const BladeLook& look, Rng& rng) {
  const SpotLook s = spotLook(kind, rng);
  const float bladePx = static_cast<float>(cv::countNonZero(canvas.cover > 127));
  float left = share * bladePx;
  const float clusterX = rng.uniform() * fl(canvas.window.width);
  const float clusterY = rng.uniform() * fl(canvas.window.height);
  const float clustered = rng.uniform() < 0.5F ? rng.range(0.2F, 0.9F) : 0.0F;
  for (int k = 0; k < 900 && left > 0.0F; ++k) {
    const float q = rng.uniform();
    const float radius = std::max(0.9F, canvas.pxPerLeaf * sizeFactor * mix(s.smallest, s.largest, q * q));
    cv::Point2f at{rng.uniform() * fl(canvas.window.width), rng.uniform() * fl(canvas.window.height)};
    if (rng.uniform() < clustered) {
      at = {clusterX + rng.normal() * 0.14F * fl(canvas.window.width), clusterY + rng.normal() * 0.14F * fl(canvas.window.height)};
    }
    const int x = whole(at.x);
    const int y = whole(at.y);
    if (x < 0 || y < 0 || x >= canvas.window.width || y >= canvas.window.height ||
        canvas.cover.at<unsigned char>(y, x) == 0) {
      continue;
    }
    paintSpot(canvas, s, kind, at, radius, look, rng);
    left -= kPi * radius * radius;
  }
}

// Dead areas given by a field over the leaf: scorch, tip blight, mould, patches, whole leaves.
void paintArea(Canvas& canvas, LesionKind kind, float share, Rng& rng) {
  Vec3 dead = necrosisColour(rng);
  Vec3 other = jittered(dead, 0.3F, rng);
  if (kind == LesionKind::GreyMould) {
    dead = jittered(fromSrgb(150, 144, 134), 0.15F, rng);
    other = jittered(fromSrgb(104, 90, 78), 0.15F, rng);
  }
  const Vec3 border = mix(dead * 0.5F, fromSrgb(96, 52, 40), rng.uniform());
  const Vec3 yellow = jittered(fromSrgb(186, 176, 74), 0.12F, rng);
  const float yellowWidth = rng.uniform() < 0.5F ? rng.range(0.05F, 0.5F) : 0.0F;
  const float borderWidth = rng.uniform() < 0.6F ? rng.range(0.02F, 0.2F) : 0.0F;
  const float soft = rng.range(0.01F, 0.12F);
  const float wavy = rng.range(0.4F, 1.6F);
  const float features = rng.range(4.0F, 16.0F);
  cv::Mat softVeins;
  cv::GaussianBlur(canvas.veins, softVeins, {}, std::max(1.0, 0.012 * static_cast<double>(canvas.pxPerLeaf)));
  for (int y = 0; y < canvas.window.height; ++y) {
    for (int x = 0; x < canvas.window.width; ++x) {
      if (canvas.cover.at<unsigned char>(y, x) == 0) {
        continue;
      }
      const LeafPoint p = canvas.toLeaf(x, y);
      const float n = canvas.noise({p.x + 0.21F, p.y}, features) - 0.5F;
      const float fine = canvas.noise({p.y, p.x + 0.4F}, 60.0F) - 0.5F;
      float f = 0.0F;  // > 0 dead
      if (kind == LesionKind::MarginScorch) {
        f = share * 0.35F + 0.13F * wavy * n - canvas.edge.at<float>(y, x) + 0.01F * fine;
        f *= 6.0F;
      } else if (kind == LesionKind::TipBlight) {
        f = (p.y - (1.0F - 0.9F * share) + 0.25F * wavy * n) * 3.0F;
      } else if (kind == LesionKind::Interveinal) {
        f = 0.5F * share + 0.9F * n + 0.2F * fine - fl(softVeins.at<unsigned char>(y, x)) / 320.0F - 0.05F;
      } else if (kind == LesionKind::WhollyBrown) {
        f = 1.0F;
      } else {
        f = n * 1.3F + share * 0.62F - 0.26F + 0.12F * fine;
      }
      const float a = smoothStep(-0.5F * soft, 0.5F * soft, f);
      cv::Vec3f& pixel = canvas.colour.at<cv::Vec3f>(y, x);
      Vec3 c{pixel[0], pixel[1], pixel[2]};
      if (yellowWidth > 0.0F) {
        const float h = 0.7F * smoothStep(-yellowWidth, 0.02F, f);
        c = mix(c, yellow * (1.0F + fine), h);
        canvas.halo.at<float>(y, x) = std::max(canvas.halo.at<float>(y, x), h * 0.9F);
      }
      const float tone = 1.0F + 1.3F * fine + 0.8F * n - 0.0012F * fl(canvas.veins.at<unsigned char>(y, x));
      Vec3 d = mix(dead, other, smoothStep(-0.15F, 0.2F, canvas.noise({p.y + 0.6F, p.x}, 11.0F) - 0.5F));
      d = mix(border, d, borderWidth > 0.0F ? smoothStep(0.0F, borderWidth, f) : 1.0F);
      c = mix(c, d * std::max(tone, 0.3F), a * 0.97F);
      pixel = {c.x, c.y, c.z};
      canvas.necrosis.at<float>(y, x) = std::max(canvas.necrosis.at<float>(y, x), a);
      canvas.height.at<float>(y, x) += a * canvas.pxPerLeaf * 0.006F * (fine + n);
    }
  }
}

bool isArea(LesionKind kind) {
  return kind == LesionKind::MarginScorch || kind == LesionKind::TipBlight || kind == LesionKind::GreyMould ||
         kind == LesionKind::Coalescing || kind == LesionKind::WhollyBrown || kind == LesionKind::Interveinal;
}

Blade finished(const Canvas& canvas, const BladeLook& look) {
  Blade blade;
  blade.width = canvas.window.width;
  blade.height = canvas.window.height;
  blade.aspect = look.aspect;
  blade.pixels.resize(static_cast<std::size_t>(blade.width) * static_cast<std::size_t>(blade.height));
  cv::Mat slopeX;
  cv::Mat slopeY;
  cv::Sobel(canvas.height, slopeX, CV_32F, 1, 0, 3, 0.125);
  cv::Sobel(canvas.height, slopeY, CV_32F, 0, 1, 3, 0.125);
  for (int y = 0; y < blade.height; ++y) {
    for (int x = 0; x < blade.width; ++x) {
      BladePixel& p = blade.pixels[static_cast<std::size_t>(y) * static_cast<std::size_t>(blade.width) + static_cast<std::size_t>(x)];
      const cv::Vec3f& c = canvas.colour.at<cv::Vec3f>(y, x);
      p.cover = fl(canvas.cover.at<unsigned char>(y, x)) / 255.0F;
      if (p.cover <= 0.0F) {
        continue;
      }
      p.albedo = {std::clamp(c[0], 0.002F, 0.95F), std::clamp(c[1], 0.002F, 0.95F), std::clamp(c[2], 0.002F, 0.95F)};
      p.slopeX = std::clamp(slopeX.at<float>(y, x), -1.2F, 1.2F);
      p.slopeY = std::clamp(slopeY.at<float>(y, x), -1.2F, 1.2F);
      p.necrosis = canvas.necrosis.at<float>(y, x);
      p.gloss = look.gloss * (1.0F - 0.8F * p.necrosis);
      p.label = p.necrosis >= 0.5F || canvas.halo.at<float>(y, x) >= 0.7F ? kSpottedLabel : kSoundLabel;
      p.translucency = static_cast<unsigned char>(255.0F * look.translucency * (1.0F - 0.8F * p.necrosis));
    }
  }
  return blade;
}

}  // namespace

BladeLook randomLook(SceneSet set, Rng& rng) {
  using enum Outline;
  static constexpr std::array<Outline, 10> kOpen{Ovate, Lanceolate, Elliptic, Cordate, Obovate, PalmateLobed, PinnateLobed, Linear, Ovate, Elliptic};
  static constexpr std::array<Outline, 10> kKept{Ovate, Lanceolate, Round, Deltoid, Wavy, PalmateLobed, Notched, Linear, Cordate, Elliptic};
  BladeLook look;
  look.outline = oneOf(set == SceneSet::HeldOut ? kKept : kOpen, rng);
  look.aspect = rng.range(0.4F, 0.75F);
  if (look.outline == Lanceolate) {
    look.aspect = rng.range(0.18F, 0.36F);
  } else if (look.outline == Linear) {
    look.aspect = rng.range(0.05F, 0.14F);
    look.venation = Venation::Parallel;
  } else if (look.outline == PalmateLobed) {
    look.aspect = 1.25F;
    look.venation = Venation::Palmate;
  } else if (look.outline == Cordate || look.outline == Round || look.outline == Deltoid) {
    look.aspect = rng.range(0.7F, 1.05F);
    look.venation = rng.uniform() < 0.5F ? Venation::Palmate : Venation::Pinnate;
  } else if (rng.uniform() < 0.08F) {
    look.venation = Venation::Parallel;
  }
  if (rng.uniform() < 0.5F && look.outline != Linear) {
    look.serration = rng.range(0.04F, 0.22F);
    look.serrationCount = rng.range(12.0F, 60.0F);
  }
  look.colour = familyColour(set, rng);
  if (rng.uniform() < 0.4F) {
    // Patches of another hue would be dead tissue to anybody who looks at the picture.
    look.second = rng.uniform() < 0.7F ? jittered(look.colour, 0.25F, rng)
                                       : mix(look.colour, fromSrgb(220, 216, 160), rng.range(0.3F, 0.9F));
    look.secondShare = rng.range(0.15F, 0.75F);
    look.secondSparesVeins = rng.uniform() < 0.5F;
  }
  look.veinColour = rng.uniform() < 0.7F ? mix(look.colour * 1.5F, fromSrgb(200, 205, 130), rng.range(0.2F, 0.7F))
                    : rng.uniform() < 0.6F ? look.colour * rng.range(0.35F, 0.7F)
                                           : jittered(fromSrgb(140, 60, 60), 0.2F, rng);
  look.veinStrength = rng.range(0.1F, 0.95F);
  look.relief = rng.range(0.03F, 0.5F);
  look.areoles = rng.range(22.0F, 60.0F);
  look.mottle = rng.range(0.15F, 0.9F);
  look.gloss = rng.uniform() < 0.4F ? rng.range(0.35F, 0.9F) : rng.range(0.02F, 0.35F);
  look.bloom = rng.uniform() < 0.12F ? rng.range(0.1F, 0.35F) : 0.0F;
  look.creamMargin = rng.uniform() < 0.05F ? rng.range(0.02F, 0.1F) : 0.0F;
  look.translucency = rng.range(0.05F, 0.6F);
  look.secondaries = 4 + rng.below(11);
  return look;
}

LesionPlan randomLesions(SceneSet set, Rng& rng) {
  using enum LesionKind;
  static constexpr std::array<LesionKind, 15> kOpen{BrownRound, BrownRound, BlackSpot, TanDarkRim, HaloedBrown, Angular, RustPustules,
      PurpleSpot, RingedBlotch, MarginScorch, TipBlight, GreyMould, ShotHole, Coalescing, WhollyBrown};
  static constexpr std::array<LesionKind, 15> kKept{BrownRound, WhiteCentre, BlackSpot, WhiteCentre, HaloedBrown, Interveinal, RustPustules,
      DarkFreckles, RingedBlotch, MarginScorch, TipBlight, Interveinal, Angular, Coalescing, WhollyBrown};
  LesionPlan plan;
  const int kinds = rng.uniform() < 0.65F ? 1 : 2;
  for (int k = 0; k < kinds; ++k) {
    plan.kinds.push_back(oneOf(set == SceneSet::HeldOut ? kKept : kOpen, rng));
  }
  const float q = rng.uniform();
  plan.share = 0.004F + 0.5F * q * q * q;
  plan.sizeFactor = std::exp(0.35F * rng.normal());
  return plan;
}

Blade paintBladeWindow(const BladeLook& look, const LesionPlan& lesions, const BladeWindow& window, Rng& rng) {
  Canvas canvas = makeCanvas(look, window, rng);
  paintGround(canvas, look, rng);
  for (const LesionKind kind : lesions.kinds) {
    const float share = lesions.share / static_cast<float>(lesions.kinds.size());
    if (isArea(kind)) {
      paintArea(canvas, kind, std::max(share, 0.04F) * rng.range(0.6F, 1.3F), rng);
    } else {
      paintSpots(canvas, kind, kind == LesionKind::RustPustules || kind == LesionKind::DarkFreckles ? std::min(share, 0.12F) : share,
                 lesions.sizeFactor, look, rng);
    }
  }
  return finished(canvas, look);
}

Blade paintBlade(const BladeLook& look, const LesionPlan& lesions, int lengthPx, Rng& rng) {
  BladeWindow window;
  window.unitsPerPx = 1.22F / fl(lengthPx);
  window.height = lengthPx;
  window.width = std::max(8, static_cast<int>(look.aspect * 1.2F / window.unitsPerPx));
  window.y0 = 0.47F;
  return paintBladeWindow(look, lesions, window, rng);
}

}  // namespace edamori::scenes
