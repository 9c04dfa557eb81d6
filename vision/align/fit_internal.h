// SPDX-License-Identifier: GPL-3.0-or-later
// From pairs of points to the plane transform that most of them agree on, and how
// much that agreement is worth. All lengths are px of the working photos.
#pragma once

#include "vision/align/compare.h"
#include "vision/align/matches_internal.h"
#include "vision/align/plane.h"

#include <array>
#include <cstddef>
#include <optional>
#include <vector>

namespace edamori::vision {

// Which part of the before photo the fit has to serve.
struct Focus {
  std::vector<double> weights;     // one a pair, 0…1: 1 in and close around the outline
  std::vector<std::size_t> near;   // the pairs in and close around the outline
  std::array<PointPx, 4> corners;  // of the outline's bounds
};

struct Fit {
  AlignmentModel model = AlignmentModel::Homography;
  Homography afterFromBefore{1, 0, 0, 0, 1, 0, 0, 0, 1};
  std::vector<std::size_t> support;  // pairs that agree in place, size and direction
  double placeShare = 0.0;      // of the pairs that agree in place, those that agree in all, 0…1
  double medianResidual = 0.0;  // of the support
  double cornerError = 0.0;     // standard error of the worst of Focus::corners
};

// Pairs closer than this to where the transform puts them support it.
inline constexpr double kSupportPx = 4.0;

// The better of a homography and a similarity for these pairs; absent when neither
// can be fitted. The same input gives the same bits.
//
// Source: start by MAGSAC++ (Barath et al. 2020, CVPR) and RANSAC (Fischler & Bolles
//         1981, Comm. ACM 24, 381–395); Gauss–Newton with Cauchy weights; choice by the
//         Bayesian information criterion (Schwarz 1978, Ann. Statist. 6, 461–464).
[[nodiscard]] std::optional<Fit> bestFit(const std::vector<PointPair>& pairs, const Focus& focus);

// The best fit, then the best one for the pairs that it leaves over, and so on: things at
// other depths follow other transforms. At most kMaxRivals, each with support.
[[nodiscard]] std::vector<Fit> rivalFits(const std::vector<PointPair>& pairs, const Focus& focus);
inline constexpr std::size_t kMaxRivals = 5;
inline constexpr std::size_t kMinRivalSupport = 8;

// How many pairs support the best transform when partners are dealt out at random:
// the most of a few seeded deals. Places keep their clusters, so that repeated
// patterns and photos with little texture raise it as they should.
[[nodiscard]] std::size_t supportByChance(const std::vector<PointPair>& pairs, const Focus& focus);

}  // namespace edamori::vision
