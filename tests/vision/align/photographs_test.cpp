// SPDX-License-Identifier: GPL-3.0-or-later
// Alignment on real photographs: those of the Debian packages mate-backgrounds and
// plasma-workspace-wallpapers, which share nothing with each other.
#include "tests/support/matchers.h"
#include "tests/vision/align/pair_maker.h"
#include "vision/align/compare.h"
#include "vision/load/load.h"

#include <algorithm>
#include <filesystem>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace edamori::vision {
namespace {

using test::failsWith;
using test::isOk;

const std::filesystem::path kMate = "/usr/share/backgrounds/mate/nature";
const std::filesystem::path kPlasma = "/usr/share/wallpapers";

std::vector<std::filesystem::path> photographs() {
  std::vector<std::filesystem::path> files;
  for (const char* name : {"Aqua",
                           "Blinds",
                           "FreshFlower",
                           "Garden",
                           "GreenMeadow",
                           "LadyBird",
                           "RainDrops",
                           "TwoWings",
                           "Wood",
                           "YellowFlower"}) {
    files.push_back(kMate / (std::string(name) + ".jpg"));
  }
  for (const char* name : {"Autumn", "BytheWater", "FallenLeaf", "OneStandsOut", "Path"}) {
    files.push_back(kPlasma / name / "contents/images/2560x1600.jpg");
  }
  std::erase_if(files, [](const auto& file) { return !std::filesystem::exists(file); });
  return files;
}

RgbImage reducedPhoto(const std::filesystem::path& file, int longSidePx) {
  const auto photo = loadPhoto(file);
  return photo ? reducedToFit(photo->image, longSidePx) : RgbImage();
}

constexpr const char* kNoPhotos =
    "no photographs: install mate-backgrounds and plasma-workspace-wallpapers";

Outline middleOf(const RgbImage& photo) {
  const double w = photo.width();
  const double h = photo.height();
  return {
      .polygon = {{0.3 * w, 0.3 * h}, {0.7 * w, 0.3 * h}, {0.7 * w, 0.7 * h}, {0.3 * w, 0.7 * h}},
      .holes = {}};
}

TEST(AlignPhotographs, CarriesOutlinesToTheirPlace) {
  const auto files = photographs();
  if (files.size() < 5) {
    GTEST_SKIP() << kNoPhotos;
  }
  std::vector<double> errors;
  std::size_t refused = 0;
  int which = 0;
  for (const auto& file : files) {
    const RgbImage before = reducedPhoto(file, 1200);
    ASSERT_FALSE(before.isEmpty()) << file;
    const test::ViewChange views[] = {{.rollDeg = 12.0 - which % 25,
                                       .scale = 0.7 + 0.08 * (which % 10),
                                       .tiltX = 0.1,
                                       .shiftY = 0.03}};
    for (const auto& view : views) {
      const Homography truth = test::homographyOf(view, before.width(), before.height());
      const RgbImage after = test::photographedAgain(
          before,
          truth,
          {.gain = 0.8, .cast = 0.08, .noise = 4, .seed = static_cast<std::uint32_t>(which)});
      const auto alignment = align(before, after, middleOf(before));
      if (!alignment) {
        ++refused;
        continue;
      }
      const double error =
          test::cornerErrorPx(alignment->afterFromBefore, truth, middleOf(before)) /
          std::max(before.width(), before.height());
      EXPECT_LT(error, 0.01) << file;
      errors.push_back(error);
    }
    ++which;
  }
  ASSERT_GE(errors.size(), files.size() / 2);
  std::nth_element(errors.begin(),
                   errors.begin() + static_cast<std::ptrdiff_t>(errors.size() / 2),
                   errors.end());
  EXPECT_LT(errors[errors.size() / 2], 0.003);
  RecordProperty("refused", static_cast<int>(refused));
}

TEST(AlignPhotographs, RefusesEveryUnrelatedPair) {
  const auto files = photographs();
  if (files.size() < 5) {
    GTEST_SKIP() << kNoPhotos;
  }
  std::vector<RgbImage> photos;
  for (const auto& file : files) {
    photos.push_back(reducedPhoto(file, 560));
  }
  for (std::size_t i = 0; i < photos.size(); ++i) {
    for (std::size_t j = 0; j < photos.size(); ++j) {
      // Every pair once, by turns one way and the other: both ways take too long for a test.
      if (i != j && (i < j) == ((i + j) % 2 == 0)) {
        EXPECT_THAT(align(photos[i], photos[j], std::nullopt), failsWith(ErrorCode::NotMeasurable))
            << files[i] << ' ' << files[j];
      }
    }
  }
}

TEST(AlignPhotographs, RefusesEveryMirroredPhoto) {
  const auto files = photographs();
  if (files.size() < 5) {
    GTEST_SKIP() << kNoPhotos;
  }
  for (const auto& file : files) {
    const RgbImage photo = reducedPhoto(file, 1000);
    EXPECT_THAT(align(photo, test::mirrored(photo), std::nullopt),
                failsWith(ErrorCode::NotMeasurable))
        << file;
  }
}

}  // namespace
}  // namespace edamori::vision
