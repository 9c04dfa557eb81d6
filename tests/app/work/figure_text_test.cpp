// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/overview.h"

#include <gtest/gtest.h>

namespace edamori::work {
namespace {

TEST(EstimateText, ShowsPercentWithItsInterval) {
  EXPECT_EQ(estimateText({.value = 0.6237, .low = 0.581, .high = 0.669}), "62.4 % (58.1–66.9 %)");
}

TEST(EstimateText, WritesNegativeValuesWithATrueMinusAndNoDash) {
  EXPECT_EQ(estimateText({.value = -0.032, .low = -0.08, .high = 0.015}), "−3.2 % (−8.0 to 1.5 %)");
  EXPECT_EQ(estimateText({.value = -0.0001, .low = -0.0002, .high = 0.0}), "0.0 % (0.0 to 0.0 %)");
}

TEST(FigureText, AChangeOfAShareIsInPoints) {
  const Estimate change{.value = -0.088, .low = -0.123, .high = -0.051};
  EXPECT_EQ(figureText("spot-change", change), "−8.8 points (−12.3 to −5.1 points)");
  EXPECT_EQ(figureText("loss-by-cover", change), "−8.8 % (−12.3 to −5.1 %)");
}

// RFC 4180 §2: rows end in CRLF, fields with commas or quotes are quoted, quotes doubled.
TEST(FiguresCsv, QuotesAsRfc4180Asks) {
  FigureRow row;
  row.treeTag = "=1+1";
  row.branchName = "First, \"left\"";
  row.figure = "foliage";
  const std::string csv = figuresCsv({row});
  EXPECT_NE(csv.find("\r\n'=1+1,\"First, \"\"left\"\"\","), std::string::npos) << csv;
  EXPECT_EQ(csv.substr(csv.size() - 2), "\r\n");
}

}  // namespace
}  // namespace edamori::work
