// SPDX-License-Identifier: GPL-3.0-or-later
#include "generator/noise.h"

#include <cstdint>

#include "generator/rng.h"

namespace edamori::scenes {
namespace {

// 32-bit lattice hash; cheaper than SplitMix64, and the bulk of the drawing time is spent here.
std::uint32_t latticeHash(int x, int y, int z) {
  std::uint32_t h = static_cast<std::uint32_t>(x) * 0x8DA6B343U ^
                    static_cast<std::uint32_t>(y) * 0xD8163841U ^
                    static_cast<std::uint32_t>(z) * 0xCB1AB31FU;
  h ^= h >> 15U;
  h *= 0x2C1B3C6DU;
  h ^= h >> 12U;
  h *= 0x297A2D39U;
  return h ^ (h >> 15U);
}

float latticeValue(int x, int y, int z) {
  return static_cast<float>(latticeHash(x, y, z) >> 8U) * (1.0F / 16777216.0F);
}

float eased(float t) { return t * t * (3.0F - 2.0F * t); }

}  // namespace

float valueNoise(Vec3 point) {
  const float fx = std::floor(point.x);
  const float fy = std::floor(point.y);
  const float fz = std::floor(point.z);
  const int x = static_cast<int>(fx);
  const int y = static_cast<int>(fy);
  const int z = static_cast<int>(fz);
  const float u = eased(point.x - fx);
  const float v = eased(point.y - fy);
  const float w = eased(point.z - fz);
  const float near = mix(mix(latticeValue(x, y, z), latticeValue(x + 1, y, z), u),
                         mix(latticeValue(x, y + 1, z), latticeValue(x + 1, y + 1, z), u),
                         v);
  const float far = mix(mix(latticeValue(x, y, z + 1), latticeValue(x + 1, y, z + 1), u),
                        mix(latticeValue(x, y + 1, z + 1), latticeValue(x + 1, y + 1, z + 1), u),
                        v);
  return mix(near, far, w);
}

float fractalNoise(Vec3 point, int octaves) {
  float sum = 0.0F;
  float weight = 0.5F;
  float total = 0.0F;
  for (int octave = 0; octave < octaves; ++octave) {
    sum += weight * valueNoise(point);
    total += weight;
    weight *= 0.5F;
    point = point * 2.03F + Vec3{17.1F, 9.7F, 4.3F};
  }
  return sum / total;
}

CellNoise cellNoise(Vec3 point) {
  const int cx = static_cast<int>(std::floor(point.x));
  const int cy = static_cast<int>(std::floor(point.y));
  const int cz = static_cast<int>(std::floor(point.z));
  CellNoise result{9.0F, 9.0F, 0.0F};
  for (int index = 0; index < 27; ++index) {
    const int x = cx + index % 3 - 1;
    const int y = cy + (index / 3) % 3 - 1;
    const int z = cz + index / 9 - 1;
    const std::uint32_t h = latticeHash(x, y, z);
    const Vec3 offset{static_cast<float>(h & 1023U) / 1024.0F,
                      static_cast<float>((h >> 10U) & 1023U) / 1024.0F,
                      static_cast<float>((h >> 20U) & 1023U) / 1024.0F};
    const Vec3 site =
        Vec3{static_cast<float>(x), static_cast<float>(y), static_cast<float>(z)} + offset;
    const float distance = length(site - point);
    if (distance < result.nearest) {
      result.second = result.nearest;
      result.nearest = distance;
      result.cellValue = static_cast<float>((h * 0x9E3779B1U) >> 8U) * (1.0F / 16777216.0F);
    } else if (distance < result.second) {
      result.second = distance;
    }
  }
  return result;
}

}  // namespace edamori::scenes
