// SPDX-License-Identifier: GPL-3.0-or-later
// Three floats: a point or direction in scene space (mm; x right, y up, z towards the viewer) or a
// linear-light sRGB colour (1 = white under unit light).
#pragma once

#include <algorithm>
#include <cmath>

namespace edamori::scenes {

struct Vec3 {
  float x = 0.0F;
  float y = 0.0F;
  float z = 0.0F;
};

constexpr Vec3 operator+(Vec3 a, Vec3 b) { return {a.x + b.x, a.y + b.y, a.z + b.z}; }
constexpr Vec3 operator-(Vec3 a, Vec3 b) { return {a.x - b.x, a.y - b.y, a.z - b.z}; }
constexpr Vec3 operator-(Vec3 a) { return {-a.x, -a.y, -a.z}; }
constexpr Vec3 operator*(Vec3 a, float s) { return {a.x * s, a.y * s, a.z * s}; }
constexpr Vec3 operator*(float s, Vec3 a) { return a * s; }
constexpr Vec3 operator*(Vec3 a, Vec3 b) { return {a.x * b.x, a.y * b.y, a.z * b.z}; }
constexpr Vec3& operator+=(Vec3& a, Vec3 b) { return a = a + b; }
constexpr float dot(Vec3 a, Vec3 b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
constexpr Vec3 cross(Vec3 a, Vec3 b) {
  return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}
inline float length(Vec3 a) { return std::sqrt(dot(a, a)); }
inline Vec3 normalized(Vec3 a) {
  const float l = length(a);
  return l > 1e-12F ? a * (1.0F / l) : Vec3{0.0F, 1.0F, 0.0F};
}
constexpr float mix(float a, float b, float t) { return a + (b - a) * t; }
constexpr Vec3 mix(Vec3 a, Vec3 b, float t) { return a + (b - a) * t; }
constexpr float clamp01(float v) { return std::clamp(v, 0.0F, 1.0F); }
constexpr float smoothStep(float from, float to, float v) {
  const float t = clamp01((v - from) / (to - from));
  return t * t * (3.0F - 2.0F * t);
}
// Mean of the channels weighted as Rec. ITU-R BT.709 luminance.
constexpr float luminance(Vec3 c) { return 0.2126F * c.x + 0.7152F * c.y + 0.0722F * c.z; }

inline constexpr float kPi = 3.14159265358979F;
constexpr float radians(float degrees) { return degrees * kPi / 180.0F; }

// Rotation of v about the unit axis by angle (rad), after Rodrigues.
inline Vec3 rotated(Vec3 v, Vec3 axis, float angle) {
  const float c = std::cos(angle);
  return v * c + cross(axis, v) * std::sin(angle) + axis * (dot(axis, v) * (1.0F - c));
}

// Linear-light colour of an 8-bit sRGB triple (IEC 61966-2-1).
inline Vec3 fromSrgb(int red, int green, int blue) {
  const auto linear = [](int value) {
    const float v = static_cast<float>(value) / 255.0F;
    return v <= 0.04045F ? v / 12.92F : std::pow((v + 0.055F) / 1.055F, 2.4F);
  };
  return {linear(red), linear(green), linear(blue)};
}

}  // namespace edamori::scenes
