// SPDX-License-Identifier: GPL-3.0-or-later
// Insects drawn from closed forms: a dome x² + y² + z² = r² in the light of one far lamp, so that
// their places and sizes are exact.
#include "vision/insects/scale_insects.h"

#include "tests/support/matchers.h"

#include <gmock/gmock.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

namespace edamori::vision {
namespace {

using test::failsWith;
using test::isOk;
using ::testing::IsEmpty;
using ::testing::SizeIs;

std::uint8_t level(double value) {
  return static_cast<std::uint8_t>(std::clamp(std::lround(value), 0L, 255L));
}

enum class Ground { Flat, Shaded };

// Grey-brown bark with fine grain (a fixed seed); shaded: darkening to the right by a cosine.
RgbImage bark(int width, int height, Ground ground = Ground::Flat) {
  RgbImage image(width, height);
  std::mt19937 random(7);
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      const double grain = static_cast<double>(random() % 1000) / 1000.0 * 16 - 8;
      const double light = ground == Ground::Flat ? 1.0 : 0.35 + 0.65 * std::cos(0.5 * std::numbers::pi * x / width);
      image.at(x, y, 0) = level(light * (150 + grain));
      image.at(x, y, 1) = level(light * (134 + grain));
      image.at(x, y, 2) = level(light * (116 + grain));
    }
  }
  return image;
}

// A glossy dome of dark red-brown; Lambert's cosine law and one highlight, lamp to the upper left.
void drawDome(RgbImage& image, double cx, double cy, double radius) {
  constexpr double kLampX = -0.45, kLampY = -0.45, kLampZ = 0.77;
  for (int y = static_cast<int>(cy - radius - 2); y <= static_cast<int>(cy + radius + 2); ++y) {
    for (int x = static_cast<int>(cx - radius - 2); x <= static_cast<int>(cx + radius + 2); ++x) {
      const double dx = x + 0.5 - cx, dy = y + 0.5 - cy;
      const double away = std::hypot(dx, dy);
      const double cover = std::clamp(radius - away + 0.5, 0.0, 1.0);
      if (cover == 0.0 || x < 0 || y < 0 || x >= image.width() || y >= image.height()) {
        continue;
      }
      const double nx = dx / radius, ny = dy / radius;
      const double nz = std::sqrt(std::max(0.0, 1 - nx * nx - ny * ny));
      const double facing = std::max(0.0, nx * kLampX + ny * kLampY + nz * kLampZ);
      const double shine = 150 * std::pow(std::max(0.0, 2 * nz * facing - kLampZ), 20);
      const double albedo[] = {112, 52, 36};
      for (int channel = 0; channel < 3; ++channel) {
        const double lit = albedo[channel] * (0.35 + 0.75 * facing) + shine;
        image.at(x, y, channel) = level((1 - cover) * image.at(x, y, channel) + cover * lit);
      }
    }
  }
}

Outline box(double left, double top, double right, double bottom) {
  return {.polygon = {{left, top}, {right, top}, {right, bottom}, {left, bottom}}, .holes = {}};
}

struct Dome {
  double x, y, radius;
};

class OnGround : public ::testing::TestWithParam<Ground> {};

TEST_P(OnGround, DomesAreFoundWhereTheyAreAndAsLargeAsTheyAre) {
  RgbImage image = bark(640, 480, GetParam());
  const std::vector<Dome> domes = {{100.5, 90.25, 6}, {260, 120.75, 9}, {400.5, 300, 14}, {180, 330, 22}};
  for (const Dome& dome : domes) {
    drawDome(image, dome.x, dome.y, dome.radius);
  }
  const auto found = findScaleInsects(image, {.outlines = {}, .sizes = {}, .leastScore = 0.5, .goOn = {}});
  ASSERT_THAT(found, isOk());
  for (const Dome& dome : domes) {
    const auto nearest = std::ranges::min_element(*found, {}, [&dome](const InsectCandidate& candidate) {
      return std::hypot(candidate.centrePx.x - dome.x, candidate.centrePx.y - dome.y);
    });
    ASSERT_NE(nearest, found->end());
    EXPECT_LE(std::hypot(nearest->centrePx.x - dome.x, nearest->centrePx.y - dome.y), 0.35 * dome.radius) << dome.radius;
    EXPECT_NEAR(std::log2(nearest->radiusPx / dome.radius), 0, 0.45) << dome.radius;
    EXPECT_GT(nearest->score, 0.5);
    EXPECT_LE(nearest->score, 1.0);
  }
  EXPECT_LE(found->size(), domes.size() + 1);
}

INSTANTIATE_TEST_SUITE_P(Grounds, OnGround, ::testing::Values(Ground::Flat, Ground::Shaded));

TEST(ScaleInsects, NothingIsFoundWhereNothingIs) {
  EXPECT_THAT(*findScaleInsects(RgbImage(500, 400, 120)), IsEmpty());
  EXPECT_THAT(*findScaleInsects(bark(640, 480), {.outlines = {}, .sizes = {}, .leastScore = 0.5, .goOn = {}}), IsEmpty());
  EXPECT_THAT(findScaleInsects(RgbImage(1, 1, 0)), isOk());
}

