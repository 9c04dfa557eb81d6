// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/load/profile.h"

#include <lcms2.h>

#include <array>
#include <cstdlib>
#include <memory>
#include <vector>

namespace edamori::vision {
namespace {

struct ProfileCloser {
  void operator()(void* profile) const { cmsCloseProfile(profile); }
};
struct TransformCloser {
  void operator()(void* transform) const { cmsDeleteTransform(transform); }
};
using Profile = std::unique_ptr<void, ProfileCloser>;
using Transform = std::unique_ptr<void, TransformCloser>;

// A difference of two steps of 255 is below what JPEG itself changes.
constexpr int kSameWithinSteps = 2;
constexpr std::size_t kPixelsAtOnce = 1 << 16;

std::string nameOf(cmsHPROFILE profile) {
  char buffer[256] = "";
  cmsGetProfileInfoASCII(profile, cmsInfoDescription, "en", "US", buffer, sizeof buffer);
  return buffer;
}

// Decides by the colours, not by the name: phones and editors name sRGB in many ways.
bool leavesColoursAlone(cmsHTRANSFORM transform) {
  std::vector<std::uint8_t> before;
  constexpr std::array<std::uint8_t, 6> kLevels{0, 51, 102, 153, 204, 255};
  for (const std::uint8_t r : kLevels) {
    for (const std::uint8_t g : kLevels) {
      for (const std::uint8_t b : kLevels) {
        before.insert(before.end(), {r, g, b});
      }
    }
  }
  std::vector<std::uint8_t> after(before.size());
  cmsDoTransform(transform, before.data(), after.data(),
                 static_cast<cmsUInt32Number>(before.size() / 3));
  for (std::size_t i = 0; i < before.size(); ++i) {
    if (std::abs(before[i] - after[i]) > kSameWithinSteps) {
      return false;
    }
  }
  return true;
}

void convertGrey(cmsHTRANSFORM transform, RgbImage& image) {
  std::vector<std::uint8_t> grey(static_cast<std::size_t>(image.width()));
  for (int y = 0; y < image.height(); ++y) {
    for (int x = 0; x < image.width(); ++x) {
      grey[static_cast<std::size_t>(x)] = image.at(x, y);
    }
    cmsDoTransform(transform, grey.data(), image.row(y),
                   static_cast<cmsUInt32Number>(image.width()));
  }
}

void convertRgb(cmsHTRANSFORM transform, RgbImage& image) {
  const auto total = static_cast<std::size_t>(image.pixelCount());
  for (std::size_t from = 0; from < total; from += kPixelsAtOnce) {
    const std::size_t count = std::min(kPixelsAtOnce, total - from);
    std::uint8_t* const pixels = image.data() + from * 3;
    cmsDoTransform(transform, pixels, pixels, static_cast<cmsUInt32Number>(count));
  }
}

}  // namespace

ProfileOutcome convertToSrgb(RgbImage& image, std::span<const std::byte> iccProfile) {
  if (iccProfile.empty()) {
    return {};
  }
  const Profile source(
      cmsOpenProfileFromMem(iccProfile.data(), static_cast<cmsUInt32Number>(iccProfile.size())));
  if (!source) {
    return {};
  }
  ProfileOutcome outcome{.wasConverted = false, .name = nameOf(source.get())};
  const cmsColorSpaceSignature space = cmsGetColorSpace(source.get());
  const bool isGrey = space == cmsSigGrayData;
  if (!isGrey && space != cmsSigRgbData) {
    return outcome;
  }
  const Profile srgb(cmsCreate_sRGBProfile());
  const Transform transform(cmsCreateTransform(source.get(), isGrey ? TYPE_GRAY_8 : TYPE_RGB_8,
                                               srgb.get(), TYPE_RGB_8,
                                               INTENT_RELATIVE_COLORIMETRIC, 0));
  if (!transform) {
    return outcome;
  }
  if (isGrey) {
    convertGrey(transform.get(), image);
    outcome.wasConverted = true;
  } else if (!leavesColoursAlone(transform.get())) {
    convertRgb(transform.get(), image);
    outcome.wasConverted = true;
  }
  return outcome;
}

}  // namespace edamori::vision
