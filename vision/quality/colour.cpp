// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/quality/colour.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace edamori::vision {
namespace {

constexpr int kCubeRootSteps = 1 << 14;
constexpr double kNoiseLight = 0.01;

double exactLinear(double encoded) {
  return encoded <= 0.04045 ? encoded / 12.92 : std::pow((encoded + 0.055) / 1.055, 2.4);
}

// f(t) of CIE 15.
double exactResponse(double t) {
  constexpr double kDelta = 6.0 / 29.0;
  return t > kDelta * kDelta * kDelta ? std::cbrt(t) : t / (3 * kDelta * kDelta) + 4.0 / 29.0;
}

struct Tables {
  std::array<double, 256> linear{};
  std::array<double, 256> logLight{};
  // f(t) for t = 0…1 and one step beyond, for interpolation.
  std::array<double, kCubeRootSteps + 2> response{};
};

const Tables& tables() {
  static const Tables kTables = [] {
    Tables made;
    for (std::size_t i = 0; i < 256; ++i) {
      made.linear.at(i) = exactLinear(static_cast<double>(i) / 255.0);
      made.logLight.at(i) = std::log(made.linear.at(i) + kNoiseLight);
    }
    for (std::size_t i = 0; i < made.response.size(); ++i) {
      made.response.at(i) = exactResponse(static_cast<double>(i) / kCubeRootSteps);
    }
    return made;
  }();
  return kTables;
}

double responseOf(double t) {
  const double place = std::clamp(t, 0.0, 1.0) * kCubeRootSteps;
  const auto index = static_cast<std::size_t>(place);
  const double part = place - static_cast<double>(index);
  const auto& table = tables().response;
  return table[index] + part * (table[index + 1] - table[index]);
}

}  // namespace

double linearOf(std::uint8_t sample) { return tables().linear[sample]; }

Lab labOf(std::uint8_t r, std::uint8_t g, std::uint8_t b) {
  const double red = linearOf(r);
  const double green = linearOf(g);
  const double blue = linearOf(b);
  const double fx = responseOf((0.4124 * red + 0.3576 * green + 0.1805 * blue) / 0.9505);
  const double fy = responseOf(0.2126 * red + 0.7152 * green + 0.0722 * blue);
  const double fz = responseOf((0.0193 * red + 0.1192 * green + 0.9505 * blue) / 1.0890);
  return {.l = 116 * fy - 16, .a = 500 * (fx - fy), .b = 200 * (fy - fz)};
}

// Far from overflow, the plain root is as exact as std::hypot and several times faster.
double chromaOf(const Lab& lab) { return std::sqrt(lab.a * lab.a + lab.b * lab.b); }

double hueDegOf(const Lab& lab) {
  if (lab.a == 0.0 && lab.b == 0.0) {
    return 0.0;
  }
  const double degrees = std::atan2(lab.b, lab.a) * 180.0 / std::numbers::pi;
  return degrees < 0.0 ? degrees + 360.0 : degrees;
}

double excessGreenOf(std::uint8_t r, std::uint8_t g, std::uint8_t b) {
  const int sum = r + g + b;
  return sum == 0 ? 0.0 : static_cast<double>(2 * g - r - b) / sum;
}

double rednessOf(std::uint8_t r, std::uint8_t g) {
  const auto& logLight = tables().logLight;
  return logLight[r] - logLight[g];
}

}  // namespace edamori::vision
