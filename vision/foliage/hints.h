// SPDX-License-Identifier: GPL-3.0-or-later
// What a person's strokes teach about one photo, and what of it carries over to the next.
#pragma once

#include "vision/foliage/tissue.h"
#include "vision/values/raster.h"

#include <array>
#include <vector>

namespace edamori::vision {

// The network's features, three of colour, and a constant.
inline constexpr int kCorrectionTerms = kTissueFeatures + 4;

// Added to the log-odds of foliage, and of spotted among foliage: weights of the terms.
struct Correction {
  std::array<double, kCorrectionTerms> foliage{};
  std::array<double, kCorrectionTerms> spotted{};
  friend bool operator==(const Correction&, const Correction&) = default;
};

// Learns from painted pixels what the network judged wrongly.
//
// Input:  `image` and `hints` (Hint values) of the map's size; `prior` is what was learned
//         on earlier photos of the tree (all 0: nothing).
// Output: the weights; `prior` itself when nothing is painted.
// Method: logistic regression with the network's log-odds as offset, fitted by iteratively
//         reweighted least squares, drawn towards the prior; pixels that nobody painted hold
//         the network's own judgement in place. Deterministic.
// Cost:   some 10 ms, whatever the photo's size.
// Source: McCullagh & Nelder 1989, Generalized Linear Models, ch. 4; ridge: le Cessie &
//         van Houwelingen 1992, Appl. Statist. 41, 191–201.
[[nodiscard]] Correction learnedFrom(const TissueMap& map,
                                     const RgbImage& image,
                                     const LabelImage& hints,
                                     const Correction& prior);

// Probabilities of a working image's pixels, as TissueMap has them.
struct TissueShares {
  std::vector<float> foliage, spotted;
};

// The map's probabilities with the correction applied. Cost: about 0.05 µs a pixel.
[[nodiscard]] TissueShares corrected(const TissueMap& map,
                                     const RgbImage& image,
                                     const Correction& correction);

}  // namespace edamori::vision
