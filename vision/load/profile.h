// SPDX-License-Identifier: GPL-3.0-or-later
// Embedded ICC profiles to sRGB.
#pragma once

#include "vision/values/raster.h"

#include <cstddef>
#include <span>
#include <string>

namespace edamori::vision {

struct ProfileOutcome {
  bool wasConverted = false;  // false when the profile is sRGB in all but name, or unusable
  std::string name;           // the profile's description; empty when it cannot be read
};

// Converts the pixels in place, relative colorimetric.
//
// A profile that does not fit RGB or grey pixels, or that is damaged, leaves them as
// they are: a photo with a broken profile is shown by most programs as sRGB, too.
// Source: ISO 15076-1 (ICC.1), through Little CMS 2.
ProfileOutcome convertToSrgb(RgbImage& image, std::span<const std::byte> iccProfile);

}  // namespace edamori::vision
