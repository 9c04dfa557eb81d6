// SPDX-License-Identifier: GPL-3.0-or-later
// The picture being drawn at twice its size: surface colour, normal, height and label of each
// pixel, seen straight from above, and the light and camera that turn it into a photograph.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "board.h"
#include "generator/rng.h"
#include "generator/vec3.h"
#include <opencv2/core.hpp>

namespace edamori::scenes {

constexpr float fl(int value) { return static_cast<float>(value); }
inline int whole(float value) { return static_cast<int>(std::floor(value)); }

// Fractal noise about 0.5, smooth, of period 1 in both directions; features from 1/6 downwards.
float tileNoise(float x, float y);
// The same kind of noise with the given number of features along a unit; repeats seldom.
float noiseAt(float x, float y, float features);

// Nearest site of a jittered unit grid.
struct Cell {
  float border = 0.0F;  // second nearest distance less nearest: 0 on a border
  float nearest = 0.0F;
  float value = 0.0F;  // random number of the cell
  float siteX = 0.0F;
  float siteY = 0.0F;
};
Cell cellAt(float x, float y, std::uint32_t seed);

struct Surface {
  Vec3 albedo;
  float normalX = 0.0F;
  float normalY = 0.0F;
  float height = 0.0F;  // px above the ground
  float gloss = 0.0F;
  unsigned char label = kNotFoliageLabel;
  unsigned char translucency = 0;
};

class Stage {
 public:
  Stage(int width, int height)
      : m_width(width),
        m_height(height),
        m_surfaces(static_cast<std::size_t>(width) * static_cast<std::size_t>(height)) {}
  int width() const { return m_width; }
  int height() const { return m_height; }
  Surface& at(int x, int y) {
    return m_surfaces[static_cast<std::size_t>(y) * static_cast<std::size_t>(m_width) +
                      static_cast<std::size_t>(x)];
  }
  Surface& at(int index) { return m_surfaces[static_cast<std::size_t>(index)]; }
  const Surface& at(int x, int y) const {
    return m_surfaces[static_cast<std::size_t>(y) * static_cast<std::size_t>(m_width) +
                      static_cast<std::size_t>(x)];
  }

 private:
  int m_width;
  int m_height;
  std::vector<Surface> m_surfaces;
};

struct Light {
  Vec3 sunDirection{0.3F, 0.3F, 0.9F};  // towards the sun; y down the picture, z to the viewer
  Vec3 sun{1.0F, 0.95F, 0.9F};
  Vec3 sky{0.5F, 0.55F, 0.65F};
  float shadowSoftnessPx = 1.0F;
  float shadowStrength = 1.0F;
  float occlusion = 0.5F;
  float occlusionReachPx = 40.0F;
  float dapple = 0.0F;       // share of the sun that leaves out of the frame keep away
  float dappleSizePx = 200.0F;
  float gradient = 0.0F;     // brightness change across the frame
  float gradientAngle = 0.0F;
  std::uint64_t seed = 0;
};
Light randomLight(Rng& rng, float scalePx);

// Linear-light picture at half the stage's size, and its labels by majority of the four pixels.
struct Lit {
  cv::Mat radiance;  // CV_32FC3
  cv::Mat height;    // CV_32F
  cv::Mat labels;    // CV_8U
};
Lit lit(const Stage& stage, const Light& light);

// Adds lens, sensor and a phone's processing. depthBlur > 0 blurs what lies far below the top.
cv::Mat photographed(Lit& scene, Rng& rng, float depthBlurPx);

}  // namespace edamori::scenes
