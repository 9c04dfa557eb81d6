// SPDX-License-Identifier: GPL-3.0-or-later
// The garden behind the tree, out of focus.
#pragma once

#include "generator/scene.h"
#include <opencv2/core.hpp>

namespace edamori::scenes {

// Linear-light radiance, CV_32FC3 RGB, at the camera's pixel size divided by `reduction`. It moves
// with the camera's direction and roll as something about three metres behind the tree would.
cv::Mat paintBackdrop(const BackdropLook& look,
                      const LightLook& light,
                      const CameraLook& camera,
                      int reduction);

}  // namespace edamori::scenes
