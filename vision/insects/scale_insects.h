// SPDX-License-Identifier: GPL-3.0-or-later
// Likely scale insects on a photo: proposals for a person to accept or reject, never a count.
#pragma once

#include "vision/values/geometry.h"
#include "vision/values/raster.h"
#include "vision/values/result.h"

#include <functional>
#include <optional>
#include <vector>

namespace edamori::vision {

// Raised when the same photo may give other candidates than before.
inline constexpr int kInsectMethodVersion = 1;

struct InsectCandidate {
  PointPx centrePx;
  double radiusPx = 0.0;  // of a circle of the insect's area
  double score = 0.0;     // 0…1, the share of candidates of this score that are insects, as
                          // calibrated on drawn wood (docs/accuracy.md); photos of real bark may
                          // differ
  friend bool operator==(const InsectCandidate&, const InsectCandidate&) = default;
};

// Sizes that are looked for; radii in px of the photo.
struct InsectSizes {
  double smallestRadiusPx = 4.0;  // 4…200
  double largestRadiusPx = 32.0;  // from smallestRadiusPx on, at most 32 times it
  friend bool operator==(const InsectSizes&, const InsectSizes&) = default;
};

// Sizes for a photo whose scale is not known: 4…32 px up to 16 megapixels; larger photos show the
// same insect larger, so that both grow with the side of the photo (8…64 px at 48 megapixels).
[[nodiscard]] InsectSizes usualInsectSizes(int widthPx, int heightPx);
// Sizes for a known scale: adult females 1…6 mm across (from memory: soft and wax scales 2…6 mm,
// armoured scales 1…2.5 mm), never below 4 px of radius, where nothing can be told any more.
// Errors: InvalidArgument when mmPerPx is not above 0; NotMeasurable when even the largest are
// below 4 px.
Result<InsectSizes> insectSizesAt(double mmPerPx);

struct InsectSearch {
  std::vector<Outline> outlines;      // only within these; empty: the whole photo
  std::optional<InsectSizes> sizes;   // none: usualInsectSizes
  double leastScore = 0.1;            // 0…1; weaker candidates are left out
  // Asked between tiles, with the share done (0…1); false ends the search.
  std::function<bool(double)> goOn;

  // Errors: InvalidArgument, saying which field.
  [[nodiscard]] Result<void> validate() const;
};

// Looks for small, round, convex, dark red to brown things with a waxy light on bark.
//
// Output: best first; no two closer than 0.75 of the larger radius.
// Errors: InvalidArgument (an empty photo, the fields of `search`); Cancelled; NotMeasurable when
//         the outlines hold no pixel of the photo, or memory does not suffice.
// Cost:   about 100 Gflop on 12 MP, one thread a call; pixels outside the outlines cost nothing.
//         The same photo always gives the same candidates. Safe to call from any thread.
Result<std::vector<InsectCandidate>> findScaleInsects(const RgbImage& photo,
                                                      const InsectSearch& search = {});

}  // namespace edamori::vision
