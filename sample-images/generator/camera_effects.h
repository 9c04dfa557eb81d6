// SPDX-License-Identifier: GPL-3.0-or-later
// What a phone's lens, sensor and processing do to the light.
#pragma once

#include "generator/scene.h"
#include <opencv2/core.hpp>

namespace edamori::scenes {

// Develops linear radiance into an 8-bit picture.
//
// Input:  radiance CV_32FC3 RGB; nearness CV_32F, 1 / distance (1/mm), 0 for the backdrop, which is
// already blurred. Output: CV_8UC3 RGB (sRGB), same size: depth of field, vignetting, automatic
// exposure on the subject plus exposureEv, white
//         balance, sensor noise with the correlation that demosaicing gives it, tone curve,
//         sharpening.
cv::Mat develop(const cv::Mat& radiance, const cv::Mat& nearness, const CameraLook& camera);

}  // namespace edamori::scenes
