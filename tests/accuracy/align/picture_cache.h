// SPDX-License-Identifier: GPL-3.0-or-later
// Drawn pictures kept in a folder, as they take seconds each.
#pragma once

#include "generator/scene.h"
#include "vision/values/raster.h"

#include <filesystem>
#include <map>
#include <string>

#include <opencv2/core.hpp>

namespace edamori::accuracy {

class PictureCache {
 public:
  explicit PictureCache(std::filesystem::path folder);
  // The scene's picture; drawn when the folder has none of this name and this description.
  const RgbImage& picture(const std::string& name, const scenes::SceneDescription& scene);
  // How near what it shows is, as scenes::RenderedScene::nearness.
  const cv::Mat& nearness(const std::string& name, const scenes::SceneDescription& scene);

 private:
  std::filesystem::path m_folder;
  void draw(const std::string& name, const scenes::SceneDescription& scene);

  std::map<std::string, RgbImage> m_held;
  std::map<std::string, cv::Mat> m_nearness;
};

}  // namespace edamori::accuracy
