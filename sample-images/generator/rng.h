// SPDX-License-Identifier: GPL-3.0-or-later
// A seeded generator whose sequence is the same on every platform, which std distributions are not.
#pragma once

#include <cmath>
#include <cstdint>

#include "generator/vec3.h"

namespace edamori::scenes {

// Finaliser of SplitMix64 (Steele, Lea & Flood 2014): a well mixed 64-bit hash of a number.
constexpr std::uint64_t hashed(std::uint64_t value) {
  value += 0x9E3779B97F4A7C15ULL;
  value = (value ^ (value >> 30U)) * 0xBF58476D1CE4E5B9ULL;
  value = (value ^ (value >> 27U)) * 0x94D049BB133111EBULL;
  return value ^ (value >> 31U);
}

// Hash of a number as a float in [0, 1).
constexpr float hashedUnit(std::uint64_t value) {
  return static_cast<float>(hashed(value) >> 40U) * (1.0F / 16777216.0F);
}

// SplitMix64 sequence. One per task; copies continue independently from the same state.
class Rng {
 public:
  explicit Rng(std::uint64_t seed) : m_state(hashed(seed)) {}

  // Uniform in [0, 1).
  float uniform() {
    m_state += 0x9E3779B97F4A7C15ULL;
    return hashedUnit(m_state);
  }
  // Uniform in [low, high).
  float range(float low, float high) { return low + (high - low) * uniform(); }
  // Standard normal deviate (Box & Muller 1958).
  float normal() {
    const float radius = std::sqrt(-2.0F * std::log(1.0F - uniform()));
    return radius * std::cos(2.0F * kPi * uniform());
  }
  // Whole number in [0, count).
  int below(int count) { return static_cast<int>(uniform() * static_cast<float>(count)); }
  // Direction uniform on the unit sphere.
  Vec3 direction() {
    const float z = range(-1.0F, 1.0F);
    const float angle = range(0.0F, 2.0F * kPi);
    const float r = std::sqrt(1.0F - z * z);
    return {r * std::cos(angle), z, r * std::sin(angle)};
  }

 private:
  std::uint64_t m_state;
};

}  // namespace edamori::scenes
