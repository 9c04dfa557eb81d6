// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/letter/sections_internal.h"

#include "app/letter/wording_internal.h"
#include "app/look/theme.h"
#include "app/work/figure_inputs.h"

#include <algorithm>
#include <optional>

namespace edamori::letter {

namespace {

struct PairToShow {
  const store::Photo* before = nullptr;  // nullptr: a single picture
  const store::Photo* after = nullptr;
  store::BranchId branch;
  QString title;
};

bool isInPeriod(const Matter& matter, const store::Photo* photo) {
  return std::find(matter.photos.begin(), matter.photos.end(), photo) != matter.photos.end();
}

// The pairs that were chosen; else those that changes were measured on; else the latest photo alone.
std::vector<PairToShow> pairsToShow(const Matter& matter) {
  std::vector<PairToShow> result;
  for (const store::PhotoPair& pair : matter.detail->pairs) {
    const store::Photo* before = matter.photo(pair.before);
    const store::Photo* after = matter.photo(pair.after);
    if (before != nullptr && after != nullptr && isInPeriod(matter, after)) {
      result.push_back({before, after, pair.branch, toQt(pair.title)});
    }
  }
  if (result.empty()) {
    for (const LatestRow& latest : latestFigures(matter, true)) {
      const store::Measurement& made = latest.row->measurement;
      const store::Photo* before = made.baselinePhoto ? matter.photo(*made.baselinePhoto) : nullptr;
      const store::Photo* after = matter.photo(made.photo);
      if (latest.row->figure == "loss-by-cover" && before != nullptr && after != nullptr) {
        result.push_back({before, after, made.branch, {}});
      }
    }
  }
  if (result.empty() && !matter.photos.empty()) {
    result.push_back({nullptr, matter.photos.back(), {}, {}});
  }
  return result;
}

// A kept pair is often titled with the branch's name in front: that is said once.
QString titleOf(const QString& branchName, const QString& title) {
  if (title.isEmpty()) {
    return branchName;
  }
  const bool namesBranch = title.startsWith(branchName, Qt::CaseInsensitive) &&
                           (title.size() == branchName.size() || !title.at(branchName.size()).isLetterOrNumber());
  return namesBranch ? title : branchName + QStringLiteral(" – ") + title;
}

Picture pictureOf(const PictureSource& pictures, const store::Photo& photo,
                  const store::BranchId& branch, const QString& role, const QString& branchName) {
  PictureAnswer answer = pictures(photo, branch);
  Picture picture;
  picture.caption = role + photoDate(photo.takenAt, photo.dateSource) + QLatin1Char('\n') +
                    photoReference(photo.originalName, photo.sha256);
  if (answer.image.isNull()) {
    picture.caption += QStringLiteral("\nThe picture could not be shown: ") + answer.problem;
  }
  picture.description = role + branchName + QStringLiteral(", ") + longDate(photo.takenAt.date);
  picture.legend = std::move(answer.legend);
  picture.image = std::move(answer.image);
  return picture;
}

QString cautionLine(const work::FigureRow& row) {
  return row.measurement.cautions.empty() ? QString() : QStringLiteral("\nwith a caution");
}

// What a loss of cover is the loss of: cover as the pair was compared, which need not be that of each photo's own outline.
QString coverLine(const work::FigureRow& row) {
  if (row.figure != "loss-by-cover") {
    return {};
  }
  const auto inputs = work::inputsOf(row.measurement.method);
  if (!inputs || !inputs->coverBefore || !inputs->coverAfter) {
    return {};
  }
  const auto words = [](const Estimate& cover) {
    return QString::number(100.0 * cover.value, 'f', 1) + QStringLiteral("\u00a0%");
  };
  return QStringLiteral("\ncover ") + words(*inputs->coverBefore) + QStringLiteral(" → ") + words(*inputs->coverAfter);
}

QString changeDates(const store::Photo* before, const QString& after) {
  const QString from = before == nullptr ? QStringLiteral("baseline no longer in the garden")
                                         : shortPhotoDate(before->takenAt, before->dateSource);
  return from + QStringLiteral(" → ") + after;
}

bool hasLoss(const Matter& matter, const PairToShow& pair) {
  return std::any_of(matter.figures.begin(), matter.figures.end(), [&](const work::FigureRow* row) {
    const store::Measurement& made = row->measurement;
    return row->figure == "loss-by-cover" && made.branch == pair.branch && made.photo == pair.after->id &&
           made.baselinePhoto == pair.before->id;
  });
}

bool isOnFoliage(const Matter& matter, const store::BranchId& branch) {
  const int place = matter.branchPlace(branch);
  return place < 0 || store::carriesFoliage(matter.detail->branches[static_cast<std::size_t>(place)].kind);
}

// A pair that is shown without a loss would leave its reader guessing.
std::vector<QStringList> pairsWithoutLoss(const Matter& matter) {
  std::vector<QStringList> rows;
  for (const PairToShow& pair : pairsToShow(matter)) {
    if (pair.before != nullptr && isOnFoliage(matter, pair.branch) && !hasLoss(matter, pair)) {
      rows.push_back({matter.branchName(pair.branch, "whole photo"), toQt(work::figureTitle("loss-by-cover")),
                      QStringLiteral("none stated"), toQt(toText(Verdict::CannotTell)),
                      changeDates(pair.before, shortPhotoDate(pair.after->takenAt, pair.after->dateSource)),
                      QStringLiteral("–")});
    }
  }
  return rows;
}

std::optional<Table> changeTable(const Matter& matter) {
  Table table{{QStringLiteral("Branch"), QStringLiteral("Change"), QStringLiteral("With 95\u00a0% interval"),
               QStringLiteral("Verdict"), QStringLiteral("Photos of"), QStringLiteral("No.")},
              {0.15, 0.17, 0.29, 0.15, 0.18, 0.06}, {}};
  for (const LatestRow& one : latestFigures(matter, true)) {
    const store::Measurement& made = one.row->measurement;
    const store::Photo* before = made.baselinePhoto ? matter.photo(*made.baselinePhoto) : nullptr;
    table.rows.push_back({matter.branchName(made.branch, "whole photo"), toQt(work::figureTitle(one.row->figure)),
                          figureText(*one.row) + coverLine(*one.row) + cautionLine(*one.row), verdictText(*one.row),
                          changeDates(before, shortPhotoDate(one.row->takenAt, one.row->dateSource)),
                          QString::number(one.number)});
  }
  for (QStringList& row : pairsWithoutLoss(matter)) {
    table.rows.push_back(std::move(row));
  }
  return table.rows.empty() ? std::nullopt : std::optional<Table>(std::move(table));
}

}  // namespace

Blocks pictureSection(const Matter& matter, const PictureSource& pictures) {
  Blocks blocks;
  const auto pairs = pairsToShow(matter);
  if (pairs.empty()) {
    return blocks;
  }
  const bool isPair = pairs.front().before != nullptr;
  blocks.emplace_back(Heading{isPair ? QStringLiteral("Before and after") : QStringLiteral("Latest photo")});
  for (const PairToShow& pair : pairs) {
    const QString name = matter.branchName(pair.branch, "Whole photo");
    PictureRow row;
    row.title = titleOf(name, pair.title);
    if (pair.before != nullptr) {
      row.pictures.push_back(pictureOf(pictures, *pair.before, pair.branch, QStringLiteral("Before: "), name));
    }
    row.pictures.push_back(pictureOf(pictures, *pair.after, pair.branch,
                                     pair.before == nullptr ? QString() : QStringLiteral("After: "), name));
    blocks.emplace_back(std::move(row));
  }
  return blocks;
}

Blocks figureSection(const Matter& matter) {
  Blocks blocks;
  const auto latest = latestFigures(matter, false);
  auto changes = changeTable(matter);
  if (latest.empty() && !changes) {
    return {Heading{QStringLiteral("Figures")},
            Paragraph{QStringLiteral("Nothing was measured in this period.")}};
  }
  blocks.emplace_back(Heading{QStringLiteral("Figures by branch")});
  Table table{{QStringLiteral("Branch"), QStringLiteral("Figure"), QStringLiteral("Latest, with 95\u00a0% interval"),
               QStringLiteral("Photographed"), QStringLiteral("No.")},
              {0.25, 0.22, 0.29, 0.17, 0.07}, {}};
  for (const LatestRow& one : latest) {
    table.rows.push_back({matter.branchName(one.row->measurement.branch, "whole photo"),
                          toQt(work::figureTitle(one.row->figure)),
                          figureText(*one.row) + cautionLine(*one.row),
                          shortPhotoDate(one.row->takenAt, one.row->dateSource), QString::number(one.number)});
  }
  if (!table.rows.empty()) {
    blocks.emplace_back(std::move(table));
  }
  const bool hasChanges = changes.has_value();
  if (hasChanges) {
    blocks.emplace_back(std::move(*changes));
  }
  QString note = QStringLiteral("Each figure comes with a 95\u00a0% interval: what the photo cannot tell. ");
  if (hasChanges) {
    note += QStringLiteral("A change is called one only when its whole interval lies on one side of zero; a negative loss is regrowth. "
                           "Loss by cover is the share of the covered area that is gone, loss by light the share of the depth of foliage, "
                           "told by the gaps that light comes through. ");
  }
  note += QStringLiteral("The numbers lead to the photo, outline and method of each figure at the end of this letter.");
  blocks.emplace_back(Paragraph{note, Paragraph::Kind::Note});
  return blocks;
}

namespace {

Blocks insectTable(const Matter& matter) {
  Table table{{QStringLiteral("Taken"), QStringLiteral("Branch"), QStringLiteral("Finding"),
               QStringLiteral("Live, 95\u00a0% interval"), QStringLiteral("Dead"), QStringLiteral("Removed"), QStringLiteral("Photo")},
              {0.14, 0.14, 0.12, 0.19, 0.07, 0.13, 0.21}, {}};
  for (const PestRow& row : matter.pests) {
    if (!work::isInsect(row.count.finding)) {
      continue;
    }
    const auto number = [](int count) { return count == 0 ? QStringLiteral("–") : QString::number(count); };
    table.rows.push_back({shortPhotoDate(row.photo->takenAt, row.photo->dateSource),
                          matter.branchName(row.count.branch, "no branch"), look::findingName(row.count.finding),
                          briefCountText(row.count.live), number(row.count.dead), number(row.count.removed),
                          photoReference(row.photo->originalName, row.photo->sha256)});
  }
  if (table.rows.empty()) {
    return {};
  }
  return {Heading{QStringLiteral("Insects counted")}, std::move(table),
          Paragraph{QStringLiteral("Counts are of marks set by a person on photos that were looked at. “None seen” "
                                   "does not mean none there: a count of nothing still allows a mean of up to 3.7 "
                                   "(95\u00a0%, Poisson). The intervals hold chance alone; insects hidden from the "
                                   "camera come on top."),
                    Paragraph::Kind::Note}};
}

// "2 patches, 3 dots"; what was removed is said apart.
QString markedText(const work::FindingCount& count) {
  QStringList parts;
  if (count.patches > 0) {
    parts << counted(count.patches, QStringLiteral("patch"), QStringLiteral("patches"));
  }
  if (count.dots > 0) {
    parts << counted(count.dots, QStringLiteral("dot"), QStringLiteral("dots"));
  }
  if (count.removed > 0) {
    parts << QString::number(count.removed) + QStringLiteral("\u00a0removed");
  }
  return parts.join(QStringLiteral(", "));
}

// Blight, spots and scorch: a number of patches is no number of insects and has no interval.
Blocks patchTable(const Matter& matter) {
  Table table{{QStringLiteral("Taken"), QStringLiteral("Branch"), QStringLiteral("Finding"), QStringLiteral("Marked"),
               QStringLiteral("Of its outline"), QStringLiteral("Photo")},
              {0.13, 0.115, 0.15, 0.10, 0.11, 0.395}, {}};
  for (const PestRow& row : matter.pests) {
    if (work::isInsect(row.count.finding)) {
      continue;
    }
    const std::optional<double> share = row.count.patchShare;
    table.rows.push_back({shortPhotoDate(row.photo->takenAt, row.photo->dateSource),
                          matter.branchName(row.count.branch, "no branch"), look::findingName(row.count.finding),
                          markedText(row.count),
                          share ? QString::number(*share * 100.0, 'f', 0) + QStringLiteral("\u00a0%") : QStringLiteral("–"),
                          photoReference(row.photo->originalName, row.photo->sha256)});
  }
  if (table.rows.empty()) {
    return {};
  }
  return {Heading{QStringLiteral("Blight, spots and other marks")}, std::move(table),
          Paragraph{QStringLiteral("Patches show where a person saw the finding, and how much of the branch’s outline "
                                   "they take up. Sound foliage may lie in them too: how much of the foliage is "
                                   "spotted or blighted is measured, and stands under “Figures by branch”."),
                    Paragraph::Kind::Note}};
}

}  // namespace

Blocks pestSection(const Matter& matter) {
  Blocks blocks = insectTable(matter);
  for (Block& block : patchTable(matter)) {
    blocks.push_back(std::move(block));
  }
  return blocks;
}

Blocks chartSection(const Matter& matter) {
  Blocks blocks;
  for (const work::FigureChart& chart : matter.charts) {
    if (blocks.empty()) {
      blocks.emplace_back(Heading{QStringLiteral("Over time")});
    }
    QStringList names;
    for (const work::Series& series : chart.series) {
      names << toQt(series.branchName);
    }
    blocks.emplace_back(Chart{chart, toQt(chart.title) + QStringLiteral(" over time: ") + listed(names) +
                                         QStringLiteral(". The values are in the tables of this letter.")});
  }
  return blocks;
}

Blocks recheckSection(const Matter& matter) {
  Blocks blocks{Heading{QStringLiteral("Next checks")}};
  if (matter.openRechecks.empty()) {
    blocks.emplace_back(Paragraph{QStringLiteral("No checks are planned.")});
    return blocks;
  }
  Table table{{QStringLiteral("Due"), QStringLiteral("Where"), QStringLiteral("Why")}, {0.24, 0.28, 0.48}, {}};
  for (const store::Recheck* recheck : matter.openRechecks) {
    const bool isLate = recheck->due.ok() && recheck->due < matter.request.today;
    table.rows.push_back({longDate(recheck->due) + (isLate ? QStringLiteral("\noverdue") : QString()),
                          matter.branchName(recheck->branch, "whole tree"),
                          recheck->reason.empty() ? QStringLiteral("no reason recorded") : toQt(recheck->reason)});
  }
  blocks.emplace_back(std::move(table));
  return blocks;
}

Blocks noteSection(const Matter& matter) {
  Blocks blocks;
  for (const store::Note* note : matter.notes) {
    if (blocks.empty()) {
      blocks.emplace_back(Heading{QStringLiteral("Notes")});
    }
    blocks.emplace_back(Paragraph{longDate(note->writtenAt.date) + QStringLiteral(": ") + toQt(note->text)});
  }
  return blocks;
}

}  // namespace edamori::letter
