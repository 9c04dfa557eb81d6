// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/pest_change.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace edamori::work {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

const BranchPair kPair{.branch = {"ours"}, .before = {"a"}, .after = {"b"}};

TreeDetail detail() {
  TreeDetail detail;
  for (const auto& [id, date] : {std::pair{"a", "2026-04-01"}, {"b", "2026-05-01"}}) {
    store::Photo photo;
    photo.id = {id};
    photo.takenAt = *store::parseLocalTime(date);
    detail.photos.push_back(photo);
  }
  detail.charts.push_back({.figure = "scale insect",
                           .title = "Scale insects, live",
                           .isFraction = false,
                           .series = {},
                           .treatments = {}});
  return detail;
}

void count(TreeDetail& detail, const std::string& branch, int before, int after) {
  Series series{.branch = {branch}, .branchName = branch, .points = {}};
  for (const auto& [photo, live] : {std::pair{"a", before}, {"b", after}}) {
    SeriesPoint point;
    point.photo = {photo};
    point.estimate = *store::poissonInterval(live);
    series.points.push_back(point);
  }
  detail.charts.front().series.push_back(series);
}

void treat(TreeDetail& detail, const std::string& branch, const char* date) {
  store::Treatment treatment;
  treatment.branch = {branch};
  treatment.doneAt = *store::parseLocalTime(date);
  detail.treatments.push_back(treatment);
}

TEST(PestChange, SaysBothCountsWithTheirIntervals) {
  TreeDetail tree = detail();
  count(tree, "ours", 10, 0);
  const auto changes = pestChanges(tree, kPair);
  ASSERT_THAT(changes, SizeIs(1));
  // Exact Poisson limits: 10 gives 4.795–18.39, 0 gives 0–3.689 (Garwood 1936; R 4.2.2 poisson.test).
  EXPECT_THAT(pestChangeLines(changes[0]),
              ElementsAre("Scale insects, live: 10 (4.8–18.4) before, 0 (0.0–3.7) after"));
}

// Henderson & Tilton 1955: 100 (1 − Ta Cb / (Tb Ca)). By hand: 20 → 2 on the treated branch,
// 10 + 5 → 12 + 8 on two untreated ones: 100 (1 − 2 · 15 / (20 · 20)) = 92.5 %.
TEST(PestChange, SetsATreatedBranchAgainstTheUntreatedOnes) {
  TreeDetail tree = detail();
  count(tree, "ours", 20, 2);
  count(tree, "second", 10, 12);
  count(tree, "third", 5, 8);
  count(tree, "also treated", 100, 1);
  treat(tree, "ours", "2026-04-10");
  treat(tree, "also treated", "2026-04-10");
  const auto changes = pestChanges(tree, kPair);
  ASSERT_THAT(changes, SizeIs(1));
  EXPECT_EQ(changes[0].untreatedBranches, 2);
  ASSERT_TRUE(changes[0].efficacy.has_value());
  EXPECT_NEAR(changes[0].efficacy->pct, 92.5, 1e-9);
  EXPECT_THAT(pestChangeLines(changes[0]).at(1), HasSubstr("against 2 untreated branches"));
  EXPECT_THAT(pestChangeLines(changes[0]).at(1), HasSubstr("92.5 % ("));
}

TEST(PestChange, SaysThatNothingCanBeToldWithoutAnUntreatedBranch) {
  TreeDetail tree = detail();
  count(tree, "ours", 20, 2);
  count(tree, "second", 10, 12);
  treat(tree, "", "2026-04-10");  // the whole tree
  const auto changes = pestChanges(tree, kPair);
  ASSERT_THAT(changes, SizeIs(1));
  EXPECT_FALSE(changes[0].efficacy.has_value());
  EXPECT_THAT(pestChangeLines(changes[0]).at(1), HasSubstr("no untreated branch"));
}

TEST(PestChange, SaysNothingOfATreatmentAtAnotherTime) {
  TreeDetail tree = detail();
  count(tree, "ours", 20, 2);
  treat(tree, "ours", "2026-03-01");
  treat(tree, "ours", "2026-05-02");
  EXPECT_THAT(pestChangeLines(pestChanges(tree, kPair).at(0)), SizeIs(1));
}

TEST(PestChange, NeedsBothPhotosToHaveBeenLookedAt) {
  TreeDetail tree = detail();
  count(tree, "ours", 20, 2);
  tree.charts.front().series.front().points.pop_back();
  EXPECT_THAT(pestChanges(tree, kPair), IsEmpty());
}

}  // namespace
}  // namespace edamori::work
