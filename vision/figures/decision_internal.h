// SPDX-License-Identifier: GPL-3.0-or-later
// From probabilities to a decision for each pixel of an outline.
#pragma once

#include "vision/values/pixel_box.h"
#include "vision/values/raster.h"

#include <cstdint>

namespace edamori::vision {

// Probability of a class, 0 (certainly not) … 255 (certainly).
using ProbabilityMap = Raster<1>;

// The judgement at full size, of an outline's box. Outside the outline `foliage` is 0.
struct Judgement {
  ProbabilityMap foliage;  // of each pixel
  ProbabilityMap spotted;  // given that it is foliage
};

struct DecisionLimits {
  int least = 64;  // probability, of 255, from which a pixel may count …
  int most = 192;  // … and from which it counts whatever the shares say
};

// What counts as foliage and as spotted, how much that is, and how clear it is.
struct Decision {
  std::uint8_t foliageFrom = 0;  // probability from which a pixel counts as foliage
  std::uint8_t spottedFrom = 0;  // … and as spotted, when it is foliage
  std::int64_t foliagePx = 0, spottedPx = 0;
  double foliageDoubt = 0.0;  // of the outline's pixels, 0 (all clear) … 0.5
  double spottedDoubt = 0.0;  // of the foliage's pixels
};

// Decides so that as many pixels count as the mean probability says, within the limits: a mask cut
// at one half would lose thin needles, whose pixels are all partly background.
[[nodiscard]] Decision decided(const Judgement& judgement,
                               std::int64_t outlinePx,
                               DecisionLimits limits);

// The labels of a photo of width × height px; `box` is where the judgement lies in it.
[[nodiscard]] LabelImage labelsOf(const Judgement& judgement,
                                  const Decision& decision,
                                  const PixelBox& box,
                                  int width,
                                  int height);

}  // namespace edamori::vision
