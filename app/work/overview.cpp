// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/overview.h"

#include "app/work/learning.h"
#include "store/trends/trends.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <map>
#include <set>
#include <tuple>

namespace edamori::work {
namespace {

using store::Garden;
using store::Measurement;

// Insects, drawn as counts over time.
constexpr std::array kPests{store::Finding::ScaleInsect, store::Finding::Aphids};

struct TreeRecords {
  store::Tree tree;
  std::vector<store::Branch> branches;
  std::vector<store::Photo> photos;
  std::vector<Measurement> measurements;
  std::vector<store::Mark> marks;
  std::vector<store::Recheck> rechecks;
};

template <typename T>
Result<void> into(Result<T>&& source, T& target) {
  if (!source) {
    return std::move(source).error();
  }
  target = std::move(source).value();
  return {};
}

Result<TreeRecords> readRecords(const Garden& garden, const store::Tree& tree) {
  TreeRecords records;
  records.tree = tree;
  EDAMORI_RETURN_IF_ERROR(into(garden.branches(tree.id), records.branches));
  EDAMORI_RETURN_IF_ERROR(into(garden.photos(tree.id), records.photos));
  EDAMORI_RETURN_IF_ERROR(into(garden.measurementsOfTree(tree.id), records.measurements));
  EDAMORI_RETURN_IF_ERROR(into(garden.marksOfTree(tree.id), records.marks));
  EDAMORI_RETURN_IF_ERROR(into(garden.rechecks(tree.id), records.rechecks));
  return records;
}

const store::Photo* photoOf(const TreeRecords& records, const store::PhotoId& id) {
  const auto found = std::find_if(records.photos.begin(),
                                  records.photos.end(),
                                  [&](const store::Photo& photo) { return photo.id == id; });
  return found == records.photos.end() ? nullptr : &*found;
}

std::string branchNameOf(const TreeRecords& records, const store::BranchId& id) {
  const auto found = std::find_if(records.branches.begin(),
                                  records.branches.end(),
                                  [&](const store::Branch& branch) { return branch.id == id; });
  return found == records.branches.end() ? "whole photo" : found->name;
}

bool bearsFoliage(const TreeRecords& records, const store::BranchId& id) {
  const auto found = std::find_if(records.branches.begin(),
                                  records.branches.end(),
                                  [&](const store::Branch& branch) { return branch.id == id; });
  return found == records.branches.end() || store::carriesFoliage(found->kind);
}

// Position of the photo in time and of the branch on the tree, for sorting rows.
std::pair<std::size_t, int> placeOf(const TreeRecords& records, const Measurement& measurement) {
  std::size_t photo = 0;
  while (photo < records.photos.size() && records.photos[photo].id != measurement.photo) {
    ++photo;
  }
  int branch = -1;
  for (std::size_t i = 0; i < records.branches.size(); ++i) {
    if (records.branches[i].id == measurement.branch) {
      branch = static_cast<int>(i);
    }
  }
  return {photo, branch};
}

// A figure that was measured again replaces the older one of the same photo,
// branch and baseline; what was, stays in the garden as history.
std::vector<Measurement> newestOfEach(const std::vector<Measurement>& all) {
  std::map<std::tuple<std::string, std::string, std::string, std::string>, Measurement> newest;
  for (const Measurement& one : all) {
    const std::string baseline = one.baselinePhoto ? one.baselinePhoto->text : std::string();
    const auto key = std::make_tuple(one.photo.text, one.branch.text, one.figure, baseline);
    const auto found = newest.find(key);
    if (found == newest.end() || found->second.id < one.id) {
      newest[key] = one;
    }
  }
  std::vector<Measurement> result;
  for (auto& [key, one] : newest) {
    result.push_back(std::move(one));
  }
  return result;
}

std::vector<FigureRow> rowsOf(const TreeRecords& records) {
  std::vector<Measurement> newest = newestOfEach(records.measurements);
  std::sort(newest.begin(), newest.end(), [&](const Measurement& a, const Measurement& b) {
    return std::make_tuple(placeOf(records, a), a.figure, a.id) <
           std::make_tuple(placeOf(records, b), b.figure, b.id);
  });
  std::vector<FigureRow> rows;
  for (Measurement& one : newest) {
    const store::Photo* const photo = photoOf(records, one.photo);
    if (photo == nullptr) {
      continue;  // The photo is in the bin.
    }
    FigureRow row;
    row.treeTag = records.tree.tag;
    row.branchName = branchNameOf(records, one.branch);
    row.figure = one.figure;
    row.verdict = one.verdict;
    row.takenAt = photo->takenAt;
    row.dateSource = photo->dateSource;
    row.photoName = photo->originalName;
    row.photoHash = photo->sha256;
    row.isOfFoliage = bearsFoliage(records, one.branch);
    row.measurement = std::move(one);
    rows.push_back(std::move(row));
  }
  return rows;
}

SeriesPoint pointOf(const store::Photo& photo, const Estimate& estimate) {
  return {.photo = photo.id,
          .takenAt = photo.takenAt,
          .dateUncertain = photo.dateSource == store::DateSource::FileTime,
          .estimate = estimate};
}

void addFractionChart(const TreeRecords& records,
                      const std::vector<FigureRow>& rows,
                      const std::string& figure,
                      std::vector<FigureChart>& charts) {
  FigureChart chart{.figure = figure, .title = figureTitle(figure), .isFraction = true, .series = {}, .treatments = {}};
  for (const store::Branch& branch : records.branches) {
    Series series{.branch = branch.id, .branchName = branch.name, .points = {}};
    for (const FigureRow& row : rows) {
      const store::Photo* const photo = photoOf(records, row.measurement.photo);
      if (row.figure == figure && row.isOfFoliage && row.measurement.branch == branch.id && photo != nullptr) {
        series.points.push_back(pointOf(*photo, row.measurement.estimate));
        series.points.back().flagged = !row.measurement.cautions.empty();
      }
    }
    if (!series.points.empty()) {
      chart.series.push_back(std::move(series));
    }
  }
  if (!chart.series.empty()) {
    charts.push_back(std::move(chart));
  }
}

// Live insects of one finding on one branch. A photo counts as looked at when it
// carries any mark at all: a photo nobody marked says nothing about insects.
Series pestSeries(const TreeRecords& records,
                  const store::Branch& branch,
                  store::Finding finding) {
  Series series{.branch = branch.id, .branchName = branch.name, .points = {}};
  bool wasSeen = false;
  for (const store::Photo& photo : records.photos) {
    int live = 0;
    bool wasLookedAt = false;
    for (const store::Mark& mark : records.marks) {
      if (mark.photo != photo.id) {
        continue;
      }
      wasLookedAt = true;
      const bool isOurs = mark.branch == branch.id && mark.finding == finding;
      wasSeen = wasSeen || isOurs;
      live += isOurs && mark.stage == store::Stage::Live ? mark.count : 0;
    }
    const auto interval = store::poissonInterval(live);
    if (wasLookedAt && interval) {
      series.points.push_back(pointOf(photo, *interval));
    }
  }
  if (!wasSeen) {
    series.points.clear();
  }
  return series;
}

void addPestChart(const TreeRecords& records,
                  store::Finding finding,
                  std::vector<FigureChart>& charts) {
  FigureChart chart{.figure = store::toText(finding),
                    .title = figureTitle(store::toText(finding)),
                    .isFraction = false,
                    .series = {},
                    .treatments = {}};
  for (const store::Branch& branch : records.branches) {
    Series series = pestSeries(records, branch, finding);
    if (!series.points.empty()) {
      chart.series.push_back(std::move(series));
    }
  }
  if (!chart.series.empty()) {
    charts.push_back(std::move(chart));
  }
}

// Newest last. Photos with no date but that of their file come first: when they were taken nobody
// knows, so they are not the latest while there are others.
std::vector<store::Photo> bySureDate(std::vector<store::Photo> photos) {
  std::stable_partition(photos.begin(), photos.end(), [](const store::Photo& photo) {
    return photo.dateSource == store::DateSource::FileTime;
  });
  return photos;
}

int livePestsOnLatestMarkedPhoto(const TreeRecords& records, const std::vector<store::Photo>& photos) {
  for (auto photo = photos.rbegin(); photo != photos.rend(); ++photo) {
    int live = 0;
    bool isMarked = false;
    for (const store::Mark& mark : records.marks) {
      const bool isHere = mark.photo == photo->id;
      isMarked = isMarked || isHere;
      live += isHere && isInsect(mark.finding) && mark.stage == store::Stage::Live ? mark.count : 0;
    }
    if (isMarked) {
      return live;
    }
  }
  return 0;
}

// Each branch as it was last measured: a bad one must not vanish because another was looked at since.
std::vector<FigureRow> latestOf(const std::vector<store::Photo>& photos, const std::vector<FigureRow>& rows) {
  std::vector<FigureRow> latest;
  std::set<std::pair<store::BranchId, std::string>> known;
  for (auto photo = photos.rbegin(); photo != photos.rend(); ++photo) {
    for (const FigureRow& row : rows) {
      const store::Measurement& made = row.measurement;
      if (made.photo == photo->id && !made.baselinePhoto && row.isOfFoliage &&
          known.insert({made.branch, row.figure}).second) {
        latest.push_back(row);
      }
    }
  }
  return latest;
}

TreeSummary summaryOf(const TreeRecords& records,
                      const std::vector<FigureRow>& rows,
                      const std::string& ownerName,
                      std::chrono::year_month_day today) {
  TreeSummary summary;
  summary.tree = records.tree;
  summary.ownerName = ownerName;
  summary.photoCount = static_cast<int>(records.photos.size());
  const std::vector<store::Photo> photos = bySureDate(records.photos);
  if (!photos.empty()) {
    summary.latestPhoto = photos.back();
  }
  for (const store::Recheck& recheck : records.rechecks) {
    if (!recheck.doneAt && (!summary.nextRecheck || recheck.due < summary.nextRecheck->due)) {
      summary.nextRecheck = recheck;
    }
  }
  summary.isDue = summary.nextRecheck && summary.nextRecheck->due <= today;
  summary.latestFigures = latestOf(photos, rows);
  summary.livePests = livePestsOnLatestMarkedPhoto(records, photos);
  return summary;
}

Result<std::vector<store::OutlineRecord>> outlinesOf(const Garden& garden, const TreeRecords& records) {
  std::vector<store::OutlineRecord> all;
  for (const store::Photo& photo : records.photos) {
    auto ofPhoto = garden.outlines(photo.id);
    if (!ofPhoto) {
      return ofPhoto.error();
    }
    std::ranges::move(*ofPhoto, std::back_inserter(all));
  }
  return all;
}

Result<std::optional<store::Owner>> ownerOf(const Garden& garden, const store::Tree& tree) {
  if (tree.owner.isEmpty()) {
    return std::optional<store::Owner>();
  }
  return garden.find(tree.owner);
}

}  // namespace

Result<std::vector<TreeSummary>> treeSummaries(const Garden& garden,
                                               std::chrono::year_month_day today) {
  auto trees = garden.trees();
  if (!trees) {
    return trees.error();
  }
  std::vector<TreeSummary> summaries;
  for (const store::Tree& tree : *trees) {
    auto records = readRecords(garden, tree);
    if (!records) {
      return records.error();
    }
    auto owner = ownerOf(garden, tree);
    if (!owner) {
      return owner.error();
    }
    summaries.push_back(summaryOf(
        *records, rowsOf(*records), *owner ? (*owner)->name : std::string(), today));
  }
  std::stable_sort(summaries.begin(), summaries.end(), [](const auto& a, const auto& b) {
    return a.isDue > b.isDue;
  });
  return summaries;
}

Result<TreeDetail> treeDetail(const Garden& garden,
                              const store::TreeId& id,
                              std::chrono::year_month_day today) {
  auto tree = garden.find(id);
  if (!tree) {
    return tree.error();
  }
  if (!tree->has_value()) {
    return fail(ErrorCode::NotFound, "the tree is no longer in the garden");
  }
  auto records = readRecords(garden, **tree);
  if (!records) {
    return records.error();
  }
  TreeDetail detail;
  EDAMORI_RETURN_IF_ERROR(into(ownerOf(garden, **tree), detail.owner));
  EDAMORI_RETURN_IF_ERROR(into(garden.treatments(id), detail.treatments));
  EDAMORI_RETURN_IF_ERROR(into(garden.notes(id), detail.notes));
  EDAMORI_RETURN_IF_ERROR(into(garden.pairs(id), detail.pairs));
  EDAMORI_RETURN_IF_ERROR(into(photosThatTaught(garden, id), detail.photosThatTaught));
  EDAMORI_RETURN_IF_ERROR(into(outlinesOf(garden, *records), detail.outlines));
  detail.figures = rowsOf(*records);
  detail.summary = summaryOf(
      *records, detail.figures, detail.owner ? detail.owner->name : std::string(), today);
  for (const char* const figure : {"foliage", "spot"}) {
    addFractionChart(*records, detail.figures, figure, detail.charts);
  }
  for (const store::Finding finding : kPests) {
    addPestChart(*records, finding, detail.charts);
  }
  for (FigureChart& chart : detail.charts) {
    chart.treatments = detail.treatments;
  }
  detail.branches = std::move(records->branches);
  detail.photos = std::move(records->photos);
  detail.marks = std::move(records->marks);
  detail.rechecks = std::move(records->rechecks);
  return detail;
}

Result<std::vector<FigureRow>> figureRows(const Garden& garden, const store::TreeId& only) {
  auto trees = garden.trees();
  if (!trees) {
    return trees.error();
  }
  std::vector<FigureRow> rows;
  for (const store::Tree& tree : *trees) {
    if (!only.isEmpty() && tree.id != only) {
      continue;
    }
    auto records = readRecords(garden, tree);
    if (!records) {
      return records.error();
    }
    for (FigureRow& row : rowsOf(*records)) {
      rows.push_back(std::move(row));
    }
  }
  return rows;
}

}  // namespace edamori::work
