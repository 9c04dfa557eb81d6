// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/quality/quality.h"

#include "vision/quality/colour.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numeric>

#include <opencv2/imgproc.hpp>

namespace edamori::vision {
namespace {

// Sharpness is read at this size, so that a 48-megapixel photo and its copy at
// 2 megapixels, which carry the same measurement, get the same judgement.
constexpr int kSharpnessSidePx = 1600;
// Length of the blur that a crisp edge loses by, as in Crete et al. 2007.
constexpr int kBlurTaps = 9;
// Differences between neighbours below this are sensor noise, in steps of 255.
constexpr float kNoiseSteps = 1.0F;
// A grey thing in a photo with a colour cast has up to this chroma; most wood and leaves have more.
constexpr double kNearGreyChroma = 20.0;
constexpr double kMinGreyShare = 0.05;

// Thresholds for cautions, chosen by eye on generated and real close-ups.
constexpr double kBlurredBelow = 0.18;
constexpr double kClippedAbove = 0.03;
constexpr double kDarkBelow = 15.0;
constexpr double kCastAbove = 15.0;

cv::Mat viewOf(const Mask& mask) {
  return {mask.height(), mask.width(), CV_8UC1, const_cast<std::uint8_t*>(mask.data())};
}

cv::Mat greyOf(const RgbImage& image, int longSidePx) {
  const cv::Mat rgb(image.height(), image.width(), CV_8UC3,
                    const_cast<std::uint8_t*>(image.data()));
  cv::Mat grey;
  cv::cvtColor(rgb, grey, cv::COLOR_RGB2GRAY);
  const double scale = static_cast<double>(longSidePx) / std::max(grey.cols, grey.rows);
  if (scale < 1.0) {
    const auto scaled = [scale](int side) { return std::max(1, static_cast<int>(std::lround(side * scale))); };
    cv::resize(grey, grey, cv::Size(scaled(grey.cols), scaled(grey.rows)), 0, 0, cv::INTER_AREA);
  }
  grey.convertTo(grey, CV_32F);
  // Evens out the rounding to whole steps, which would pass for detail in smooth areas.
  cv::GaussianBlur(grey, grey, cv::Size(5, 5), 1.0, 1.0, cv::BORDER_REFLECT);
  return grey;
}

struct EdgeEnergy {
  double total = 0.0;
  double lostByBlur = 0.0;
};

// Rows of a picture, of the same picture blurred, and each one's neighbours to compare with.
struct EdgeRow {
  const std::uint8_t* inside;
  const float *here, *next, *softHere, *softNext;
};

// Summed in lanes that do not wait for each other.
EdgeEnergy energyOf(const EdgeRow& row, int length) {
  constexpr int kLanes = 8;
  std::array<float, kLanes> total{}, lost{};
  const auto add = [&](int x, std::size_t lane) {
    const float sharp = std::abs(row.next[x] - row.here[x]);
    const float soft = std::abs(row.softNext[x] - row.softHere[x]);
    const float counted = row.inside[x] != 0 && sharp >= kNoiseSteps ? 1.0F : 0.0F;
    total[lane] += counted * sharp;
    lost[lane] += counted * std::max(0.0F, sharp - soft);
  };
  int x = 0;
  for (; x + kLanes <= length; x += kLanes) {
    for (int lane = 0; lane < kLanes; ++lane) {
      add(x + lane, static_cast<std::size_t>(lane));
    }
  }
  for (; x < length; ++x) {
    add(x, 0);
  }
  return {.total = std::accumulate(total.begin(), total.end(), 0.0),
          .lostByBlur = std::accumulate(lost.begin(), lost.end(), 0.0)};
}

EdgeEnergy energyAlong(const cv::Mat& grey, const cv::Mat& region, int dx, int dy) {
  cv::Mat blurred;
  cv::blur(grey, blurred, dx != 0 ? cv::Size(kBlurTaps, 1) : cv::Size(1, kBlurTaps));
  EdgeEnergy energy;
  for (int y = 0; y + dy < grey.rows; ++y) {
    const EdgeEnergy row = energyOf({.inside = region.ptr<std::uint8_t>(y),
                                     .here = grey.ptr<float>(y),
                                     .next = grey.ptr<float>(y + dy) + dx,
                                     .softHere = blurred.ptr<float>(y),
                                     .softNext = blurred.ptr<float>(y + dy) + dx},
                                    grey.cols - dx);
    energy.total += row.total;
    energy.lostByBlur += row.lostByBlur;
  }
  return energy;
}

// Share of the edge energy that another blur takes away: a crisp edge loses most of
// it, a blurred one next to nothing. The worse direction counts (motion blur).
// Source: Crete, Dolmiere, Ladret & Nicolas 2007, Proc. SPIE 6492 ("the blur effect").
double sharpnessOf(const RgbImage& photo, const Mask& region) {
  const cv::Mat grey = greyOf(photo, kSharpnessSidePx);
  cv::Mat mask;
  cv::resize(viewOf(region), mask, grey.size(), 0, 0, cv::INTER_NEAREST);
  double sharpness = 1.0;
  bool hasEdges = false;
  for (const auto& [dx, dy] : {std::pair{1, 0}, std::pair{0, 1}}) {
    const EdgeEnergy energy = energyAlong(grey, mask, dx, dy);
    if (energy.total > 0.0) {
      sharpness = std::min(sharpness, energy.lostByBlur / energy.total);
      hasEdges = true;
    }
  }
  return hasEdges ? sharpness : 0.0;
}

bool isGreen(const Lab& lab) {
  const double hue = hueDegOf(lab);
  return hue > 95.0 && hue < 200.0;
}

struct Exposure {
  std::int64_t pixels = 0, bright = 0, dark = 0, grey = 0;
  double lightness = 0.0, greyA = 0.0, greyB = 0.0;

