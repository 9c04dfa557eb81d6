// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/vision/align/pair_maker.h"

#include "vision/align/plane.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <random>

namespace edamori::test {

namespace {

double hashed(std::int64_t x, std::int64_t y, std::uint32_t seed) {
  auto h = static_cast<std::uint64_t>(x) * 0x9E3779B97F4A7C15ULL ^
           static_cast<std::uint64_t>(y) * 0xC2B2AE3D27D4EB4FULL ^ (seed * 0x165667B19E3779F9ULL);
  h = (h ^ (h >> 29)) * 0xBF58476D1CE4E5B9ULL;
  h = (h ^ (h >> 32)) * 0x94D049BB133111EBULL;
  return static_cast<double>((h ^ (h >> 29)) >> 11) / 9007199254740992.0;
}

double smoothNoise(double x, double y, std::uint32_t seed) {
  const double fx = std::floor(x);
  const double fy = std::floor(y);
  const auto ix = static_cast<std::int64_t>(fx);
  const auto iy = static_cast<std::int64_t>(fy);
  const auto ease = [](double t) { return t * t * (3.0 - 2.0 * t); };
  const double u = ease(x - fx);
  const double v = ease(y - fy);
  return std::lerp(std::lerp(hashed(ix, iy, seed), hashed(ix + 1, iy, seed), u),
                   std::lerp(hashed(ix, iy + 1, seed), hashed(ix + 1, iy + 1, seed), u),
                   v);
}

double layeredNoise(double x, double y, std::uint32_t seed) {
  double sum = 0.0;
  double share = 0.5;
  for (std::uint32_t octave = 0; octave < 5; ++octave) {
    sum += share * smoothNoise(x, y, seed + octave);
    x *= 2.03;
    y *= 2.03;
    share *= 0.5;
  }
  return sum;
}

struct Colour {
  double r, g, b;
};

// Bark: cracks along the stem; leaves: flecks of two greens; pot and bench: plain with grain.
Colour sceneColour(double x, double y, std::uint32_t seed) {
  const double stem =
      0.5 + 0.12 * std::sin(y * 5.0 + seed) + 0.05 * (smoothNoise(y * 9, 1, seed) - 0.5);
  const double grain = layeredNoise(x * 60, y * 60, seed);
  if (y > 0.88) {
    const double plank = std::fmod(x * 7.0 + 0.3 * hashed(3, 5, seed), 1.0) < 0.04 ? 0.4 : 1.0;
    return {plank * (120 + 70 * grain), plank * (95 + 60 * grain), plank * (70 + 50 * grain)};
  }
  if (y > 0.72 && std::abs(x - stem) < 0.3 - 0.4 * (y - 0.72)) {
    const double glaze = layeredNoise(x * 30, y * 30, seed + 40);
    return {60 + 60 * glaze, 70 + 70 * glaze, 110 + 80 * glaze};
  }
  if (std::abs(x - stem) < 0.03 + 0.05 * y) {
    const double crack =
        std::pow(std::abs(layeredNoise(x * 90, y * 25, seed + 9) * 2.0 - 1.0), 0.5);
    return {150 * crack + 20, 110 * crack + 20, 80 * crack + 15};
  }
  const double pad = smoothNoise(x * 6, y * 6, seed + 21);
  if (pad > 0.52 && y < 0.7) {
    const double fleck = layeredNoise(x * 70, y * 70, seed + 33);
    return {30 + 70 * fleck, 70 + 130 * fleck, 20 + 50 * fleck};
  }
  const double sky = layeredNoise(x * 8, y * 8, seed + 55);
  return {150 + 60 * sky, 160 + 60 * sky, 170 + 60 * sky};
}

std::uint8_t toByte(double value) {
  return static_cast<std::uint8_t>(std::clamp(std::lround(value), 0L, 255L));
}

double sampled(const RgbImage& photo, PointPx p, int channel) {
  constexpr double kOutside = 128.0;
  if (p.x < 0.0 || p.y < 0.0 || p.x > photo.width() || p.y > photo.height()) {
    return kOutside;
  }
  const double x = std::clamp(p.x - 0.5, 0.0, photo.width() - 1.001);
  const double y = std::clamp(p.y - 0.5, 0.0, photo.height() - 1.001);
  const int ix = static_cast<int>(x);
  const int iy = static_cast<int>(y);
  const auto at = [&](int dx, int dy) {
    return static_cast<double>(photo.at(ix + dx, iy + dy, channel));
  };
  return std::lerp(
      std::lerp(at(0, 0), at(1, 0), x - ix), std::lerp(at(0, 1), at(1, 1), x - ix), y - iy);
}

}  // namespace

RgbImage drawnScene(int width, int height, std::uint32_t seed) {
  RgbImage scene(width, height);
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      const Colour colour = sceneColour(
          (x + 0.5) / width, (y + 0.5) / width * (static_cast<double>(width) / height), seed);
      scene.at(x, y, 0) = toByte(colour.r);
      scene.at(x, y, 1) = toByte(colour.g);
      scene.at(x, y, 2) = toByte(colour.b);
    }
  }
  return scene;
}

