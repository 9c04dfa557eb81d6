// SPDX-License-Identifier: GPL-3.0-or-later
// OpenCV's pictures and the layers of a network in huge pages.
#pragma once

namespace edamori::vision {

// From now on cv::Mat takes its memory by largeBlock(). What was taken before is given back the
// way it was taken. Any thread; again is as once.
void useLargeBlocksForMat();

}  // namespace edamori::vision
