// SPDX-License-Identifier: GPL-3.0-or-later
// An invented tree with everything a letter can show; no database needed.
#pragma once

#include "app/letter/compose_internal.h"

#include <QPainter>

#include <chrono>
#include <string>

namespace edamori::test {

using namespace std::chrono_literals;

inline store::LocalTime on(std::chrono::year_month_day date) {
  return {.date = date, .timeOfDay = 10h, .subSeconds = {}, .offsetMinutes = 120};
}

inline store::Photo photo(const std::string& id, std::chrono::year_month_day date,
                          store::DateSource source = store::DateSource::Camera) {
  store::Photo result;
  result.id = {id};
  result.originalName = id + ".jpg";
  result.sha256 = std::string(id == "P1" ? "1a2b3c4d" : id == "P2" ? "5e6f7a8b" : "9c0d1e2f") + std::string(56, '0');
  result.widthPx = 4000;
  result.heightPx = 3000;
  result.takenAt = on(date);
  result.dateSource = source;
  return result;
}

inline work::FigureRow figure(const store::Photo& photo, const std::string& branchId, const std::string& name,
                              const std::string& figureName, Estimate estimate) {
  work::FigureRow row;
  row.treeTag = "ED-07";
  row.branchName = name;
  row.figure = figureName;
  row.takenAt = photo.takenAt;
  row.dateSource = photo.dateSource;
  row.photoName = photo.originalName;
  row.photoHash = photo.sha256;
  row.measurement.photo = photo.id;
  row.measurement.branch = {branchId};
  row.measurement.outline = {"0190a0b0-0000-7000-8000-0000ab12cd3" + branchId.substr(1)};
  row.measurement.figure = figureName;
  row.measurement.estimate = estimate;
  row.measurement.unit = "1";
  row.measurement.method = {.name = "foliage-and-spots", .version = 3, .parameters = "{}"};
  row.measurement.madeAt = on(2026y / 4 / 13);
  return row;
}

inline work::FigureRow change(work::FigureRow row, const store::Photo& before, const std::string& verdict) {
  row.measurement.baselinePhoto = before.id;
  row.measurement.verdict = row.verdict = verdict;
  return row;
}

inline store::Mark mark(const std::string& photoId, const std::string& branch, store::Stage stage, int count) {
  store::Mark result;
  result.photo = {photoId};
  result.branch = {branch};
  result.stage = stage;
  result.count = count;
  result.centre = {2000, 1500};
  return result;
}

// Three photos, two branches, changes of both kinds, insects, one incomplete spray.
inline work::TreeDetail sampleDetail() {
  work::TreeDetail d;
  d.summary.tree = {.id = {"T"}, .tag = "ED-07", .species = "Pinus invented", .cultivar = "Letter Test",
                    .owner = {"O"}, .place = "Bench 3", .note = {}, .subject = Subject::Needles};
  d.owner = store::Owner{.id = {"O"}, .name = "Owner Invented", .contact = "Nowhere Lane 1", .note = {}};
  d.branches = {{.id = {"B1"}, .tree = {"T"}, .kind = store::BranchKind::Branch, .name = "First left", .order = 1},
                {.id = {"B2"}, .tree = {"T"}, .kind = store::BranchKind::Apex, .name = "Apex", .order = 2}};
  d.photos = {photo("P1", 2025y / 5 / 3), photo("P2", 2025y / 9 / 20, store::DateSource::FileTime),
              photo("P3", 2026y / 4 / 12)};
  d.figures = {figure(d.photos[0], "B1", "First left", "foliage", {0.712, 0.668, 0.753}),
               figure(d.photos[0], "B2", "Apex", "foliage", {0.634, 0.590, 0.675}),
               figure(d.photos[1], "B1", "First left", "foliage", {0.690, 0.641, 0.737}),
               figure(d.photos[2], "B1", "First left", "foliage", {0.624, 0.581, 0.669}),
               change(figure(d.photos[2], "B1", "First left", "loss-by-cover", {0.124, 0.052, 0.193}), d.photos[0], "clear loss"),
               figure(d.photos[2], "B1", "First left", "spot", {0.083, 0.047, 0.131}),
               figure(d.photos[2], "B2", "Apex", "foliage", {0.641, 0.588, 0.689}),
               change(figure(d.photos[2], "B2", "Apex", "loss-by-cover", {-0.011, -0.094, 0.071}), d.photos[0], "no clear change")};
  d.figures[5].measurement.cautions = {{.code = "blur", .text = "The photo is somewhat blurred here."}};
  for (const char* name : {"foliage", "spot"}) {
    work::FigureChart chart{.figure = name, .title = work::figureTitle(name), .isFraction = true, .series = {}, .treatments = {}};
    for (const store::Branch& branch : d.branches) {
      work::Series series{.branch = branch.id, .branchName = branch.name, .points = {}};
      for (const work::FigureRow& row : d.figures) {
        if (row.figure == name && row.measurement.branch == branch.id) {
          series.points.push_back({row.measurement.photo, row.takenAt, row.dateSource == store::DateSource::FileTime,
                                   row.measurement.estimate, !row.measurement.cautions.empty()});
        }
      }
      if (!series.points.empty()) {
        chart.series.push_back(series);
      }
    }
    d.charts.push_back(chart);
  }
  d.marks = {mark("P1", "B1", store::Stage::Live, 5), mark("P1", "B1", store::Stage::Live, 2),
             mark("P1", "B1", store::Stage::Dead, 3), mark("P3", "B2", store::Stage::Removed, 4)};
  work::FigureChart pests{.figure = "scale insect", .title = "Scale insects, live", .isFraction = false, .series = {}, .treatments = {}};
  pests.series.push_back({.branch = {"B1"}, .branchName = "First left",
                          .points = {{{"P1"}, on(2025y / 5 / 3), false, {7, 2.8, 14.4}, false},
                                     {{"P3"}, on(2026y / 4 / 12), false, {0, 0, 3.7}, false}}});
  d.charts.push_back(pests);
  store::Treatment hand;
  hand.tree = {"T"};
  hand.branch = {"B1"};
  hand.kind = store::TreatmentKind::HandRemoval;
  hand.doneAt = on(2025y / 5 / 4);
  hand.who = "A. Keeper";
  store::Treatment spray;
  spray.tree = {"T"};
  spray.kind = store::TreatmentKind::Spray;
  spray.doneAt = on(2025y / 6 / 1);
  spray.product = "Invented Oil";
  spray.reentryHours = 12.0;
  spray.who = "A. Keeper";
  d.treatments = {hand, spray};
  for (work::FigureChart& chart : d.charts) {
    chart.treatments = d.treatments;
  }
  d.rechecks = {{.id = {"R1"}, .tree = {"T"}, .branch = {"B1"}, .due = 2026y / 5 / 1, .reason = "count the scale insects again", .doneAt = {}},
                {.id = {"R2"}, .tree = {"T"}, .branch = {}, .due = 2026y / 4 / 1, .reason = "look at the needles", .doneAt = {}}};
  d.notes = {{.id = {"N1"}, .tree = {"T"}, .writtenAt = on(2026y / 4 / 12), .text = "Moved out of the wind."}};
  return d;
}

inline letter::LetterRequest sampleRequest() {
  return {.tree = {"T"}, .from = {}, .to = {}, .today = 2026y / 4 / 14};
}

inline letter::PictureAnswer plainPicture(const store::Photo&, const store::BranchId&) {
  QImage image(400, 300, QImage::Format_RGB32);
  image.fill(QColor(70, 110, 60));
  return {image, {}, {}};
}

}  // namespace edamori::test