TEST(ScaleInsects, TheSamePhotoGivesTheSameCandidatesBestFirstAndApart) {
  RgbImage image = bark(700, 560);
  for (int k = 0; k < 12; ++k) {
    drawDome(image, 60 + 52 * k, 80 + 35 * k, 5 + k);
  }
  const auto first = findScaleInsects(image);
  ASSERT_THAT(first, isOk());
  EXPECT_EQ(*first, *findScaleInsects(image));
  EXPECT_TRUE(std::ranges::is_sorted(*first, std::ranges::greater{}, &InsectCandidate::score));
  for (std::size_t a = 0; a < first->size(); ++a) {
    for (std::size_t b = 0; b < a; ++b) {
      const auto &one = (*first)[a], &other = (*first)[b];
      EXPECT_GE(std::hypot(one.centrePx.x - other.centrePx.x, one.centrePx.y - other.centrePx.y),
                0.75 * std::max(one.radiusPx, other.radiusPx));
    }
  }
}

TEST(ScaleInsects, OnAnEdgeBetweenTilesOneInsectIsOneCandidate) {
  RgbImage image = bark(1100, 300);
  drawDome(image, 512, 150, 7);  // tiles are 512 px wide
  drawDome(image, 1024, 100, 7);
  const auto found = findScaleInsects(image, {.outlines = {}, .sizes = {}, .leastScore = 0.5, .goOn = {}});
  ASSERT_THAT(found, isOk());
  EXPECT_THAT(*found, SizeIs(2));
}

TEST(ScaleInsects, OnlyWhatLiesWithinAnOutlineIsOffered) {
  RgbImage image = bark(640, 480);
  drawDome(image, 100, 100, 9);
  drawDome(image, 400, 300, 9);
  InsectSearch search{.outlines = {box(350, 250, 450, 350)}, .sizes = {}, .leastScore = 0.5, .goOn = {}};
  auto found = findScaleInsects(image, search);
  ASSERT_THAT(found, isOk());
  ASSERT_THAT(*found, SizeIs(1));
  EXPECT_NEAR((*found)[0].centrePx.x, 400, 4);
  search.outlines[0].holes = {box(380, 280, 420, 320).polygon};
  EXPECT_THAT(*findScaleInsects(image, search), IsEmpty());
  search.outlines = {box(5000, 5000, 5100, 5100)};
  EXPECT_THAT(findScaleInsects(image, search), failsWith(ErrorCode::NotMeasurable));
}

// A photo of twice the side shows the same insect twice as large.
TEST(ScaleInsects, OnLargePhotosLargerInsectsAreLookedFor) {
  EXPECT_EQ(usualInsectSizes(4000, 3000), (InsectSizes{4, 32}));
  const auto large = usualInsectSizes(8000, 6000);
  EXPECT_NEAR(large.smallestRadiusPx, 8, 1e-9);
  EXPECT_NEAR(large.largestRadiusPx, 64, 1e-9);
}

TEST(ScaleInsects, AKnownScaleGivesTheSizes) {
  const auto sizes = insectSizesAt(0.05);  // 20 px a mm: 1…6 mm across are 10…60 px of radius
  ASSERT_THAT(sizes, isOk());
  EXPECT_NEAR(sizes->smallestRadiusPx, 10, 1e-9);
  EXPECT_NEAR(sizes->largestRadiusPx, 60, 1e-9);
  EXPECT_NEAR(insectSizesAt(0.25)->smallestRadiusPx, 4, 1e-9) << "below that nothing can be told";
  EXPECT_THAT(insectSizesAt(1.0), failsWith(ErrorCode::NotMeasurable));
  EXPECT_THAT(insectSizesAt(0.0), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(insectSizesAt(std::nan("")), failsWith(ErrorCode::InvalidArgument));
}

TEST(ScaleInsects, RefuseWhatCannotBeAsked) {
  EXPECT_THAT(findScaleInsects(RgbImage()), failsWith(ErrorCode::InvalidArgument));
  const RgbImage image(40, 40, 90);
  EXPECT_THAT(findScaleInsects(image, {.outlines = {}, .sizes = {}, .leastScore = 1.5, .goOn = {}}),
              failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(findScaleInsects(image, {.outlines = {}, .sizes = InsectSizes{1, 8}, .leastScore = 0.1, .goOn = {}}),
              failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(findScaleInsects(image, {.outlines = {{{{1, 1}, {2, 2}}, {}}}, .sizes = {}, .leastScore = 0.1, .goOn = {}}),
              failsWith(ErrorCode::InvalidArgument));
}

TEST(ScaleInsects, StopWhenAsked) {
  int asked = 0;
  const auto result = findScaleInsects(bark(1200, 300), {.outlines = {}, .sizes = {}, .leastScore = 0.1, .goOn = [&asked](double share) {
                                         EXPECT_GE(share, 0);
                                         EXPECT_LT(share, 1);
                                         return ++asked < 3;
                                       }});
  EXPECT_THAT(result, failsWith(ErrorCode::Cancelled));
  EXPECT_EQ(asked, 3);
}

}  // namespace
}  // namespace edamori::vision
