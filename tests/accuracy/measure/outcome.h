// SPDX-License-Identifier: GPL-3.0-or-later
// What measuring found in one outline, beside what is true.
#pragma once

#include "vision/values/figure.h"
#include "vision/values/raster.h"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "truth_set.h"

namespace edamori::accuracy {

// Pixels inside the outline, by what is true and what was found.
struct PixelTally {
  std::int64_t foliageInBoth = 0, foliageInEither = 0;
  std::int64_t spotFound = 0;   // true and found
  std::int64_t spotMissed = 0;  // true and not found
  std::int64_t spotFalse = 0;   // found and not true
};

// Fractions that the truth tells; absent where it does not.
struct TrueFractions {
  std::optional<double> cover;  // F/O
  std::optional<double> spot;   // S/F; S/O for lesions on a leaf that fills the frame
};

struct Outcome {
  std::string file;
  TruthKind kind = TruthKind::Tissue;
  Subject subject = Subject::Leaf;
  std::string refusal;  // why there is no figure; empty when measured
  std::int64_t outlinePx = 0;
  TrueFractions truth;
  std::optional<Estimate> cover, spot;
  PixelTally pixels;
  double measureMs = 0.0;
  std::vector<std::string> cautionCodes;
  int strokes = 0;  // painted before measuring
};

// All of one folder.
struct SetOutcome {
  std::string name;
  std::vector<Outcome> first;        // without a stroke
  std::vector<Outcome> withStrokes;  // the same outlines again; empty unless asked for
  std::vector<double> decodeMs;      // a value a photo
};

enum class Strokes { None, Simulated };

// Measures each outline of a photo, once or, with strokes, twice; adds to `set`.
void measureCase(const RgbImage& photo, const TruthCase& truth, Strokes strokes, SetOutcome& set);

}  // namespace edamori::accuracy
