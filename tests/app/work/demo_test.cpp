// SPDX-License-Identifier: GPL-3.0-or-later
// The demo garden is built from pixels: its figures are checked against the truth
// that the generator of the photographs wrote from its own scene, not from pixels.
#include "app/work/demo.h"

#include "app/work/measuring.h"
#include "app/work/overview.h"
#include "store/safety/safety.h"
#include "tests/support/matchers.h"
#include "tests/support/temporary_folder.h"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <cmath>
#include <fstream>
#include <map>
#include <memory>

namespace edamori::test {
namespace {

// Building the demo measures every sample photograph, so it is built once.
const std::filesystem::path& demoFolder() {
  static const TemporaryFolder folder;
  static const std::filesystem::path demo = [] {
    const auto samples = work::samplesFolder();
    EXPECT_THAT(samples, isOk());
    EXPECT_THAT(work::buildDemo(folder / "demo", *samples), isOk());
    return folder / "demo";
  }();
  return demo;
}

TEST(Demo, HasAtLeastSixTreesOverTwoSpringsAndIsSound) {
  const auto garden = store::Garden::open(demoFolder());
  ASSERT_THAT(garden, isOk());
  const auto trees = garden->trees();
  ASSERT_THAT(trees, isOk());
  EXPECT_GE(trees->size(), 6U);
  for (const store::Tree& tree : *trees) {
    const auto photos = garden->photos(tree.id);
    ASSERT_THAT(photos, isOk());
    EXPECT_GE(photos->size(), 3U) << tree.tag;
    EXPECT_LE(photos->size(), 8U) << tree.tag;
  }
  const auto report = store::checkGarden(*garden);
  ASSERT_THAT(report, isOk());
  EXPECT_TRUE(report->problems.empty()) << report->problems.front();
}

TEST(Demo, EveryFigureHasAnIntervalAndItsMethod) {
  const auto garden = store::Garden::open(demoFolder());
  ASSERT_THAT(garden, isOk());
  const auto rows = work::figureRows(*garden, {});
  ASSERT_THAT(rows, isOk());
  EXPECT_GE(rows->size(), 60U);
  for (const work::FigureRow& row : *rows) {
    const Estimate& estimate = row.measurement.estimate;
    EXPECT_LE(estimate.low, estimate.value) << row.photoName << " " << row.figure;
    EXPECT_GE(estimate.high, estimate.value) << row.photoName << " " << row.figure;
    EXPECT_LT(estimate.low, estimate.high) << row.photoName << " " << row.figure;
    EXPECT_FALSE(row.measurement.method.name.empty());
  }
}

TEST(Demo, StopsWhenThePersonStopsItAndLeavesNothing) {
  const TemporaryFolder folder;
  const auto samples = work::samplesFolder();
  ASSERT_THAT(samples, isOk());
  const auto built = work::buildDemo(folder / "demo", *samples, [](const work::DemoProgress& p) {
    return p.done < 2;
  });
  EXPECT_THAT(built, failsWith(ErrorCode::Cancelled));
  EXPECT_FALSE(std::filesystem::exists(folder / "demo"));
}

}  // namespace
}  // namespace edamori::test
