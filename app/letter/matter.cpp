// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/letter/matter_internal.h"

#include <algorithm>
#include <map>
#include <tuple>

namespace edamori::letter {

namespace {

// A date that nobody knows is in no stated period.
bool isWithin(const store::LocalTime& time, const LetterRequest& request) {
  if (!time.isKnown()) {
    return !request.from && !request.to;
  }
  return (!request.from || time.date >= *request.from) && (!request.to || time.date <= *request.to);
}

std::vector<PestRow> pestRows(const Matter& matter) {
  std::vector<PestRow> rows;
  for (const store::Photo* photo : matter.photos) {
    std::vector<store::Mark> here;
    for (const store::Mark& mark : matter.detail->marks) {
      if (mark.photo == photo->id) {
        here.push_back(mark);
      }
    }
    std::vector<store::OutlineRecord> outlines;
    for (const store::OutlineRecord& outline : matter.detail->outlines) {
      if (outline.photo == photo->id) {
        outlines.push_back(outline);
      }
    }
    std::vector<PestRow> ofPhoto;
    for (const work::FindingCount& count : work::countMarks(here, outlines)) {
      ofPhoto.push_back({photo, count});
    }
    // Where a chart knows that a branch was looked at and nothing was marked, that is a finding too.
    for (const work::FigureChart& chart : matter.detail->charts) {
      const auto finding = store::parseFinding(chart.figure);
      if (chart.isFraction || !finding) {
        continue;
      }
      for (const work::Series& series : chart.series) {
        const bool wasLookedAt = std::any_of(series.points.begin(), series.points.end(),
                                             [&](const auto& point) { return point.photo == photo->id; });
        const bool isThere = std::any_of(ofPhoto.begin(), ofPhoto.end(), [&](const PestRow& row) {
          return row.count.branch == series.branch && row.count.finding == *finding;
        });
        if (wasLookedAt && !isThere) {
          ofPhoto.push_back({photo, {.branch = series.branch, .finding = *finding}});
        }
      }
    }
    std::stable_sort(ofPhoto.begin(), ofPhoto.end(), [&](const PestRow& a, const PestRow& b) {
      return std::make_tuple(matter.branchPlace(a.count.branch), a.count.finding) <
             std::make_tuple(matter.branchPlace(b.count.branch), b.count.finding);
    });
    rows.insert(rows.end(), ofPhoto.begin(), ofPhoto.end());
  }
  return rows;
}

work::FigureChart withinPeriod(const work::FigureChart& chart, const LetterRequest& request) {
  work::FigureChart result = chart;
  for (work::Series& series : result.series) {
    std::erase_if(series.points, [&](const auto& point) { return !isWithin(point.takenAt, request); });
  }
  std::erase_if(result.series, [](const work::Series& series) { return series.points.empty(); });
  std::erase_if(result.treatments, [&](const auto& one) { return !isWithin(one.doneAt, request); });
  return result;
}

}  // namespace

bool isChange(const std::string& figure) {
  return figure == "loss-by-cover" || figure == "loss-by-light" || figure == "spot-change";
}

const store::Photo* Matter::photo(const store::PhotoId& id) const {
  const auto found = std::find_if(detail->photos.begin(), detail->photos.end(),
                                  [&](const store::Photo& one) { return one.id == id; });
  return found == detail->photos.end() ? nullptr : &*found;
}

int Matter::branchPlace(const store::BranchId& id) const {
  for (std::size_t i = 0; i < detail->branches.size(); ++i) {
    if (detail->branches[i].id == id) {
      return static_cast<int>(i);
    }
  }
  return -1;
}

QString Matter::branchName(const store::BranchId& id, const char* otherwise) const {
  const int place = branchPlace(id);
  return place < 0 ? QString::fromUtf8(otherwise)
                   : QString::fromStdString(detail->branches[static_cast<std::size_t>(place)].name);
}

namespace {

bool isKeptPair(const Matter& matter, const store::Measurement& made) {
  return std::any_of(matter.detail->pairs.begin(), matter.detail->pairs.end(), [&](const store::PhotoPair& pair) {
    return pair.branch == made.branch && pair.after == made.photo && made.baselinePhoto == pair.before;
  });
}

std::vector<LatestRow> rowsOf(const Matter& matter, bool changes) {
  std::vector<LatestRow> rows;
  for (std::size_t i = 0; i < matter.figures.size(); ++i) {
    if (isChange(matter.figures[i]->figure) == changes) {
      rows.push_back({matter.figures[i], static_cast<int>(i) + 1});
    }
  }
  return rows;
}

int rankOf(const std::string& figure) {
  return figure == "foliage" || figure == "loss-by-cover" ? 0 : figure == "loss-by-light" ? 1 : 2;
}

}  // namespace

std::vector<LatestRow> latestFigures(const Matter& matter, bool changes) {
  const auto keyOf = [&](const LatestRow& one) {
    return std::make_tuple(matter.branchPlace(one.row->measurement.branch), rankOf(one.row->figure), one.row->figure);
  };
  std::vector<LatestRow> rows = rowsOf(matter, changes);
  // Rows come by time: the last of a key names its latest photo.
  std::map<std::tuple<int, int, std::string>, store::PhotoId> latest;
  for (const LatestRow& one : rows) {
    latest[keyOf(one)] = one.row->measurement.photo;
  }
  std::erase_if(rows, [&](const LatestRow& one) {
    return one.row->measurement.photo != latest[keyOf(one)] && !(changes && isKeptPair(matter, one.row->measurement));
  });
  const auto age = [&](const LatestRow& one) {
    const auto found = std::find_if(matter.photos.begin(), matter.photos.end(), [&](const store::Photo* photo) {
      return photo->id == one.row->measurement.photo;
    });
    return changes ? matter.photos.end() - found : 0;
  };
  std::stable_sort(rows.begin(), rows.end(), [&](const LatestRow& a, const LatestRow& b) {
    return std::make_pair(age(a), keyOf(a)) < std::make_pair(age(b), keyOf(b));
  });
  return rows;
}

Matter pickMatter(const work::TreeDetail& detail, const LetterRequest& request) {
  Matter matter;
  matter.detail = &detail;
  matter.request = request;
  for (const store::Photo& photo : detail.photos) {
    if (isWithin(photo.takenAt, request)) {
      matter.photos.push_back(&photo);
    }
  }
  for (const work::FigureRow& row : detail.figures) {
    if (row.isOfFoliage && isWithin(row.takenAt, request)) {
      matter.figures.push_back(&row);
    }
  }
  for (const store::Treatment& treatment : detail.treatments) {
    if (isWithin(treatment.doneAt, request)) {
      matter.treatments.push_back(&treatment);
    }
  }
  for (const store::Recheck& recheck : detail.rechecks) {
    if (!recheck.doneAt) {
      matter.openRechecks.push_back(&recheck);
    }
  }
  std::stable_sort(matter.openRechecks.begin(), matter.openRechecks.end(),
                   [](const auto* a, const auto* b) { return a->due < b->due; });
  for (const store::Note& note : detail.notes) {
    if (isWithin(note.writtenAt, request)) {
      matter.notes.push_back(&note);
    }
  }
  for (const work::FigureChart& chart : detail.charts) {
    if (auto part = withinPeriod(chart, request); !part.series.empty()) {
      matter.charts.push_back(std::move(part));
    }
  }
  matter.pests = pestRows(matter);
  return matter;
}

}  // namespace edamori::letter
