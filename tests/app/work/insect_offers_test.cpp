// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/insect_offers.h"

#include <gmock/gmock.h>

namespace edamori::work {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;
using ::testing::SizeIs;

vision::InsectCandidate candidate(double x, double y, double radius) {
  return {.centrePx = {.x = x, .y = y}, .radiusPx = radius, .score = 0.7};
}

store::Mark dotAt(PointPx at, double radius = 0) {
  store::Mark mark;
  mark.centre = at;
  mark.radiusPx = radius;
  return mark;
}

TEST(StillOffered, LeavesOutWhatIsMarkedWithinTheGreaterRadius) {
  const std::vector<vision::InsectCandidate> found = {candidate(100, 100, 5), candidate(200, 100, 5)};
  EXPECT_THAT(stillOffered(found, {}, {}), SizeIs(2));
  EXPECT_THAT(stillOffered(found, {dotAt({103, 104})}, {}), ElementsAre(found[1])) << "5 px away";
  EXPECT_THAT(stillOffered(found, {dotAt({104, 104})}, {}), SizeIs(2)) << "5.7 px away";
  EXPECT_THAT(stillOffered(found, {dotAt({104, 104}, 8)}, {}), ElementsAre(found[1]));
}

TEST(StillOffered, MindsMarksOfScaleInsectsAlone) {
  store::Mark spot = dotAt({100, 100});
  spot.finding = store::Finding::LeafSpot;
  EXPECT_THAT(stillOffered({candidate(100, 100, 5)}, {spot}, {}), SizeIs(1));
  spot.finding = store::Finding::ScaleInsect;
  spot.stage = store::Stage::Dead;
  EXPECT_THAT(stillOffered({candidate(100, 100, 5)}, {spot}, {}), IsEmpty());
}

TEST(StillOffered, LeavesOutWhatLiesInAMarkedColony) {
  store::Mark colony;
  colony.kind = store::MarkKind::Patch;
  colony.patch = {{0, 0}, {150, 0}, {150, 150}, {0, 150}};
  colony.centre = {75, 75};
  const std::vector<vision::InsectCandidate> found = {candidate(100, 100, 5), candidate(200, 100, 5)};
  EXPECT_THAT(stillOffered(found, {colony}, {}), ElementsAre(found[1]));
}

TEST(StillOffered, LeavesOutWhatWasRejectedThere) {
  store::RejectedCandidate rejected{.id = {}, .photo = {}, .finding = store::Finding::ScaleInsect, .centre = {101, 101}, .radiusPx = 6};
  EXPECT_THAT(stillOffered({candidate(104, 105, 5)}, {}, {rejected}), IsEmpty());
  EXPECT_THAT(stillOffered({candidate(106, 105, 5)}, {}, {rejected}), SizeIs(1)) << "6.4 px away";
  rejected.finding = store::Finding::Aphids;
  EXPECT_THAT(stillOffered({candidate(101, 101, 5)}, {}, {rejected}), SizeIs(1));
}

}  // namespace
}  // namespace edamori::work
