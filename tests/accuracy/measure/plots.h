// SPDX-License-Identifier: GPL-3.0-or-later
// Pictures of the agreement between measured and true figures.
#pragma once

#include "vision/values/raster.h"

#include <span>
#include <string>

#include "report.h"

namespace edamori::accuracy {

// Measured against true, per cent, with 95 % intervals and the line of identity. ASCII title.
[[nodiscard]] RgbImage drawScatter(std::span<const Pair> pairs, const std::string& title);

// Measured less true against their mean (Bland and Altman), with bias and limits of agreement.
[[nodiscard]] RgbImage drawDifferences(std::span<const Pair> pairs, const std::string& title);

}  // namespace edamori::accuracy
