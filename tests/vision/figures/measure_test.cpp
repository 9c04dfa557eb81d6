// SPDX-License-Identifier: GPL-3.0-or-later
// Drawn leaves with areas from formulas (an ellipse has π · a · b); bounds as stated
// for the method: 2 percentage points for foliage and sound leaves, 3 for spots.
#include "vision/figures/measure.h"

#include "tests/support/matchers.h"
#include "tests/vision/figures/drawn_leaf.h"
#include "vision/load/load.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include <nlohmann/json.hpp>

namespace edamori::vision {
namespace {

using test::Colour;
using test::draw;
using test::DrawnLeaf;
using test::Ellipse;
using test::failsWith;
using test::isOk;
using ::testing::HasSubstr;

struct Scene {
  const char* name;
  Colour background;
  bool hasWoodGrain;
};

void PrintTo(const Scene& scene, std::ostream* out) { *out << scene.name; }

const Scene kWhite{"white", {250, 250, 248}, false};
const Scene kGrey{"grey", {128, 128, 128}, false};
const Scene kWood{"wood", {176, 136, 92}, true};

std::vector<Ellipse> someSpots(double size) {
  return {{250, 260, size, size, 0},
          {330, 340, 1.6 * size, 0.7 * size, 40},
          {420, 240, 1.2 * size, size, 10},
          {480, 350, size, 1.5 * size, 70},
          {560, 300, 0.8 * size, 0.8 * size, 0}};
}

double spotOf(const MeasureResult& result) { return result.spot ? result.spot->value : -1.0; }

class OnBackground : public ::testing::TestWithParam<Scene> {
 protected:
  [[nodiscard]] static DrawnLeaf leaf() {
    DrawnLeaf drawn;
    drawn.background = GetParam().background;
    drawn.hasWoodGrain = GetParam().hasWoodGrain;
    return drawn;
  }
};

TEST_P(OnBackground, TheFoliageShareIsThatOfTheLeaf) {
  const DrawnLeaf drawn = leaf();
  const auto result = measure(draw(drawn), {});
  ASSERT_THAT(result, isOk());
  EXPECT_NEAR(result->foliage.value, leafShareOf(drawn), 0.02);
}

TEST_P(OnBackground, ASoundLeafIsNotSpotted) {
  const auto result = measure(draw(leaf()), {});
  ASSERT_THAT(result, isOk());
  ASSERT_TRUE(result->spot);
  EXPECT_LT(result->spot->value, 0.02);
  EXPECT_EQ(result->spot->low, 0.0);
}

TEST_P(OnBackground, ARedLeafIsFoliageAndNotSpotted) {
  DrawnLeaf drawn = leaf();
  drawn.leafColour = {142, 34, 42};
  const auto result = measure(draw(drawn), {});
  ASSERT_THAT(result, isOk());
  EXPECT_NEAR(result->foliage.value, leafShareOf(drawn), 0.02);
  EXPECT_LT(spotOf(*result), 0.02);
}

TEST_P(OnBackground, SpotsAreMeasured) {
  for (const double size : {8.0, 16.0, 28.0}) {
    DrawnLeaf drawn = leaf();
    drawn.spots = someSpots(size);
    const auto result = measure(draw(drawn), {});
    ASSERT_THAT(result, isOk());
    EXPECT_NEAR(spotOf(*result), spotShareOf(drawn), 0.03) << "size " << size;
    EXPECT_LE(result->spot->low, spotShareOf(drawn)) << "size " << size;
    EXPECT_GE(result->spot->high, spotShareOf(drawn)) << "size " << size;
    EXPECT_NEAR(result->foliage.value, leafShareOf(drawn), 0.02) << "size " << size;
  }
}

INSTANTIATE_TEST_SUITE_P(Scenes,
                         OnBackground,
                         ::testing::Values(kWhite, kGrey, kWood),
                         [](const auto& scene) { return std::string(scene.param.name); });

struct Paint {
  const char* name;
  Colour colour;
};

void PrintTo(const Paint& paint, std::ostream* out) { *out << paint.name; }

class SpotColour : public ::testing::TestWithParam<Paint> {};

TEST_P(SpotColour, IsSeenOnAGreenLeaf) {
  DrawnLeaf drawn;
  drawn.spotColour = GetParam().colour;
  drawn.spots = someSpots(20);
  const auto result = measure(draw(drawn), {});
  ASSERT_THAT(result, isOk());
  EXPECT_NEAR(spotOf(*result), spotShareOf(drawn), 0.03);
}

INSTANTIATE_TEST_SUITE_P(Colours,
                         SpotColour,
                         ::testing::Values(Paint{"brown", {122, 82, 36}},
                                           Paint{"dark_brown", {62, 42, 28}},
                                           Paint{"black", {28, 27, 26}},
                                           Paint{"yellow", {196, 178, 60}},
                                           Paint{"tan", {190, 160, 110}},
                                           Paint{"purple", {96, 50, 78}},
                                           Paint{"grey", {150, 148, 140}}),
                         [](const auto& paint) { return std::string(paint.param.name); });

TEST(Measure, KeepsBrownSpotsOnARedLeafApart) {
  DrawnLeaf drawn;
  drawn.leafColour = {142, 34, 42};
  drawn.spotColour = {112, 86, 52};
  drawn.spots = someSpots(20);
  const auto result = measure(draw(drawn), {});
  ASSERT_THAT(result, isOk());
  EXPECT_NEAR(spotOf(*result), spotShareOf(drawn), 0.03);
}

TEST(Measure, TakesShadeForNoSpot) {
  RgbImage image = draw(DrawnLeaf{});
  // A hard shadow: 45 % of the linear light, hence 0.45^(1/2.4) ≈ 0.70 of the sRGB value.
  for (int y = 180; y < 420; ++y) {
    for (int x = 260; x < 340; ++x) {
      for (int c = 0; c < 3; ++c) {
        image.at(x, y, c) = static_cast<std::uint8_t>(image.at(x, y, c) * 0.70);
      }
    }
  }
  const auto result = measure(image, {});
  ASSERT_THAT(result, isOk());
  EXPECT_LT(spotOf(*result), 0.02);
}

// ---- The outline ----------------------------------------------------------------

Outline box(double left, double top, double right, double bottom) {
  return {.polygon = {{left, top}, {right, top}, {right, bottom}, {left, bottom}}, .holes = {}};
}

TEST(Measure, CountsOnlyInsideTheOutline) {
  DrawnLeaf drawn;
  drawn.spots = {{250, 300, 30, 30, 0}};  // left half only
  const RgbImage image = draw(drawn);
  const auto right = measure(image, {.outline = box(400, 150, 650, 450), .hints = {}});
  ASSERT_THAT(right, isOk());
  EXPECT_LT(spotOf(*right), 0.005);
  EXPECT_EQ(right->outlinePx, 250 * 300);
  for (int y = 0; y < image.height(); ++y) {
    for (int x = 0; x < 400; ++x) {
      ASSERT_EQ(right->labels.at(x, y), 0);
    }
  }
}

bool isCut(const MeasureResult& result) {
  return std::any_of(result.cautions.begin(), result.cautions.end(),
                     [](const Caution& caution) { return caution.code == "outline-cut"; });
}

TEST(Measure, SaysHowMuchOfTheOutlineLiesBeyondThePhoto) {
  const RgbImage image = draw(DrawnLeaf{});
  const auto measured = [&image](const Outline& outline) { return measure(image, {.outline = outline, .hints = {}}); };
  const auto cut = measured(box(-100, 150, 300, 450));
  ASSERT_THAT(cut, isOk());
  EXPECT_EQ(cut->outlinePx, 300 * 300);
  const auto caution = std::find_if(cut->cautions.begin(), cut->cautions.end(),
                                    [](const Caution& each) { return each.code == "outline-cut"; });
  ASSERT_NE(caution, cut->cautions.end());
  EXPECT_THAT(caution->text, HasSubstr("25 % of the outline"));
  // A hole is no part of the outline, a hair's breadth over the border no matter.
  Outline holed = box(0, 150, 300, 450);
  holed.holes = {box(50, 200, 250, 400).polygon};
  for (const Outline& whole : {box(0, 150, 300, 450), box(-0.5, 150, 300, 450), holed}) {
    const auto result = measured(whole);
    ASSERT_THAT(result, isOk());
    EXPECT_FALSE(isCut(*result));
  }
}

TEST(Measure, FindsNoMoreInAPartThanInTheWhole) {
  DrawnLeaf drawn;
  drawn.spots = someSpots(20);
  const RgbImage image = draw(drawn);
  const auto count = [](const LabelImage& labels, Label label) {
    return static_cast<double>(std::count(labels.data(), labels.data() + labels.byteCount(),
                                          static_cast<std::uint8_t>(label)));
  };
  const auto whole = measure(image, {});
  const auto part = measure(image, {.outline = box(200, 150, 500, 450), .hints = {}});
  ASSERT_THAT(whole, isOk());
  ASSERT_THAT(part, isOk());
  // The part is judged by its own surroundings: 2 % of its pixels may turn at edges.
  EXPECT_LE(count(part->labels, Label::Spotted), count(whole->labels, Label::Spotted) * 1.02 + 50);
  EXPECT_LE(count(part->labels, Label::SoundFoliage), count(whole->labels, Label::SoundFoliage) * 1.02);
}

TEST(Measure, CountsWhatItsLabelsShow) {
  DrawnLeaf drawn;
  drawn.spots = someSpots(20);
  const auto result = measure(draw(drawn), {.outline = box(100, 100, 700, 500), .hints = {}});
  ASSERT_THAT(result, isOk());
  std::int64_t foliage = 0;
  std::int64_t spotted = 0;
  for (std::size_t i = 0; i < result->labels.byteCount(); ++i) {
    foliage += result->labels.data()[i] >= 128 ? 1 : 0;
    spotted += result->labels.data()[i] == 255 ? 1 : 0;
  }
  EXPECT_DOUBLE_EQ(result->foliage.value,
                   static_cast<double>(foliage) / static_cast<double>(result->outlinePx));
  EXPECT_DOUBLE_EQ(spotOf(*result), static_cast<double>(spotted) / static_cast<double>(foliage));
}

TEST(Measure, RefusesOutlinesThatHoldTooLittle) {
  const RgbImage image = draw(DrawnLeaf{});
  const auto small = measure(image, {.outline = box(300, 300, 349, 350), .hints = {}});
  EXPECT_THAT(small, failsWith(ErrorCode::NotMeasurable));
  EXPECT_THAT(small.error().message, HasSubstr("2450 pixels"));
  EXPECT_THAT(measure(image, {.outline = box(300, 300, 350, 350), .hints = {}}), isOk());
  EXPECT_THAT(measure(image, {.outline = box(2000, 2000, 2400, 2400), .hints = {}}),
              failsWith(ErrorCode::NotMeasurable));
  EXPECT_THAT(measure(image, {.outline = Outline{.polygon = {{1, 1}, {2, 2}}, .holes = {}}, .hints = {}}),
              failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(measure(RgbImage{}, {}), failsWith(ErrorCode::InvalidArgument));
}

TEST(Measure, RefusesAPhotoClippedBeyondUse) {
  EXPECT_THAT(measure(RgbImage(200, 200, 255), {}), failsWith(ErrorCode::NotMeasurable));
  EXPECT_THAT(measure(RgbImage(200, 200, 0), {}), failsWith(ErrorCode::NotMeasurable));
}

TEST(Measure, RefusesAPhotoBlurredBeyondUse) {
  RgbImage image(400, 400);
  for (int y = 0; y < 400; ++y) {
    for (int x = 0; x < 400; ++x) {
      // Waves of 100 px: what is left of leaves after a very strong blur.
      const double wave = std::sin(x * 0.0628) * std::sin(y * 0.0628);
      image.at(x, y, 0) = static_cast<std::uint8_t>(90 + 60 * wave);
      image.at(x, y, 1) = static_cast<std::uint8_t>(120 + 80 * wave);
      image.at(x, y, 2) = 60;
    }
  }
  const auto result = measure(image, {});
  EXPECT_THAT(result, failsWith(ErrorCode::NotMeasurable));
  EXPECT_THAT(result.error().message, HasSubstr("blurred"));
}

TEST(Measure, GivesNoSpotFractionWithoutFoliage) {
  DrawnLeaf drawn;
  drawn.leafColour = {90, 90, 92};  // a bare board
  drawn.background = {90, 90, 92};
  const auto result = measure(draw(drawn), {});
  ASSERT_THAT(result, isOk());
  EXPECT_LT(result->foliage.value, 0.005);
  EXPECT_FALSE(result->spot);
  EXPECT_TRUE(std::any_of(result->cautions.begin(), result->cautions.end(),
                          [](const Caution& c) { return c.code == "no-foliage"; }));
}

// ---- What must not change the figures -------------------------------------------

RgbImage mirrored(const RgbImage& image) { return uprighted(image, 2); }
RgbImage turned(const RgbImage& image) { return uprighted(image, 6); }
RgbImage halved(const RgbImage& image) { return reducedToFit(image, image.width() / 2); }

TEST(Measure, HardlyChangesWhenThePhotoIsTurnedMirroredOrHalved) {
  DrawnLeaf drawn;
  drawn.spots = someSpots(22);
  const RgbImage image = draw(drawn);
  const auto first = measure(image, {});
  ASSERT_THAT(first, isOk());
  for (const auto change : {mirrored, turned, halved}) {
    const auto again = measure(change(image), {});
    ASSERT_THAT(again, isOk());
    EXPECT_GE(again->foliage.value, first->foliage.low);
    EXPECT_LE(again->foliage.value, first->foliage.high);
    EXPECT_GE(spotOf(*again), first->spot->low);
    EXPECT_LE(spotOf(*again), first->spot->high);
  }
}

TEST(Measure, RepeatsBitForBit) {
  DrawnLeaf drawn;
  drawn.spots = someSpots(15);
  const RgbImage image = draw(drawn);
  const auto once = measure(image, {});
  const auto twice = measure(image, {});
  ASSERT_THAT(once, isOk());
  ASSERT_THAT(twice, isOk());
  EXPECT_EQ(once->foliage, twice->foliage);
  EXPECT_EQ(once->spot, twice->spot);
  EXPECT_EQ(once->labels, twice->labels);
  EXPECT_EQ(once->method, twice->method);
}

TEST(Measure, KeepsItsIntervalsInOrder) {
  for (const double size : {0.5, 5.0, 25.0}) {
    DrawnLeaf drawn;
    drawn.spots = someSpots(size);
    const auto result = measure(draw(drawn), {});
    ASSERT_THAT(result, isOk());
    for (const Estimate& estimate : {result->foliage, *result->spot}) {
      EXPECT_LE(0.0, estimate.low);
      EXPECT_LE(estimate.low, estimate.value);
      EXPECT_LE(estimate.value, estimate.high);
      EXPECT_LE(estimate.high, 1.0);
    }
  }
}

TEST(Measure, TellsHowItWasMade) {
  const auto result = measure(draw(DrawnLeaf{}), {.outline = {}, .subject = Subject::Needles, .hints = {}});
  ASSERT_THAT(result, isOk());
  EXPECT_EQ(result->method.name, "foliage-and-spots");
  EXPECT_EQ(result->method.version, kMeasureVersion);
  const auto parameters = nlohmann::json::parse(result->method.parameters);
  EXPECT_EQ(parameters.at("subject"), "needles");
  EXPECT_TRUE(parameters.contains("network"));
  EXPECT_TRUE(parameters.contains("interval"));
}

// ---- Hints ------------------------------------------------------------------------

void paint(LabelImage& hints, const Ellipse& where, Hint hint) {
  for (int y = 0; y < hints.height(); ++y) {
    for (int x = 0; x < hints.width(); ++x) {
      if (std::hypot((x + 0.5 - where.x) / where.halfWidth, (y + 0.5 - where.y) / where.halfHeight) < 1) {
        hints.at(x, y) = static_cast<std::uint8_t>(hint);
      }
    }
  }
}

TEST(Hints, CountAsPainted) {
  const RgbImage image = draw(DrawnLeaf{});
  LabelImage hints(image.width(), image.height(), 0);
  paint(hints, {400, 300, 40, 40, 0}, Hint::Spot);
  paint(hints, {550, 300, 20, 20, 0}, Hint::NotFoliage);
  const auto result = measure(image, {.outline = {}, .subject = Subject::Leaf, .hints = hints});
  ASSERT_THAT(result, isOk());
  EXPECT_EQ(result->labels.at(400, 300), static_cast<int>(Label::Spotted));
  EXPECT_EQ(result->labels.at(425, 320), static_cast<int>(Label::Spotted));
  EXPECT_EQ(result->labels.at(550, 300), static_cast<int>(Label::NotFoliage));
}

TEST(Hints, TeachTheModelTheColourOfThePhoto) {
  // Blue-violet leaves are no foliage by colour, until one stroke says so.
  DrawnLeaf drawn;
  drawn.leafColour = {84, 74, 130};
  const RgbImage image = draw(drawn);
  const auto before = measure(image, {});
  ASSERT_THAT(before, isOk());
  EXPECT_LT(before->foliage.value, 0.05);
  LabelImage hints(image.width(), image.height(), 0);
  paint(hints, {400, 300, 200, 30, 0}, Hint::SoundFoliage);
  const auto after = measure(image, {.outline = {}, .subject = Subject::Leaf, .hints = hints});
  ASSERT_THAT(after, isOk());
  EXPECT_NEAR(after->foliage.value, leafShareOf(drawn), 0.05);
}

TEST(Hints, OfSoundTissueTakeBackSpotsOfThatColour) {
  DrawnLeaf drawn;
  drawn.spotColour = {118, 138, 58};  // paler, as young tissue is
  drawn.spots = someSpots(20);
  const RgbImage image = draw(drawn);
  LabelImage hints(image.width(), image.height(), 0);
  paint(hints, {250, 260, 15, 15, 0}, Hint::SoundFoliage);
  paint(hints, {420, 240, 15, 15, 0}, Hint::SoundFoliage);
  const auto before = measure(image, {});
  const auto after = measure(image, {.outline = {}, .subject = Subject::Leaf, .hints = hints});
  ASSERT_THAT(before, isOk());
  ASSERT_THAT(after, isOk());
  EXPECT_LT(spotOf(*after), 0.25 * spotShareOf(drawn));
  EXPECT_LT(spotOf(*after), spotOf(*before));
}

// Figures are kept by measure() and shown while painting by a reading: they must not differ.
TEST(OutlineReading, GivesWhatMeasureGivesStrokeAfterStroke) {
  DrawnLeaf drawn;
  drawn.spots = someSpots(15);
  const RgbImage image = draw(drawn);
  const Outline outline{.polygon = {{150, 120}, {640, 130}, {660, 480}, {140, 470}}, .holes = {}};
  const auto reading = OutlineReading::create(image, outline);
  ASSERT_THAT(reading, isOk());
  LabelImage hints(image.width(), image.height(), 0);
  for (const Ellipse& stroke : {Ellipse{400, 300, 60, 9, 0}, Ellipse{200, 200, 9, 40, 0}}) {
    paint(hints, stroke, stroke.x > 300 ? Hint::SoundFoliage : Hint::NotFoliage);
    const auto live = reading->judged({.subject = Subject::Needles, .hints = &hints, .learned = {}});
    const auto kept = measure(
        image, {.outline = outline, .subject = Subject::Needles, .hints = hints, .learned = {}});
    ASSERT_THAT(live, isOk());
    ASSERT_THAT(kept, isOk());
    EXPECT_EQ(live->foliage, kept->foliage);
    EXPECT_EQ(live->spot, kept->spot);
    EXPECT_EQ(live->labels, kept->labels);
    EXPECT_EQ(live->cautions, kept->cautions);
    EXPECT_EQ(live->learned, kept->learned);
    EXPECT_EQ(live->method, kept->method);
  }
}

TEST(OutlineReading, RefusesHintsOfAnotherSizeAndCanGoOn) {
  const auto reading = OutlineReading::create(draw(DrawnLeaf{}), {});
  ASSERT_THAT(reading, isOk());
  const LabelImage small(10, 10, 0);
  EXPECT_THAT(reading->judged({.subject = Subject::Leaf, .hints = &small, .learned = {}}),
              failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(reading->judged({}), isOk());
}

TEST(Hints, MustHaveThePhotosSize) {
  const auto result = measure(draw(DrawnLeaf{}),
                              {.outline = {}, .subject = Subject::Leaf, .hints = LabelImage(10, 10, 0)});
  EXPECT_THAT(result, failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(result.error().message, HasSubstr("800 × 600"));
}

}  // namespace
}  // namespace edamori::vision
