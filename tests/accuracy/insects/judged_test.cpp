// SPDX-License-Identifier: GPL-3.0-or-later
// Counted by hand.
#include "judged.h"

#include <gmock/gmock.h>

namespace edamori::accuracy {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;

vision::InsectCandidate answer(double x, double y, double score) {
  return {.centrePx = {.x = x, .y = y}, .radiusPx = 5.0, .score = score};
}

TEST(Judged, TakesEachInsectOnceAndCallsTheSecondAnswerOnItFalse) {
  const auto result = judged({answer(101, 100, 0.9), answer(99, 100, 0.8), answer(300, 300, 0.7)},
                             {{.x = 100, .y = 100, .radiusPx = 6}});
  EXPECT_THAT(result.right, ElementsAre(0.9));
  EXPECT_THAT(result.falseOnes, ElementsAre(0.8, 0.7));
  EXPECT_EQ(result.mustFind, 1);
  EXPECT_FALSE(result.isBare);
}

TEST(Judged, CountsAnInsectThatIsHardlySeenNeitherWay) {
  const auto result = judged({answer(100, 100, 0.9)}, {{.x = 100, .y = 100, .radiusPx = 6, .visible = 0.2F}});
  EXPECT_EQ(result.mustFind, 0);
  EXPECT_THAT(result.right, IsEmpty());
  EXPECT_THAT(result.falseOnes, IsEmpty());
}

TEST(Judged, CallsAnAnswerBesideTheInsectFalse) {
  EXPECT_THAT(judged({answer(106.5, 100, 0.9)}, {{.x = 100, .y = 100, .radiusPx = 6}}).falseOnes, ElementsAre(0.9));
}

TEST(Totals, SumPhotosWithAndWithoutInsectsApart) {
  Judged full;
  full.right = {0.9, 0.6, 0.3};
  full.falseOnes = {0.8, 0.2};
  full.mustFind = 4;
  Judged bare;
  bare.isBare = true;
  bare.falseOnes = {0.7, 0.65, 0.1};
  const Totals totals = totalsAt({full, bare, bare}, 0.5);
  EXPECT_DOUBLE_EQ(totals.recall(), 0.5);         // 2 of 4
  EXPECT_DOUBLE_EQ(totals.falsePerTrue(), 0.5);   // 1 false, 2 true
  EXPECT_NEAR(totals.precision(), 2.0 / 3, 1e-12);
  EXPECT_DOUBLE_EQ(totals.falsePerBarePhoto(), 2.0);
}

TEST(Calibration, SortsAnswersByTenths) {
  Judged photo;
  photo.right = {0.95, 0.91, 1.0};
  photo.falseOnes = {0.92, 0.05};
  const auto bins = calibrationOf({photo});
  EXPECT_EQ(bins[9].answers, 4);
  EXPECT_EQ(bins[9].right, 3);
  EXPECT_EQ(bins[0].answers, 1);
  EXPECT_EQ(bins[0].right, 0);
}

}  // namespace
}  // namespace edamori::accuracy
