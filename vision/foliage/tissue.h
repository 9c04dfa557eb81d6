// SPDX-License-Identifier: GPL-3.0-or-later
// What each pixel shows: no foliage, sound foliage or spotted foliage, by the trained network.
#pragma once

#include "vision/values/raster.h"
#include "vision/values/result.h"

#include <vector>

namespace edamori::vision {

// Per pixel of a working image, rows from the top.
struct TissueMap {
  int width = 0, height = 0;   // working px
  std::vector<float> foliage;  // probability of foliage, sound or spotted, 0…1
  std::vector<float> spotted;  // probability of spotted foliage, 0…foliage
  int featureWidth = 0, featureHeight = 0;  // half the above, rounded up
  // What the network saw: kTissueFeatures planes of featureWidth × featureHeight, ≥ 0.
  std::vector<float, UninitialisedAllocator<float>> features;
};

inline constexpr int kTissueFeatures = 16;

// The network looks a second time at this scale, where it sees more of what is around.
inline constexpr double kSecondLookScale = 0.7;

// Probabilities of foliage and of spots, each an estimate of an area share: their mean over
// a region estimates the region's share.
//
// Input:  upright sRGB at working size, up to about 1000 px a side.
// Errors: NotMeasurable when the network cannot run (out of memory).
// Method: the mean of what a network tells at the given size and at kSecondLookScale of it (as
//         Chen et al. 2018, IEEE TPAMI 40, 834–848, join scales, there by the maximum); features
//         are of the first. U-Net with additive skips, trained on drawn scenes and on close-ups of leaves
//         (tests/accuracy/training/train.py; docs/decisions/0005). Same picture, same bits on
//         one machine; other processors may round differently in the last place.
// Cost:   about 0.5 µs a pixel; safe to call from any thread (one network a thread).
// Source: Ronneberger, Fischer & Brox 2015, MICCAI 9351, 234–241.
Result<TissueMap> tissueOf(const RgbImage& image);

// Name of the trained network in use, part of a figure's method.
[[nodiscard]] const char* tissueModelName();

}  // namespace edamori::vision