  void add(const std::uint8_t* rgb) {
    ++pixels;
    bright += *std::max_element(rgb, rgb + 3) >= 254 ? 1 : 0;
    dark += *std::max_element(rgb, rgb + 3) <= 2 ? 1 : 0;
    const Lab lab = labOf(rgb[0], rgb[1], rgb[2]);
    lightness += lab.l;
    // Pale leaves are green for good reason.
    const double chroma = chromaOf(lab);
    if (lab.l > 20 && lab.l < 97 && chroma < kNearGreyChroma && !(chroma > 3.0 && isGreen(lab))) {
      ++grey;
      greyA += lab.a;
      greyB += lab.b;
    }
  }
};

Exposure exposureOf(const RgbImage& photo, const Mask& region) {
  // At most 200 000 pixels tell the shares to 0.4 %; more would only take time.
  const int step = std::max(1, static_cast<int>(std::ceil(std::sqrt(static_cast<double>(photo.pixelCount()) / 2e5))));
  Exposure exposure;
  for (int y = 0; y < photo.height(); y += step) {
    for (int x = 0; x < photo.width(); x += step) {
      if (region.at(x, y) != 0) {
        exposure.add(photo.row(y) + std::ptrdiff_t{x} * 3);
      }
    }
  }
  return exposure;
}

}  // namespace

Result<PhotoQuality> assessQuality(const RgbImage& photo, const Mask& region) {
  auto quality = assessLight(photo, region);
  if (quality) {
    const Mask whole = region.isEmpty() ? Mask(photo.width(), photo.height(), 255) : Mask();
    quality->sharpness = sharpnessOf(photo, region.isEmpty() ? whole : region);
  }
  return quality;
}

Result<PhotoQuality> assessLight(const RgbImage& photo, const Mask& region) {
  if (photo.isEmpty()) {
    return fail(ErrorCode::InvalidArgument, "the photo is empty; choose another one");
  }
  if (!region.isEmpty() &&
      (region.width() != photo.width() || region.height() != photo.height())) {
    return fail(ErrorCode::InvalidArgument, "the region and the photo differ in size");
  }
  const Mask whole = region.isEmpty() ? Mask(photo.width(), photo.height(), 255) : Mask();
  const Exposure exposure = exposureOf(photo, region.isEmpty() ? whole : region);
  PhotoQuality quality;
  if (exposure.pixels == 0) {
    return quality;
  }
  const auto pixels = static_cast<double>(exposure.pixels);
  quality.clippedBright = static_cast<double>(exposure.bright) / pixels;
  quality.clippedDark = static_cast<double>(exposure.dark) / pixels;
  quality.meanLightness = exposure.lightness / pixels;
  if (static_cast<double>(exposure.grey) > kMinGreyShare * pixels) {
    const auto grey = static_cast<double>(exposure.grey);
    quality.castChroma = std::hypot(exposure.greyA / grey, exposure.greyB / grey);
  }
  return quality;
}

std::vector<Caution> cautionsFor(const PhotoQuality& quality) {
  std::vector<Caution> cautions;
  if (quality.sharpness < kBlurredBelow) {
    cautions.push_back({"blur", "The photo shows little fine detail here, so that small spots and "
                                "thin needles may be missed; a sharper photo would help."});
  }
  if (quality.clippedBright > kClippedAbove) {
    cautions.push_back({"clipped", "Parts are so bright that their colour is lost; photograph in "
                                   "softer light or darker exposure."});
  }
  if (quality.clippedDark > kClippedAbove) {
    cautions.push_back({"clipped", "Parts are so dark that their colour is lost; photograph in "
                                   "brighter light."});
  }
  if (quality.meanLightness < kDarkBelow && quality.clippedDark <= kClippedAbove) {
    cautions.push_back({"dark", "The photo is very dark here, so that colours are uncertain; "
                                "photograph in brighter light."});
  }
  if (quality.castChroma > kCastAbove) {
    cautions.push_back({"colour-cast", "Grey things look coloured in this photo, so that leaf "
                                       "colours may be off; photograph in daylight."});
  }
  return cautions;
}

}  // namespace edamori::vision
