// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/hint_image.h"

#include <gmock/gmock.h>

namespace edamori::work {
namespace {

store::HintStroke stroke(store::HintKind kind, double radiusPx, Polygon points) {
  return {.id = {}, .photo = {}, .kind = kind, .radiusPx = radiusPx, .points = std::move(points)};
}

std::string drawn(const LabelImage& image) {
  std::string text;
  for (int y = 0; y < image.height(); ++y) {
    for (int x = 0; x < image.width(); ++x) {
      const auto value = static_cast<Hint>(image.at(x, y));
      text += value == Hint::None           ? '.'
              : value == Hint::SoundFoliage ? 'f'
              : value == Hint::Spot         ? 's'
                                            : 'n';
    }
    text += '\n';
  }
  return text;
}

TEST(HintImage, PaintsPixelsWhoseCentreIsWithinTheRadiusAndLaterStrokesOverEarlier) {
  const auto image =
      hintImage({stroke(store::HintKind::Foliage, 1.0, {{1.5, 1.5}, {5.5, 1.5}}),
                 stroke(store::HintKind::Spot, 0.6, {{3.5, 1.5}}),
                 stroke(store::HintKind::NotFoliage, 0.4, {{7.5, 0.5}, {7.5, 3.5}})},
                8,
                4);
  ASSERT_TRUE(image.has_value());
  EXPECT_EQ(drawn(*image),
            ".fffff.n\n"
            "fffsfffn\n"
            ".fffff.n\n"
            ".......n\n");
}

TEST(HintImage, StrokesBeyondTheEdgeAreCutAndNoneGivesNothing) {
  EXPECT_FALSE(hintImage({}, 8, 4).has_value());
  const auto image = hintImage({stroke(store::HintKind::Spot, 1.2, {{-5, -5}, {0.5, 0.5}})}, 3, 2);
  ASSERT_TRUE(image.has_value());
  EXPECT_EQ(drawn(*image), "ss.\ns..\n");
}

}  // namespace
}  // namespace edamori::work
