// SPDX-License-Identifier: GPL-3.0-or-later
// Writing photographs as a phone does, and label images.
#pragma once

#include <filesystem>

#include "generator/story.h"
#include <opencv2/core.hpp>

namespace edamori::scenes {

// Writes the upright picture as JPEG, its pixels turned as the photo's orientation tells and the
// Exif tags set. Throws std::runtime_error naming the file if it cannot be written.
void writePhoto(const std::filesystem::path& file, const cv::Mat& picture, const StoryPhoto& photo);

// Writes a CV_8U image as an 8-bit one-channel PNG. Throws std::runtime_error naming the file if it
// cannot be written.
void writeLabels(const std::filesystem::path& file, const cv::Mat& labels);

}  // namespace edamori::scenes
