// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/pest_change.h"

#include <algorithm>
#include <array>
#include <charconv>

namespace edamori::work {
namespace {

// Never printf: Qt may switch the C locale.
std::string decimal(double value, int digits) {
  std::array<char, 64> buffer{};
  const auto [end, error] = std::to_chars(
      buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::fixed, digits);
  return error == std::errc{} ? std::string(buffer.data(), end) : std::string("?");
}

std::string countText(const Estimate& count) {
  return decimal(count.value, 0) + " (" + decimal(count.low, 1) + "–" + decimal(count.high, 1) + ")";
}

std::optional<Estimate> countOn(const Series& series, const store::PhotoId& photo) {
  const auto at = std::ranges::find(series.points, photo, &SeriesPoint::photo);
  return at == series.points.end() ? std::nullopt : std::optional(at->estimate);
}

std::chrono::year_month_day dateOf(const TreeDetail& detail, const store::PhotoId& photo) {
  const auto at = std::ranges::find(detail.photos, photo, &store::Photo::id);
  return at == detail.photos.end() ? std::chrono::year_month_day{} : at->takenAt.date;
}

bool isTreatedBetween(const TreeDetail& detail, const store::BranchId& branch, const BranchPair& pair) {
  const auto from = dateOf(detail, pair.before);
  const auto to = dateOf(detail, pair.after);
  return std::ranges::any_of(detail.treatments, [&](const store::Treatment& treatment) {
    return treatment.doneAt.isKnown() && from.ok() && to.ok() && treatment.doneAt.date >= from &&
           treatment.doneAt.date <= to &&
           (treatment.branch.isEmpty() || treatment.branch == branch);
  });
}

void addEfficacy(const TreeDetail& detail,
                 const FigureChart& chart,
                 const BranchPair& pair,
                 PestChange& change) {
  double before = 0.0;
  double after = 0.0;
  for (const Series& series : chart.series) {
    const auto countBefore = countOn(series, pair.before);
    const auto countAfter = countOn(series, pair.after);
    if (series.branch != pair.branch && countBefore && countAfter &&
        !isTreatedBetween(detail, series.branch, pair)) {
      before += countBefore->value;
      after += countAfter->value;
      ++change.untreatedBranches;
    }
  }
  if (change.untreatedBranches > 0) {
    const auto efficacy =
        store::hendersonTiltonEfficacy(before, after, change.before.value, change.after.value);
    change.efficacy = efficacy ? std::optional(*efficacy) : std::nullopt;
  }
}

std::string efficacyText(const PestChange& change) {
  if (!change.efficacy) {
    return change.untreatedBranches > 0
               ? "Efficacy: the untreated branches have too few insects to compare with"
               : "Efficacy: no untreated branch was counted on both photos, so that it cannot be "
                 "told what the treatment did";
  }
  std::string text = "Efficacy against " + std::to_string(change.untreatedBranches) + " untreated " +
                     (change.untreatedBranches == 1 ? "branch" : "branches") +
                     " (Henderson & Tilton 1955): ";
  if (change.efficacy->interval) {
    const Estimate& pct = *change.efficacy->interval;
    return text + estimateText({.value = pct.value / 100.0, .low = pct.low / 100.0, .high = pct.high / 100.0});
  }
  return text + decimal(change.efficacy->pct, 1) + " %, without an interval where none is left";
}

}  // namespace

std::vector<PestChange> pestChanges(const TreeDetail& detail, const BranchPair& pair) {
  std::vector<PestChange> changes;
  for (const FigureChart& chart : detail.charts) {
    if (chart.isFraction) {
      continue;
    }
    const auto series = std::ranges::find(chart.series, pair.branch, &Series::branch);
    if (series == chart.series.end()) {
      continue;
    }
    const auto before = countOn(*series, pair.before);
    const auto after = countOn(*series, pair.after);
    if (!before || !after) {
      continue;
    }
    PestChange change{.title = chart.title,
                      .before = *before,
                      .after = *after,
                      .isTreated = isTreatedBetween(detail, pair.branch, pair),
                      .efficacy = {},
                      .untreatedBranches = 0};
    if (change.isTreated) {
      addEfficacy(detail, chart, pair, change);
    }
    changes.push_back(std::move(change));
  }
  return changes;
}

std::vector<std::string> pestChangeLines(const PestChange& change) {
  std::vector<std::string> lines{change.title + ": " + countText(change.before) + " before, " +
                                 countText(change.after) + " after"};
  if (change.isTreated) {
    lines.push_back(efficacyText(change));
  }
  return lines;
}

}  // namespace edamori::work
