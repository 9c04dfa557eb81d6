// SPDX-License-Identifier: GPL-3.0-or-later
// Whether a photo can carry a measurement: focus, exposure, clipping, colour cast.
#pragma once

#include "vision/values/figure.h"
#include "vision/values/raster.h"
#include "vision/values/result.h"

#include <vector>

namespace edamori::vision {

struct PhotoQuality {
  double sharpness = 0.0;          // edge energy against blurred self, 0 (none) … 1 (crisp)
  double clippedBright = 0.0;      // share of pixels with a channel at 254 or above, 0…1
  double clippedDark = 0.0;        // share of pixels with all channels at 2 or below, 0…1
  double meanLightness = 0.0;      // CIELAB L*, 0…100
  double castChroma = 0.0;         // CIELAB chroma of the near-grey pixels' mean, ≥ 0
};

// Reads the quality inside `region` (255 = look here; empty mask: whole photo).
//
// Errors: InvalidArgument when sizes differ or the photo is empty.
Result<PhotoQuality> assessQuality(const RgbImage& photo, const Mask& region);

// The same without the sharpness, which stays 0 and takes most of the time.
Result<PhotoQuality> assessLight(const RgbImage& photo, const Mask& region);

// The cautions a person should read, in plain words; empty when all is well.
[[nodiscard]] std::vector<Caution> cautionsFor(const PhotoQuality& quality);

}  // namespace edamori::vision
