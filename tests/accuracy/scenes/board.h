// SPDX-License-Identifier: GPL-3.0-or-later
// Drawn pictures of foliage with an exact label for every pixel, to train and test the spot finder.
#pragma once

#include "scene_set.h"

#include <cstdint>
#include <string>

#include <opencv2/core.hpp>

namespace edamori::scenes {

inline constexpr unsigned char kNotFoliageLabel = 0;
inline constexpr unsigned char kSoundLabel = 128;
inline constexpr unsigned char kSpottedLabel = 255;

struct DrawnPicture {
  cv::Mat picture;  // CV_8UC3 RGB
  cv::Mat labels;   // CV_8U, one of the three labels above
  std::string kind;
};

// The same set, index and side always give the same picture. sidePx is the longer side.
//
// Rules of the labels. A pixel takes the label that covers most of it before lens and sensor act.
// Sound: green, red-leaved, autumn-coloured and cream blade, veins, hairs, glints, water drops (a
// drop on a lesion keeps the lesion's label). Spotted: necrosis, rust pustules, mould, scorch, dead
// needles and leaves; of a yellow halo only the part that has lost 7/10 of the blade's own colour.
// Not foliage: holes, twigs, bark, soil, dead debris, objects, and the far blurred backdrop.
DrawnPicture drawBoard(SceneSet set, std::uint64_t index, int sidePx);

}  // namespace edamori::scenes
