// SPDX-License-Identifier: GPL-3.0-or-later
// What a stored figure was computed from besides pixels and hints: part of its method parameters,
// so that it can be recomputed after outlines and what was learned have changed.
#pragma once

#include "vision/align/compare.h"
#include "vision/foliage/hints.h"
#include "vision/values/figure.h"
#include "vision/values/geometry.h"
#include "vision/values/result.h"

#include <optional>
#include <string>
#include <vector>

namespace edamori::work {

struct FigureInputs {
  Subject subject = Subject::Leaf;
  std::string network{};
  vision::Correction learned{}; // all 0: nothing learned was used
  int earlierPhotos = 0;       // whose strokes are in `learned`
  std::optional<Outline> outline{};       // absent: measured before outlines were kept here
  std::optional<Outline> outlineAfter{}; // of a comparison, when a person had set it right
  std::optional<Outline> drawnAfter{};    // of a comparison, as vision::CompareRequest
  std::vector<vision::PointPairPx> points{};  // of a comparison, when a person laid one photo on the other
  int compareVersion = 0;               // of a comparison; 0: none, or made before it was kept
  // Of a comparison, for its reader alone: the cover of both photos, and where the outline was laid
  // on the later one. Absent in figures of compare version 5 and before.
  std::optional<Estimate> coverBefore{}, coverAfter{};
  std::optional<Outline> placedAfter{};
};

// The parameters that measuring gave (they hold subject, network and learned weights), with the rest.
[[nodiscard]] std::string withInputs(const std::string& parameters, const FigureInputs& inputs);

// The reverse. Errors: Corrupt when the parameters are not what any version has written.
Result<FigureInputs> inputsOf(const Method& method);

}  // namespace edamori::work
