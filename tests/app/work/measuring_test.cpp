// SPDX-License-Identifier: GPL-3.0-or-later
// Outlines that were carried over and that nobody has confirmed.
#include "tests/app/work/leafy_garden.h"

#include <algorithm>

namespace edamori::work {
namespace {

using test::failsWith;
using test::isOk;

// The garden's first outline as if it had come from the second photo.
class CarriedOver : public ::testing::Test {
 protected:
  void carry(std::optional<double> residualPx) {
    auto outline = leafy.garden.find(leafy.first);
    ASSERT_THAT(outline, isOk());
    (*outline)->carriedFrom = leafy.garden.find(leafy.second).value()->photo;
    (*outline)->residualPx = residualPx;
    (*outline)->confirmed = false;
    ASSERT_THAT(leafy.garden.put(**outline), isOk());
  }
  static bool hasCaution(const std::vector<store::Measurement>& made) {
    return std::ranges::all_of(made, [](const store::Measurement& one) {
      return std::ranges::find(one.cautions, "outline-unconfirmed", &Caution::code) != one.cautions.end();
    });
  }
  test::TemporaryFolder folder;
  test::LeafyGarden leafy{folder};
};

TEST_F(CarriedOver, GivesNoFigureWhereItIsOnlyTheLikeliestPlace) {
  carry({});
  const auto made = measureOutline(leafy.garden, leafy.first);
  ASSERT_THAT(made, failsWith(ErrorCode::NotMeasurable));
  EXPECT_THAT(made.error().message, ::testing::HasSubstr("confirm it"));
  EXPECT_TRUE(leafy.garden.measurements(leafy.garden.find(leafy.first).value()->photo).value().empty());
}

TEST_F(CarriedOver, GivesFiguresWithACautionUntilItIsConfirmed) {
  carry(4.0);
  const auto made = measureOutline(leafy.garden, leafy.first, leafy.threeStrokes());
  ASSERT_THAT(made, isOk());
  EXPECT_TRUE(hasCaution(*made));
  auto outline = leafy.garden.find(leafy.first).value();
  outline->confirmed = true;
  ASSERT_THAT(leafy.garden.put(*outline), isOk());
  const auto again = measureOutline(leafy.garden, leafy.first, leafy.threeStrokes());
  ASSERT_THAT(again, isOk());
  EXPECT_FALSE(hasCaution(*again));
  ASSERT_EQ(made->size(), again->size());
  EXPECT_EQ(made->front().estimate.value, again->front().estimate.value);
}

// A wrong "clear loss" by places that were taken back must not stay the latest word.
TEST(ComparePhotos, TakesBackWhatItDoesNotStateAnyMore) {
  const test::TemporaryFolder folder;
  test::LeafyGarden leafy(folder);
  const store::PhotoId before = leafy.garden.find(leafy.first).value()->photo;
  const store::PhotoId after = leafy.garden.find(leafy.second).value()->photo;
  const auto old = [&](const char* figure, const store::PhotoId& baseline) {
    store::Measurement change;
    change.id = store::MeasurementId::create();
    change.photo = after;
    change.branch = leafy.branch;
    change.baselinePhoto = baseline;
    change.figure = figure;
    change.estimate = {0.8, 0.7, 0.9};
    change.unit = "1";
    change.method = {.name = "foliage-and-spots", .version = 1, .parameters = "{}"};
    change.madeAt = store::now();
    EXPECT_THAT(leafy.garden.put(change), isOk());
    return change.id;
  };
  const auto loss = old("loss-by-light", before);
  const auto compared = comparePhotos(leafy.garden, leafy.branch, before, after);
  ASSERT_THAT(compared, isOk());
  ASSERT_EQ(std::ranges::find(compared->measurements, "loss-by-light", &store::Measurement::figure),
            compared->measurements.end())
      << "these leaves are none to compare";
  const auto left = leafy.garden.measurements(after);
  ASSERT_THAT(left, isOk());
  EXPECT_EQ(std::ranges::find(*left, loss, &store::Measurement::id), left->end());
}

}  // namespace
}  // namespace edamori::work
