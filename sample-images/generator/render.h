// SPDX-License-Identifier: GPL-3.0-or-later
// Draws a scene: picture and label image from the same description.
#pragma once

#include "generator/foliage.h"
#include "generator/raster.h"
#include "generator/scene.h"
#include "generator/skeleton.h"
#include "generator/solids.h"
#include <opencv2/core.hpp>

namespace edamori::scenes {

inline constexpr int kSupersampling = 2;  // samples per pixel and axis

inline constexpr unsigned char kNotFoliage = 0;
inline constexpr unsigned char kSoundFoliage = 128;
inline constexpr unsigned char kSpottedFoliage = 255;

// What a sample of the picture shows, before lighting.
struct Surface {
  Vec3 albedo;
  Vec3 normal;
  float heightMm = 0.0F;
  float gloss = 0.0F;
  float translucency = 0.0F;  // share of light that passes a leaf
  Material material = Material::Nothing;
  unsigned char label = kNotFoliage;
  int object = 0;  // as Mesh::object
};

// The visible surfaces on a grid of kSupersampling² samples per pixel, row by row.
struct SurfaceBuffer {
  View view;
  std::vector<float> key;
  std::vector<Surface> surface;
};

struct RenderedScene {
  cv::Mat picture;  // CV_8UC3, RGB, upright
  cv::Mat labels;   // CV_8U, upright: 0 not foliage, 128 sound, 255 spotted or blighted
  cv::Mat nearness;  // CV_32F: 1 / distance along the axis (1/mm) of the nearest surface, 0 backdrop
  std::vector<int> visibleSamples;   // per insect: samples of it that can be seen
  std::vector<int> unhiddenSamples;  // per insect: samples it would have if nothing hid it
  View view;                         // in final pixels
  Skeleton skeleton;
  FoliageModel foliage;
};

// Cost: about 10 s for 2 megapixels on one core. Uses two threads on separate rows; the result does
// not depend on them.
RenderedScene renderScene(const SceneDescription& scene);

// The view of the description's camera on a grid enlarged by the factor.
View cameraView(const CameraLook& camera, int factor);

}  // namespace edamori::scenes
