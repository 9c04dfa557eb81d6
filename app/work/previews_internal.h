// SPDX-License-Identifier: GPL-3.0-or-later
// Where previews are kept; shared by import and photos.
#pragma once

#include "store/garden/garden.h"
#include "vision/values/raster.h"

#include <filesystem>

namespace edamori::work {

// Largest of 1, 2, 4, 8 that leaves at least the wanted longer side.
[[nodiscard]] int reductionFor(int longSidePx, int wantedLongSidePx);

[[nodiscard]] std::filesystem::path previewFile(const store::Garden& garden,
                                                const store::Photo& photo,
                                                int longSidePx);

// Writes the preview; a failure is passed over, because it can be made again.
void keepPreview(const store::Garden& garden,
                 const store::Photo& photo,
                 const RgbImage& preview,
                 int longSidePx);

}  // namespace edamori::work
