// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/accuracy/align/photo_pairs.h"

#include "generator/rng.h"
#include "vision/align/plane.h"
#include "vision/load/load.h"

#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>
#include <random>

#include <opencv2/imgproc.hpp>

namespace edamori::accuracy {

namespace {

constexpr int kLongSidePx = 900;
constexpr int kShortSidePx = 600;
constexpr int kSourceLongSidePx = 1800;
constexpr int kWarpsPerPhoto = 6;

using scenes::Rng;
using vision::composed;

// Px of a picture of a plane ← px of the plane, for a camera that looks at its middle from a
// distance of 1.6 frame sides, turned about both axes.
Homography viewOf(double yawDeg, double pitchDeg, double rollDeg, double scale, cv::Size2d frame) {
  const auto radians = [](double degrees) { return degrees * std::numbers::pi / 180.0; };
  const double d = 1.6 * std::max(frame.width, frame.height);
  const double cy = std::cos(radians(yawDeg)), sy = std::sin(radians(yawDeg));
  const double cp = std::cos(radians(pitchDeg)), sp = std::sin(radians(pitchDeg));
  // Camera axes in the plane's frame: columns of Rᵀ; a plane point (x, y, 0).
  const Homography turned{cy, 0, 0, sy * sp, cp, 0, -sy * cp / d, sp / d, 1};
  const double c = scale * std::cos(radians(rollDeg)), s = scale * std::sin(radians(rollDeg));
  const Homography rolled{c, -s, 0, s, c, 0, 0, 0, 1};
  return composed(rolled, turned);
}

RgbImage rendered(const RgbImage& source, const Homography& pictureFromSource, cv::Size size) {
  // NOLINTNEXTLINE(cppcoreguidelines-pro-type-const-cast): read only.
  const cv::Mat from(
      source.height(), source.width(), CV_8UC3, const_cast<std::uint8_t*>(source.data()));
  // Twice the size, then averaged, so that a smaller picture is not sampled too thinly.
  const Homography centred = composed({2, 0, 0, 0, 2, 0, 0, 0, 1}, pictureFromSource);
  const Homography centres =
      composed({1, 0, -0.5, 0, 1, -0.5, 0, 0, 1}, composed(centred, {1, 0, 0.5, 0, 1, 0.5, 0, 0, 1}));
  cv::Mat large;
  cv::warpPerspective(from,
                      large,
                      cv::Matx33d(centres.data()),
                      size * 2,
                      cv::INTER_LINEAR,
                      cv::BORDER_CONSTANT,
                      cv::Scalar::all(128));
  RgbImage picture(size.width, size.height);
  cv::Mat small(size, CV_8UC3, picture.data());
  cv::resize(large, small, size, 0.0, 0.0, cv::INTER_AREA);
  return picture;
}

// Gain, gamma, cast, light from one side, noise.
void relight(RgbImage& photo, Rng& dice) {
  const double gain = dice.range(0.65F, 1.25F);
  const double gamma = dice.range(0.8F, 1.25F);
  const double cast = dice.range(-0.12F, 0.12F);
  const double slopeX = dice.range(-0.35F, 0.35F);
  const double slopeY = dice.range(-0.35F, 0.35F);
  const double noise = dice.range(1.0F, 5.0F);
  std::mt19937 random(static_cast<std::uint32_t>(dice.below(1 << 24)));
  for (int y = 0; y < photo.height(); ++y) {
    for (int x = 0; x < photo.width(); ++x) {
      const double side = 1.0 + slopeX * (static_cast<double>(x) / photo.width() - 0.5) +
                          slopeY * (static_cast<double>(y) / photo.height() - 0.5);
      for (int channel = 0; channel < 3; ++channel) {
        const double tint = channel == 0 ? 1.0 + cast : channel == 2 ? 1.0 - cast : 1.0;
        double sum = -2.0;
        for (int i = 0; i < 4; ++i) {
          sum += static_cast<double>(random()) / 4294967296.0;
        }
        const double lit =
            255.0 * std::pow(photo.at(x, y, channel) / 255.0, gamma) * gain * side * tint +
            sum * std::numbers::sqrt3 * noise;
        photo.at(x, y, channel) = static_cast<std::uint8_t>(std::clamp(std::lround(lit), 0L, 255L));
      }
    }
  }
}

double between(Rng& dice, double low, double high) {
  return std::lerp(low, high, static_cast<double>(dice.uniform()));
}

Outline outlineAt(Rng& dice) {
  const double w = kLongSidePx * between(dice, 0.2, 0.4);
  const double h = kShortSidePx * between(dice, 0.25, 0.5);
  const double x = kLongSidePx * between(dice, 0.35, 0.65) - w / 2;
  const double y = kShortSidePx * between(dice, 0.4, 0.6) - h / 2;
  return {.polygon = {{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}, .holes = {}};
}

bool isPicture(const std::filesystem::path& file) {
  return file.extension() == ".jpg" || file.extension() == ".png";
}

KnownPair seenAgain(const std::shared_ptr<const RgbImage>& source, const std::string& name, Rng& dice) {
  const cv::Size size(kLongSidePx, kShortSidePx);
  const double fill = 1.05 * std::max(static_cast<double>(size.width) / source->width(),
                                      static_cast<double>(size.height) / source->height());
  const Homography beforeFromSource{fill,
                                    0,
                                    (size.width - fill * source->width()) / 2,
                                    0,
                                    fill,
                                    (size.height - fill * source->height()) / 2,
                                    0,
                                    0,
                                    1};
  const double yaw = dice.range(-20.0F, 20.0F);
  const double pitch = between(dice, -1.0, 1.0) * std::sqrt(std::max(400.0 - yaw * yaw, 0.0));
  const double scale = std::exp(dice.range(std::log(0.6F), std::log(1.6F)));
  const Homography view = viewOf(yaw, pitch, dice.range(-25.0F, 25.0F), scale, size);
  const Homography toMiddle{1, 0, -size.width / 2.0, 0, 1, -size.height / 2.0, 0, 0, 1};
  const Homography fromMiddle{1, 0, size.width / 2.0, 0, 1, size.height / 2.0, 0, 0, 1};
  const Homography afterFromBefore = composed(fromMiddle, composed(view, toMiddle));
  KnownPair pair;
  pair.kind = "photograph, known warp";
  pair.name = name;
  pair.outline = outlineAt(dice);
  for (const PointPx& corner : pair.outline->polygon) {
    const PointPx at = mapped(afterFromBefore, corner);
    const bool isSeen = at.x >= 0 && at.y >= 0 && at.x <= size.width && at.y <= size.height;
    pair.truth.push_back(isSeen ? at : PointPx{std::nan(""), std::nan("")});
  }
  pair.before = [=] { return rendered(*source, beforeFromSource, size); };
  const auto seed = static_cast<std::uint64_t>(dice.below(1 << 24));
  pair.after = [=] {
    RgbImage after = rendered(*source, composed(afterFromBefore, beforeFromSource), size);
    Rng light(seed);
    relight(after, light);
    return after;
  };
  return pair;
}

}  // namespace

std::vector<RgbImage> photographsOf(Split split,
                                    const std::vector<std::filesystem::path>& folders) {
  std::vector<std::filesystem::path> files;
  for (const auto& folder : folders) {
    // One file a folder that holds the same picture in several sizes: the largest.
    std::vector<std::filesystem::path> found;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(folder)) {
      if (entry.is_regular_file() && isPicture(entry.path()) &&
          entry.path().stem() != "screenshot") {
        found.push_back(entry.path());
      }
    }
    std::sort(found.begin(), found.end());
    const bool isOnePicture = folder.string().find("wallpapers/") != std::string::npos;
    if (isOnePicture && !found.empty()) {
      const auto bySize = [](const auto& a, const auto& b) {
        return std::filesystem::file_size(a) < std::filesystem::file_size(b);
      };
      found = {*std::max_element(found.begin(), found.end(), bySize)};
    }
    files.insert(files.end(), found.begin(), found.end());
  }
  std::vector<RgbImage> photos;
  for (std::size_t i = split == Split::Tuning ? 0 : 1; i < files.size(); i += 2) {
    if (const auto photo = vision::loadPhoto(files[i])) {
      photos.push_back(vision::reducedToFit(photo->image, kSourceLongSidePx));
    }
  }
  return photos;
}

std::vector<KnownPair> possiblePhotoPairs(Split split, const std::vector<RgbImage>& photos) {
  std::vector<KnownPair> pairs;
  Rng dice(split == Split::Tuning ? 501 : 90501);
  for (std::size_t i = 0; i < photos.size(); ++i) {
    const auto source = std::make_shared<const RgbImage>(photos[i]);
    for (int warp = 0; warp < kWarpsPerPhoto; ++warp) {
      pairs.push_back(seenAgain(
          source, "photograph " + std::to_string(i) + " warp " + std::to_string(warp), dice));
    }
  }
  return pairs;
}

std::vector<KnownPair> impossiblePhotoPairs(const std::vector<RgbImage>& photos) {
  std::vector<std::shared_ptr<const RgbImage>> held;
  for (const RgbImage& photo : photos) {
    held.push_back(std::make_shared<const RgbImage>(vision::reducedToFit(photo, kLongSidePx)));
  }
  std::vector<KnownPair> pairs;
  for (std::size_t i = 0; i < held.size(); ++i) {
    for (std::size_t j = 0; j < held.size(); ++j) {
      if (i == j) {
        continue;
      }
      pairs.push_back({.kind = "photographs, unrelated",
                       .name = std::to_string(i) + " " + std::to_string(j),
                       .before = [at = held[i]] { return *at; },
                       .after = [at = held[j]] { return *at; },
                       .outline = std::nullopt,
                       .truth = {},
                       .isPossible = false});
    }
    pairs.push_back({.kind = "photographs, mirrored",
                     .name = std::to_string(i),
                     .before = [at = held[i]] { return *at; },
                     .after =
                         [at = held[i]] {
                           const Homography flip{-1, 0, static_cast<double>(at->width()), 0, 1, 0,
                                                 0, 0, 1};
                           return rendered(*at, flip, {at->width(), at->height()});
                         },
                     .outline = std::nullopt,
                     .truth = {},
                     .isPossible = false});
  }
  return pairs;
}

LargePair largePair(const RgbImage& photo, int widthPx, int heightPx) {
  const double fill = std::max(static_cast<double>(widthPx) / photo.width(),
                               static_cast<double>(heightPx) / photo.height());
  const Homography first{fill, 0, 0, 0, fill, 0, 0, 0, 1};
  const Homography second{
      1.04 * fill, -0.05 * fill, 60, 0.05 * fill, 1.04 * fill, -90, 0.00001, 0, 1};
  return {rendered(photo, first, {widthPx, heightPx}), rendered(photo, second, {widthPx, heightPx})};
}

}  // namespace edamori::accuracy
