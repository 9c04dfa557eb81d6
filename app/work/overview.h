// SPDX-License-Identifier: GPL-3.0-or-later
// What pages and letters show of a tree: latest figures, series over time, what is due.
#pragma once

#include "app/work/mark_counts.h"
#include "app/work/measuring.h"
#include "store/garden/garden.h"
#include "vision/values/result.h"

#include <optional>
#include <string>
#include <vector>

namespace edamori::work {

// "foliage" → "Foliage cover"; "spot" → "Spotted"; "loss-by-cover" → "Needle loss by cover", …
[[nodiscard]] std::string figureTitle(const std::string& figure);
// "62.4 % (58.1–66.9 %)" for fractions; one decimal, en dash, true minus sign.
[[nodiscard]] std::string estimateText(const Estimate& estimate);
// As estimateText, in the figure's unit: a change of a share is in percentage points,
// "−8.8 points (−12.3 to −5.1 points)".
[[nodiscard]] std::string figureText(const std::string& figure, const Estimate& estimate);

// What a change of the spotted share says when its interval excludes zero; empty when it does not.
inline constexpr const char* kClearlyLessSpotted = "clearly less spotted";
inline constexpr const char* kClearlyMoreSpotted = "clearly more spotted";
[[nodiscard]] std::string clearSpotChange(const Estimate& change);

// One point of a chart.
struct SeriesPoint {
  store::PhotoId photo;
  store::LocalTime takenAt;
  bool dateUncertain = false;
  Estimate estimate;  // 0…1 for fractions; counts for pests (with Poisson interval)
  bool flagged = false;  // carries a caution
};

struct Series {
  store::BranchId branch;
  std::string branchName;
  std::vector<SeriesPoint> points;  // by time
};

// One chart: a figure over time, a series for each branch.
struct FigureChart {
  std::string figure;  // "foliage", "spot", "scale insect", "aphids"
  std::string title;
  bool isFraction = true;
  std::vector<Series> series;
  std::vector<store::Treatment> treatments;  // to be drawn on the time axis
};

// The latest measurement per (photo, branch, figure), in one row each.
struct FigureRow {
  std::string treeTag, branchName, figure, verdict;
  store::Measurement measurement;
  store::LocalTime takenAt;
  store::DateSource dateSource = store::DateSource::Camera;
  std::string photoName, photoHash;
  bool isOfFoliage = true;  // false: measured on bark, by an earlier version; kept as history
};

struct TreeSummary {
  store::Tree tree;
  std::string ownerName;
  std::optional<store::Photo> latestPhoto;
  int photoCount = 0;
  std::optional<store::Recheck> nextRecheck;  // earliest open
  bool isDue = false;                         // nextRecheck is today or earlier
  std::vector<FigureRow> latestFigures;       // the latest of each branch, newest photo first
  int livePests = 0;                          // live insects on the latest photo with marks
};

// Everything about one tree, read in one go.
struct TreeDetail {
  TreeSummary summary;
  std::optional<store::Owner> owner;
  std::vector<store::Branch> branches;
  std::vector<store::Photo> photos;  // oldest first
  std::vector<FigureRow> figures;    // by time, then branch order
  std::vector<FigureChart> charts;   // only figures that have points
  std::vector<store::Mark> marks;
  std::vector<store::OutlineRecord> outlines;
  std::vector<store::Treatment> treatments;
  std::vector<store::Recheck> rechecks;
  std::vector<store::Note> notes;
  std::vector<store::PhotoPair> pairs;
  int photosThatTaught = 0;  // whose hints taught the program this tree's look
};

// Due trees first, then by tag. `today` decides what is due.
Result<std::vector<TreeSummary>> treeSummaries(const store::Garden& garden,
                                               std::chrono::year_month_day today);
Result<TreeDetail> treeDetail(const store::Garden& garden,
                              const store::TreeId& tree,
                              std::chrono::year_month_day today);

// Rows for `edamori figures`, those of bark included; all trees when `tree` is empty.
Result<std::vector<FigureRow>> figureRows(const store::Garden& garden, const store::TreeId& tree);
[[nodiscard]] std::string figuresTable(const std::vector<FigureRow>& rows);
[[nodiscard]] std::string figuresCsv(const std::vector<FigureRow>& rows);   // RFC 4180
[[nodiscard]] std::string figuresJson(const std::vector<FigureRow>& rows);

}  // namespace edamori::work
