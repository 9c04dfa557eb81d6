// SPDX-License-Identifier: GPL-3.0-or-later
// A pair of photos with what is known about it.
#pragma once

#include "vision/values/geometry.h"
#include "vision/values/raster.h"

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace edamori::accuracy {

// Which seeds and looks: the limits in vision/align were chosen on Tuning only.
enum class Split { Tuning, HeldOut };

struct KnownPair {
  std::string kind;  // row of the table
  std::string name;  // to find it again
  std::function<RgbImage()> before, after;
  std::optional<Outline> outline;  // of the branch, on the before photo
  std::vector<PointPx> truth;      // where each vertex of the outline belongs; empty: impossible
  bool isPossible = true;
};

}  // namespace edamori::accuracy
