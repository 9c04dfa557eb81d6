// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/quality/quality.h"

#include "tests/support/matchers.h"
#include "tests/vision/figures/drawn_leaf.h"
#include "vision/load/load.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

namespace edamori::vision {
namespace {

using test::failsWith;
using test::isOk;
using ::testing::Contains;
using ::testing::IsEmpty;
using ::testing::Not;

// Mean of (2 · radius + 1)² pixels, twice: nearly a Gaussian blur.
RgbImage blurred(RgbImage image, int radius) {
  for (int pass = 0; pass < 2; ++pass) {
    RgbImage soft(image.width(), image.height());
    for (int y = 0; y < image.height(); ++y) {
      for (int x = 0; x < image.width(); ++x) {
        for (int c = 0; c < 3; ++c) {
          int sum = 0;
          int count = 0;
          for (int dy = -radius; dy <= radius; ++dy) {
            for (int dx = -radius; dx <= radius; ++dx) {
              if (x + dx >= 0 && y + dy >= 0 && x + dx < image.width() && y + dy < image.height()) {
                sum += image.at(x + dx, y + dy, c);
                ++count;
              }
            }
          }
          soft.at(x, y, c) = static_cast<std::uint8_t>(sum / count);
        }
      }
    }
    image = std::move(soft);
  }
  return image;
}

RgbImage enlargedTwice(const RgbImage& image) {
  RgbImage large(2 * image.width(), 2 * image.height());
  for (int y = 0; y < large.height(); ++y) {
    for (int x = 0; x < large.width(); ++x) {
      for (int c = 0; c < 3; ++c) {
        large.at(x, y, c) = image.at(x / 2, y / 2, c);
      }
    }
  }
  return large;
}

// A field of leaves small and large, so that there are edges everywhere.
RgbImage detailed() {
  test::DrawnLeaf leaf;
  leaf.width = 400;
  leaf.height = 300;
  leaf.leaf = {200, 150, 180, 130, 0};
  for (int i = 0; i < 30; ++i) {
    leaf.spots.push_back({60.0 + 50 * (i % 6), 60.0 + 40 * (i / 6), 9, 6, 20.0 * i});
  }
  return test::draw(leaf);
}

std::vector<std::string> codesOf(const PhotoQuality& quality) {
  std::vector<std::string> codes;
  for (const Caution& caution : cautionsFor(quality)) {
    codes.push_back(caution.code);
  }
  return codes;
}

TEST(Sharpness, FallsWithBlur) {
  const RgbImage image = detailed();
  double before = 1.0;
  for (const int radius : {0, 1, 3, 6}) {
    const auto quality = assessQuality(radius == 0 ? image : blurred(image, radius), {});
    ASSERT_THAT(quality, isOk());
    EXPECT_LT(quality->sharpness, before) << radius;
    before = quality->sharpness;
  }
  EXPECT_LT(before, 0.2);
}

TEST(Sharpness, DoesNotDependOnPixelsBeyondTheWorkingSize) {
  RgbImage image(1600, 1200);
  const RgbImage tile = detailed();
  for (int y = 0; y < image.height(); ++y) {
    for (int x = 0; x < image.width(); ++x) {
      for (int c = 0; c < 3; ++c) {
        image.at(x, y, c) = tile.at(x % tile.width(), y % tile.height(), c);
      }
    }
  }
  const auto small = assessQuality(image, {});
  const auto large = assessQuality(enlargedTwice(image), {});
  ASSERT_THAT(small, isOk());
  ASSERT_THAT(large, isOk());
  EXPECT_NEAR(small->sharpness, large->sharpness, 0.01);
}

TEST(Sharpness, OfAPlainSurfaceIsZero) {
  const auto quality = assessQuality(RgbImage(100, 100, 120), {});
  ASSERT_THAT(quality, isOk());
  EXPECT_EQ(quality->sharpness, 0.0);
  EXPECT_THAT(codesOf(*quality), Contains("blur"));
}

TEST(Clipping, IsAShareOfTheRegion) {
  RgbImage image(200, 100, 128);
  for (int y = 0; y < 100; ++y) {
    for (int x = 0; x < 50; ++x) {
      image.at(x, y, 0) = 255;  // one channel is enough: the colour is lost
    }
    for (int x = 100; x < 120; ++x) {
      image.at(x, y, 0) = image.at(x, y, 1) = image.at(x, y, 2) = 1;
    }
  }
  const auto whole = assessQuality(image, {});
  ASSERT_THAT(whole, isOk());
  EXPECT_DOUBLE_EQ(whole->clippedBright, 0.25);
  EXPECT_DOUBLE_EQ(whole->clippedDark, 0.10);
  EXPECT_THAT(codesOf(*whole), Contains("clipped"));
  Mask left(200, 100, 0);
  for (int y = 0; y < 100; ++y) {
    for (int x = 0; x < 100; ++x) {
      left.at(x, y) = 255;
    }
  }
  const auto half = assessQuality(image, left);
  ASSERT_THAT(half, isOk());
  EXPECT_DOUBLE_EQ(half->clippedBright, 0.5);
  EXPECT_DOUBLE_EQ(half->clippedDark, 0.0);
}

TEST(Lightness, IsThatOfCielab) {
  const auto quality = assessQuality(RgbImage(50, 50, 119), {});
  ASSERT_THAT(quality, isOk());
  EXPECT_NEAR(quality->meanLightness, 50.034439, 0.002);  // computed from IEC 61966-2-1 and CIE 15
  EXPECT_NEAR(quality->castChroma, 0.0, 0.01);
}

TEST(ColourCast, IsReadFromNearGreys) {
  RgbImage image(60, 60);
  for (std::size_t i = 0; i < image.byteCount(); i += 3) {
    image.data()[i] = 150;
    image.data()[i + 1] = 135;
    image.data()[i + 2] = 110;  // a grey under warm lamp light
  }
  const auto quality = assessQuality(image, {});
  ASSERT_THAT(quality, isOk());
  EXPECT_NEAR(quality->castChroma, 15.6, 0.5);  // the chroma of that colour
  EXPECT_THAT(codesOf(*quality), Contains("colour-cast"));
}

TEST(Cautions, AreAbsentWhenAllIsWell) {
  EXPECT_THAT(cautionsFor({.sharpness = 0.5,
                           .clippedBright = 0.001,
                           .clippedDark = 0.001,
                           .meanLightness = 55,
                           .castChroma = 1.5}),
              IsEmpty());
}

TEST(Cautions, AreSentences) {
  const auto cautions = cautionsFor({.sharpness = 0.01,
                                     .clippedBright = 0.4,
                                     .clippedDark = 0.0,
                                     .meanLightness = 5,
                                     .castChroma = 30});
  EXPECT_EQ(cautions.size(), 4U);
  for (const Caution& caution : cautions) {
    EXPECT_THAT(caution.text, Not(IsEmpty()));
    EXPECT_EQ(caution.text.back(), '.');
  }
}

TEST(Quality, RefusesWhatCannotBeRead) {
  EXPECT_THAT(assessQuality(RgbImage{}, {}), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(assessQuality(RgbImage(10, 10, 9), Mask(9, 10, 255)),
              failsWith(ErrorCode::InvalidArgument));
}

TEST(Quality, OfAnEmptyRegionIsAllZero) {
  const auto quality = assessQuality(RgbImage(10, 10, 9), Mask(10, 10, 0));
  ASSERT_THAT(quality, isOk());
  EXPECT_EQ(quality->meanLightness, 0.0);
}

}  // namespace
}  // namespace edamori::vision
