// SPDX-License-Identifier: GPL-3.0-or-later
// The network on photographs that nobody here made and that it was not trained on: those of the
// Debian package mate-backgrounds. What they show was read off by eye: no disease.
#include "vision/foliage/tissue.h"

#include "tests/support/matchers.h"
#include "vision/figures/measure.h"
#include "vision/load/load.h"

#include <filesystem>
#include <string>

#include <gtest/gtest.h>

namespace edamori::vision {
namespace {

using test::isOk;

const std::filesystem::path kNature = "/usr/share/backgrounds/mate/nature";

RgbImage striped(int width, int height) {
  RgbImage image(width, height);
  for (std::size_t i = 0; i < image.byteCount(); ++i) {
    image.data()[i] = static_cast<std::uint8_t>(40 + 60 * ((i / 60) % 3));
  }
  return image;
}

TEST(TissueOf, GivesProbabilitiesOfTheSizeOfThePicture) {
  const auto map = tissueOf(striped(131, 75));  // no multiple of the network's 64 px
  ASSERT_THAT(map, isOk());
  EXPECT_EQ(map->width, 131);
  EXPECT_EQ(map->height, 75);
  ASSERT_EQ(map->foliage.size(), 131U * 75U);
  ASSERT_EQ(map->spotted.size(), 131U * 75U);
  for (std::size_t i = 0; i < map->foliage.size(); ++i) {
    ASSERT_GE(map->spotted[i], 0.0F);
    ASSERT_LE(map->spotted[i], map->foliage[i]);
    ASSERT_LE(map->foliage[i], 1.0F + 1e-5F);
  }
  EXPECT_EQ(map->featureWidth, 66);
  EXPECT_EQ(map->featureHeight, 38);
  EXPECT_EQ(map->features.size(), 66U * 38U * kTissueFeatures);
}

TEST(TissueOf, SaysTheSameOfTheSamePicture) {
  const auto once = tissueOf(striped(128, 128));
  const auto again = tissueOf(striped(128, 128));
  ASSERT_THAT(once, isOk());
  ASSERT_THAT(again, isOk());
  EXPECT_EQ(once->foliage, again->foliage);
  EXPECT_EQ(once->features, again->features);
}

class HealthyPhotograph : public testing::TestWithParam<std::string> {};

TEST_P(HealthyPhotograph, HasNextToNoSpots) {
  const auto photo = loadPhoto(kNature / GetParam());
  ASSERT_THAT(photo, isOk()) << "install mate-backgrounds";
  const auto result = measure(photo->image, {.outline = {}, .subject = Subject::Leaf, .hints = {}});
  ASSERT_THAT(result, isOk());
  ASSERT_TRUE(result->spot.has_value());
  EXPECT_LT(result->spot->value, 0.01);  // the aim for sound foliage: below 1 % spotted
  EXPECT_GT(result->foliage.value, 0.5);
}

INSTANTIATE_TEST_SUITE_P(OfMate, HealthyPhotograph,
                         testing::Values("Blinds.jpg", "GreenMeadow.jpg", "RainDrops.jpg"),
                         [](const auto& named) {
                           return named.param.substr(0, named.param.find('.'));
                         });

TEST(Foliage, IsAllOfALeafThatFillsThePicture) {
  const auto photo = loadPhoto(kNature / "Blinds.jpg");
  ASSERT_THAT(photo, isOk()) << "install mate-backgrounds";
  const auto result = measure(photo->image, {.outline = {}, .subject = Subject::Leaf, .hints = {}});
  ASSERT_THAT(result, isOk());
  EXPECT_GT(result->foliage.value, 0.98);
}

}  // namespace
}  // namespace edamori::vision