Homography homographyOf(const ViewChange& change, int width, int height) {
  const double longSide = std::max(width, height);
  const double turn = change.rollDeg * std::numbers::pi / 180.0;
  const double c = change.scale * std::cos(turn);
  const double s = change.scale * std::sin(turn);
  const Homography centred{1, 0, -width / 2.0, 0, 1, -height / 2.0, 0, 0, 1};
  const Homography tilt{1, 0, 0, 0, 1, 0, change.tiltX / longSide, change.tiltY / longSide, 1};
  const Homography place{c,
                         -s,
                         width / 2.0 + change.shiftX * longSide,
                         s,
                         c,
                         height / 2.0 + change.shiftY * longSide,
                         0,
                         0,
                         1};
  return vision::composed(place, vision::composed(tilt, centred));
}

RgbImage photographedAgain(const RgbImage& photo,
                           const Homography& afterFromBefore,
                           const LightChange& light) {
  const auto beforeFromAfter = vision::inverted(afterFromBefore);
  RgbImage result(photo.width(), photo.height(), 128);
  if (!beforeFromAfter) {
    return result;
  }
  std::mt19937 random(light.seed);
  const std::array<double, 3> gains{
      light.gain * (1.0 + light.cast), light.gain, light.gain * (1.0 - light.cast)};
  for (int y = 0; y < photo.height(); ++y) {
    for (int x = 0; x < photo.width(); ++x) {
      for (int channel = 0; channel < 3; ++channel) {
        double sum = 0.0;
        for (const double dy : {0.25, 0.75}) {
          for (const double dx : {0.25, 0.75}) {
            sum += sampled(photo, mapped(*beforeFromAfter, {x + dx, y + dy}), channel);
          }
        }
        // The sum of four uniform numbers is near enough to a normal one; its deviation is √(1/3).
        double dice = -2.0;
        for (int i = 0; i < 4; ++i) {
          dice += static_cast<double>(random()) / 4294967296.0;
        }
        const double noisy = sum / 4.0 * gains[static_cast<std::size_t>(channel)] +
                             dice * std::numbers::sqrt3 * light.noise;
        result.at(x, y, channel) = toByte(noisy);
      }
    }
  }
  return result;
}

RgbImage mirrored(const RgbImage& photo) {
  RgbImage result(photo.width(), photo.height());
  for (int y = 0; y < photo.height(); ++y) {
    for (int x = 0; x < photo.width(); ++x) {
      for (int channel = 0; channel < 3; ++channel) {
        result.at(x, y, channel) = photo.at(photo.width() - 1 - x, y, channel);
      }
    }
  }
  return result;
}

double cornerErrorPx(const Homography& actual, const Homography& expected, const Outline& outline) {
  double worst = 0.0;
  for (const PointPx& vertex : outline.polygon) {
    const PointPx a = mapped(actual, vertex);
    const PointPx b = mapped(expected, vertex);
    worst = std::max(worst, std::hypot(a.x - b.x, a.y - b.y));
  }
  return worst;
}

}  // namespace edamori::test
