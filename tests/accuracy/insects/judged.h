// SPDX-License-Identifier: GPL-3.0-or-later
// Which answers are right: the arithmetic of edamori_insect_accuracy.
#pragma once

#include "insect_scene.h"

#include "vision/insects/scale_insects.h"

#include <vector>

namespace edamori::accuracy {

// An insect must be found when at least this share of it is seen; one less seen may be found, and
// counts neither way.
inline constexpr float kMustBeSeen = 0.35F;

// One photo's answers against its truth.
struct Judged {
  std::vector<double> right;    // scores of answers on insects that must be found
  std::vector<double> rightRadius, trueRadius;  // px, of the same answers
  std::vector<double> falseOnes;  // scores of answers on nothing
  int mustFind = 0;
  bool isBare = false;  // no insect at all on the photo
};

// Best answers first: each takes the nearest free insect whose radius holds its centre; a second
// answer on an insect is false.
[[nodiscard]] Judged judged(const std::vector<vision::InsectCandidate>& answers,
                            const std::vector<scenes::TrueInsect>& truth);

struct Totals {
  int photos = 0, barePhotos = 0;
  int mustFind = 0, found = 0;
  int falseOnInsects = 0, falseOnBare = 0;  // on photos with and without insects
  [[nodiscard]] double recall() const;
  [[nodiscard]] double falsePerTrue() const;      // of photos with insects
  [[nodiscard]] double precision() const;         // of photos with insects
  [[nodiscard]] double falsePerBarePhoto() const;
};

// Sums the answers of at least this score.
[[nodiscard]] Totals totalsAt(const std::vector<Judged>& photos, double leastScore);

struct Bin {
  int answers = 0, right = 0;
  double meanScore = 0.0;
};
// Answers by score in tenths: in a calibrated set, right / answers is near the mean score.
[[nodiscard]] std::vector<Bin> calibrationOf(const std::vector<Judged>& photos);

}  // namespace edamori::accuracy
