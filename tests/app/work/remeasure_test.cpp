// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/remeasure.h"

#include "app/work/learning.h"
#include "tests/app/work/leafy_garden.h"

#include <QImage>
#include <QPainter>
#include <QRandomGenerator>
#include <nlohmann/json.hpp>

namespace edamori::test {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

// Many small leaves, so that two pictures of them can be aligned; the second is moved aside.
RgbImage manyLeaves(int shiftPx) {
  QImage picture(960, 720, QImage::Format_RGB888);
  picture.fill(QColor(196, 188, 176));
  QPainter painter(&picture);
  painter.setPen(Qt::NoPen);
  QRandomGenerator random(7);
  for (int i = 0; i < 500; ++i) {
    painter.save();
    painter.translate(180 + random.bounded(600) + shiftPx, 120 + random.bounded(480));
    painter.rotate(random.bounded(180));
    painter.setBrush(QColor(40 + random.bounded(50), 90 + random.bounded(70), 30 + random.bounded(40)));
    painter.drawEllipse(QPointF(), 10 + random.bounded(22), 5 + random.bounded(10));
    painter.restore();
  }
  painter.end();
  RgbImage image(picture.width(), picture.height());
  for (int y = 0; y < image.height(); ++y) {
    std::copy_n(picture.constScanLine(y), image.bytesPerRow(), image.row(y));
  }
  return image;
}

class Remeasure : public ::testing::Test {
 protected:
  void SetUp() override {
    ASSERT_THAT(work::measureOutline(leafy.garden, leafy.first, leafy.threeStrokes()), isOk());
    ASSERT_THAT(work::measureOutline(leafy.garden, leafy.second), isOk());
  }

  std::vector<store::Measurement> all() {
    const auto measurements = leafy.garden.measurementsOfTree(leafy.tree);
    EXPECT_THAT(measurements, isOk());
    return measurements ? *measurements : std::vector<store::Measurement>{};
  }

  store::Measurement foliageOf(const store::OutlineId& outline) {
    for (const store::Measurement& measurement : all()) {
      if (measurement.outline == outline && measurement.figure == "foliage") {
        return measurement;
      }
    }
    ADD_FAILURE() << "no foliage figure";
    return {};
  }

  work::RemeasureReport report() {
    const auto made = work::remeasureGarden(leafy.garden);
    EXPECT_THAT(made, isOk());
    return made ? *made : work::RemeasureReport{};
  }

  TemporaryFolder folder;
  LeafyGarden leafy{folder};
};

TEST_F(Remeasure, AgreesOnAFreshGardenAndChangesNothing) {
  const auto counter = leafy.garden.changeCounter();
  const auto before = all();
  const work::RemeasureReport made = report();
  EXPECT_THAT(made.lines, IsEmpty());
  EXPECT_EQ(made.agreed, static_cast<int>(before.size()));
  EXPECT_GE(made.agreed, 3);
  EXPECT_EQ(made.drifted + made.notComparable + made.failed, 0);
  EXPECT_THAT(leafy.garden.changeCounter(), isOkAnd(*counter));
}

TEST_F(Remeasure, AgreesOnAComparison) {
  const store::OutlineId before = leafy.outlined(folder / "before.png", manyLeaves(0));
  const store::OutlineId after = leafy.outlined(folder / "after.png", manyLeaves(14));
  const auto compared = work::comparePhotos(leafy.garden,
                                            leafy.branch,
                                            (*leafy.garden.find(before))->photo,
                                            (*leafy.garden.find(after))->photo);
  ASSERT_THAT(compared, isOk());
  ASSERT_FALSE(compared->measurements.empty());
  EXPECT_THAT(report().lines, IsEmpty());
}

TEST_F(Remeasure, AgreesAfterTheOutlineWasMovedTheLearnedForgottenAndTheSubjectChanged) {
  store::OutlineRecord outline = **leafy.garden.find(leafy.second);
  outline.shape.polygon = {{10, 10}, {300, 10}, {300, 300}, {10, 300}};
  ASSERT_THAT(leafy.garden.put(outline), isOk());
  ASSERT_THAT(work::forgetLearned(leafy.garden, leafy.tree), isOk());
  store::Tree tree = **leafy.garden.find(leafy.tree);
  tree.subject = Subject::Needles;
  ASSERT_THAT(leafy.garden.put(tree), isOk());
  EXPECT_THAT(report().lines, IsEmpty());
}

TEST_F(Remeasure, FindsAFigureThatWasChangedByHand) {
  store::Measurement changed = foliageOf(leafy.second);
  // One unit in the last place is drift too.
  changed.estimate.value = std::nextafter(changed.estimate.value, changed.estimate.high);
  ASSERT_THAT(leafy.garden.put(changed), isOk());
  const work::RemeasureReport made = report();
  EXPECT_EQ(made.drifted, 1);
  ASSERT_THAT(made.lines, SizeIs(1));
  EXPECT_THAT(made.lines.front(),
              ::testing::AllOf(HasSubstr("T-1, second.png, first left, Foliage cover: stored 0."),
                               HasSubstr(", recomputed 0.")));
}

TEST_F(Remeasure, StartsFromTheWeightsThatWereKeptWithTheFigure) {
  store::Measurement changed = foliageOf(leafy.second);
  auto parameters = nlohmann::json::parse(changed.method.parameters);
  ASSERT_TRUE(parameters["learned"].is_object()) << changed.method.parameters;
  parameters["learned"] = false;
  changed.method.parameters = parameters.dump();
  ASSERT_THAT(leafy.garden.put(changed), isOk());
  EXPECT_EQ(report().drifted, 1) << "what hints taught made a difference";
}

TEST_F(Remeasure, TellsAnotherMethodVersionFromDrift) {
  store::Measurement old = foliageOf(leafy.second);
  old.method.version = 1;
  old.method.parameters = "{}";
  ASSERT_THAT(leafy.garden.put(old), isOk());
  const work::RemeasureReport made = report();
  EXPECT_EQ(made.notComparable, 1);
  EXPECT_EQ(made.drifted, 0);
  EXPECT_THAT(made.lines, ElementsAre(HasSubstr("made by method version 1, not comparable")));
}

TEST_F(Remeasure, NamesFiguresWhoseHintsOrPhotoAreGone) {
  std::filesystem::remove(leafy.garden.folder() / foliageOf(leafy.first).hintMask);
  const work::RemeasureReport made = report();
  EXPECT_EQ(made.drifted, 0);
  EXPECT_GE(made.failed, 1);
  EXPECT_THAT(made.lines.front(), HasSubstr("first.png, first left, Foliage cover: cannot be recomputed: "));
}

TEST_F(Remeasure, StopsWhenAsked) {
  EXPECT_THAT(work::remeasureGarden(leafy.garden, [](int, int) { return false; }),
              failsWith(ErrorCode::Cancelled));
}

}  // namespace
}  // namespace edamori::test
