// SPDX-License-Identifier: GPL-3.0-or-later
// Masks drawn as text, so that a test shows its picture: '#' is 255, '.' is 0.
#pragma once

#include "vision/values/raster.h"

#include <string>
#include <string_view>

namespace edamori::test {

Mask maskFromText(std::string_view text);
std::string textFromMask(const Mask& mask);

}  // namespace edamori::test
