// SPDX-License-Identifier: GPL-3.0-or-later
// Drawn leaves with areas from formulas: what strokes on one photo teach must bring the figure of
// the tree's next photo nearer to the exact share, and forgetting must bring it back.
#include "app/work/learning.h"

#include "tests/app/work/leafy_garden.h"
#include "vision/foliage/tissue.h"

#include <cmath>

namespace edamori::test {
namespace {

using ::testing::IsEmpty;
using ::testing::SizeIs;

class Learning : public ::testing::Test {
 protected:
  double missOf(const store::Measurement& foliage) const {
    return std::abs(foliage.estimate.value - leafShareOf(leafy.drawnSecond));
  }

  store::Measurement foliageOf(const store::OutlineId& outline,
                               const std::optional<LabelImage>& hints = {}) {
    const auto made = work::measureOutline(leafy.garden, outline, hints);
    EXPECT_THAT(made, isOk());
    return made ? made->front() : store::Measurement{};
  }

  TemporaryFolder folder;
  LeafyGarden leafy{folder};
};

TEST_F(Learning, ThreeStrokesOnOnePhotoBringTheNextPhotosFigureNearerToTheTruth) {
  const store::Measurement before = foliageOf(leafy.second);
  EXPECT_EQ(work::taughtWords(before.method), "");
  (void)foliageOf(leafy.first, leafy.threeStrokes());
  const store::Measurement after = foliageOf(leafy.second);
  EXPECT_LT(missOf(after), 0.5 * missOf(before)) << before.estimate.value << " → " << after.estimate.value;
  EXPECT_GT(after.estimate.value, before.estimate.value);
  EXPECT_EQ(work::taughtWords(after.method), "with what 1 earlier photo taught");
  EXPECT_THAT(work::photosThatTaught(leafy.garden, leafy.tree), isOkAnd(1));
}

TEST_F(Learning, ForgettingRestoresTheFirstFigureAndRememberingTheSecondToTheLastBit) {
  const store::Measurement before = foliageOf(leafy.second);
  (void)foliageOf(leafy.first, leafy.threeStrokes());
  const store::Measurement after = foliageOf(leafy.second);
  ASSERT_NE(after.estimate, before.estimate);
  const auto forgotten = work::forgetLearned(leafy.garden, leafy.tree);
  ASSERT_THAT(forgotten, isOk());
  EXPECT_EQ(forgotten->photos, 1);
  const store::Measurement unlearned = foliageOf(leafy.second);
  EXPECT_EQ(unlearned.estimate, before.estimate);
  EXPECT_EQ(unlearned.method, before.method);
  ASSERT_THAT(work::rememberAgain(leafy.garden, *forgotten), isOk());
  const store::Measurement again = foliageOf(leafy.second);
  EXPECT_EQ(again.estimate, after.estimate);
  EXPECT_EQ(again.method, after.method);
}

TEST_F(Learning, MeasuringAgainWithTheSameStrokesGivesTheSameFigure) {
  const store::Measurement once = foliageOf(leafy.first, leafy.threeStrokes());
  const store::Measurement twice = foliageOf(leafy.first, leafy.threeStrokes());
  EXPECT_EQ(twice.estimate, once.estimate);
  EXPECT_EQ(twice.method, once.method);
  EXPECT_EQ(twice.hintMask, once.hintMask);
  EXPECT_THAT(leafy.garden.learnedLooks(leafy.tree), isOkAnd(SizeIs(1)));
}

TEST_F(Learning, StrokesTakenAwayTeachNoLonger) {
  const store::Measurement before = foliageOf(leafy.second);
  (void)foliageOf(leafy.first, leafy.threeStrokes());
  (void)foliageOf(leafy.first);
  EXPECT_THAT(leafy.garden.learnedLooks(leafy.tree), isOkAnd(IsEmpty()));
  EXPECT_EQ(foliageOf(leafy.second).estimate, before.estimate);
}

TEST_F(Learning, AddsUpOverPhotos) {
  (void)foliageOf(leafy.first, leafy.threeStrokes());
  (void)foliageOf(leafy.second, leafy.threeStrokes());
  const auto looks = leafy.garden.learnedLooks(leafy.tree);
  ASSERT_THAT(looks, isOkAnd(SizeIs(2)));
  EXPECT_THAT(looks->back().photos, SizeIs(2));
  EXPECT_THAT(work::photosThatTaught(leafy.garden, leafy.tree), isOkAnd(2));
  const auto prior = work::priorFor(leafy.garden, {.tree = leafy.tree, .subject = Subject::Leaf});
  ASSERT_THAT(prior, isOk());
  EXPECT_EQ(prior->earlierPhotos, 2);
}

TEST_F(Learning, StaysWithTheTreeItsSubjectAndTheNetwork) {
  (void)foliageOf(leafy.first, leafy.threeStrokes());
  const auto other = work::priorFor(leafy.garden, {.tree = store::TreeId::create()});
  ASSERT_THAT(other, isOk());
  EXPECT_EQ(other->weights, vision::Correction{});
  const auto needles =
      work::priorFor(leafy.garden, {.tree = leafy.tree, .subject = Subject::Needles});
  ASSERT_THAT(needles, isOk());
  EXPECT_EQ(needles->weights, vision::Correction{});
  store::LearnedLook look = leafy.garden.learnedLooks(leafy.tree)->front();
  EXPECT_EQ(look.network, vision::tissueModelName());
  look.network = "some-earlier-network";
  ASSERT_THAT(leafy.garden.put(look), isOk());
  const auto prior = work::priorFor(leafy.garden, {.tree = leafy.tree});
  ASSERT_THAT(prior, isOk());
  EXPECT_EQ(prior->weights, vision::Correction{});
}

TEST_F(Learning, KeepsTheHintsWithTheFigures) {
  const store::Measurement made = foliageOf(leafy.first, leafy.threeStrokes());
  const auto kept = vision::loadLabels(leafy.garden.folder() / made.hintMask);
  ASSERT_THAT(kept, isOk());
  const LabelImage painted = leafy.threeStrokes();
  ASSERT_EQ(kept->byteCount(), painted.byteCount());
  EXPECT_TRUE(std::equal(painted.data(), painted.data() + painted.byteCount(), kept->data()));
}

}  // namespace
}  // namespace edamori::test
