// SPDX-License-Identifier: GPL-3.0-or-later
// Reading and writing of numbered pictures and their label images.
#pragma once

#include "scene_set.h"

#include <cstdint>
#include <filesystem>
#include <string>

#include <opencv2/core.hpp>

namespace edamori::scenes {

// Writes STEM.jpg (RGB, 8 bits) and STEM.png (labels, 8 bits, one channel).
// Throws std::runtime_error naming the file.
void writePicture(const std::filesystem::path& stem,
                  const cv::Mat& picture,
                  const cv::Mat& labels,
                  int jpegQuality);

// Writes an RGB picture, 8 bits. Throws std::runtime_error naming the file.
void writeJpeg(const std::string& file, const cv::Mat& picture, int quality);

}  // namespace edamori::scenes
