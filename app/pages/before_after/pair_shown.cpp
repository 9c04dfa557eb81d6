// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/before_after/pair_shown.h"

#include "app/models/text.h"
#include "app/work/measuring.h"
#include "app/work/overview.h"
#include "app/work/pest_change.h"
#include "app/work/photos.h"
#include "vision/align/plane.h"
#include "vision/load/load.h"

#include <QPainter>
#include <algorithm>
#include <cmath>
#include <cstring>

namespace edamori::pages {

using models::qText;
using vision::ChangeKind;

namespace {

constexpr int kSmallestLevelPx = 1600;
// The branch itself gets about this many places of the change map along its longer side.
constexpr double kBranchMapPx = 1000.0;
constexpr int kLeastMapPx = 800;
constexpr int kMostMapPx = 4000;
// As vision::compare: half of all corners keep to this share of the stated error.
constexpr double kTypicalOfStated = 0.2;

QImage toQImage(const RgbImage& image) {
  const QImage wrapped(image.data(),
                       image.width(),
                       image.height(),
                       static_cast<qsizetype>(image.bytesPerRow()),
                       QImage::Format_RGB888);
  return wrapped.convertToFormat(QImage::Format_RGB32);
}

RgbImage toRgbImage(const QImage& image) {
  const QImage rows = image.convertToFormat(QImage::Format_RGB888);
  RgbImage result(rows.width(), rows.height());
  for (int y = 0; y < rows.height(); ++y) {
    std::memcpy(result.row(y), rows.constScanLine(y), result.bytesPerRow());
  }
  return result;
}

Result<void> stopped(const JobControl& control) {
  return control.isCancelled() ? Result<void>(fail(ErrorCode::Cancelled, "stopped"))
                               : Result<void>();
}

std::optional<store::OutlineRecord> outlineOn(const store::Garden& garden,
                                              const store::PhotoId& photo,
                                              const store::BranchId& branch) {
  const auto outlines = garden.outlines(photo);
  if (!outlines) {
    return std::nullopt;
  }
  // The newest when there are several, as comparing takes it.
  const store::OutlineRecord* newest = nullptr;
  for (const store::OutlineRecord& outline : *outlines) {
    if (outline.branch == branch && !outline.shape.polygon.empty() &&
        (newest == nullptr || newest->id < outline.id)) {
      newest = &outline;
    }
  }
  return newest == nullptr ? std::nullopt : std::optional(*newest);
}

Homography scaling(double factor) { return {factor, 0, 0, 0, factor, 0, 0, 0, 1}; }

// The alignment, moved along with an outline that a person moved: where they say the branch is,
// there it is to be laid on its earlier self.
Homography asShown(const vision::Comparison& comparison, const Outline& outlineBefore) {
  const Homography& found = comparison.alignment.afterFromBefore;
  const Outline carried = mapped(found, outlineBefore);
  const PointPx is = centroidPx(comparison.outlineAfter.polygon);
  const PointPx was = centroidPx(carried.polygon);
  const BoundsPx a = boundsPx(comparison.outlineAfter.polygon);
  const BoundsPx b = boundsPx(carried.polygon);
  // One cut by the photo's border, or drawn anew, has its middle elsewhere without having moved.
  const bool isSameShape = std::abs(a.width() - b.width()) + std::abs(a.height() - b.height()) <
                           0.01 * (b.width() + b.height());
  if (!isSameShape) {
    return found;
  }
  return vision::composed({1, 0, is.x - was.x, 0, 1, is.y - was.y, 0, 0, 1}, found);
}

Picture laidOnBefore(const PairPictures& pictures, const Homography& afterFromBefore) {
  const QImage& before = pictures.before.levels.front();
  const QImage& after = pictures.after.levels.front();
  const double beforeScale = 1.0 * before.width() / pictures.before.photoSize.width();
  const double afterScale = 1.0 * after.width() / pictures.after.photoSize.width();
  const Homography h = vision::composed(
      scaling(afterScale), vision::composed(afterFromBefore, scaling(1.0 / beforeScale)));
  return pairPicture(
      vision::warpedOntoBefore(toRgbImage(after), h, before.width(), before.height()),
      pictures.before.photoSize);
}

Picture inGreys(const Picture& picture) {
  const QImage small = picture.levels.back();
  return {.photoSize = picture.photoSize,
          .levels = {small.convertToFormat(QImage::Format_Grayscale8)
                         .convertToFormat(QImage::Format_RGB32)},
          .isWhole = false};
}

// Whether a place of the map is painted: slanted stripes for what is lost, level ones for what was
// gained, dots for what is spotted, upright stripes for what no longer is.
bool isPainted(ChangeKind kind, int x, int y, int unit) {
  const auto within = [unit](int at) { return ((at % (4 * unit)) + 4 * unit) % (4 * unit); };
  switch (kind) {
    case ChangeKind::Lost:
      return within(x + y) < 2 * unit;
    case ChangeKind::Gained:
      return within(y) < 2 * unit;
    case ChangeKind::Spotted: {
      const double dx = within(x) - 1.5 * unit;
      const double dy = within(y) - 1.5 * unit;
      return dx * dx + dy * dy < 2.2 * unit * unit;
    }
    case ChangeKind::Cleared:
      return within(x) < 2 * unit;
    default:
      return false;
  }
}

QRgb paintOf(ChangeKind kind, int x, int y, int unit) {
  const QColor colour = changeColour(kind);
  const int alpha = isPainted(kind, x, y, unit) ? 255 : 90;
  return qPremultiply(qRgba(colour.red(), colour.green(), colour.blue(), alpha));
}

bool isShown(ChangeKind kind) { return kind != ChangeKind::None && kind != ChangeKind::Kept; }

ChangePicture paintedMap(const Raster<1>& map, const QRect& box, double step) {
  ChangePicture picture;
  picture.areaPx = QRectF(box.left() * step, box.top() * step, box.width() * step, box.height() * step);
  picture.image = QImage(box.size(), QImage::Format_ARGB32_Premultiplied);
  const int unit = std::max(1, std::max(box.width(), box.height()) / 260);
  for (int y = 0; y < box.height(); ++y) {
    auto* const line = reinterpret_cast<QRgb*>(picture.image.scanLine(y));
    for (int x = 0; x < box.width(); ++x) {
      const auto kind = static_cast<ChangeKind>(map.at(box.left() + x, box.top() + y));
      line[x] = isShown(kind) ? paintOf(kind, x, y, unit) : 0U;
    }
  }
  return picture;
}

ChangePicture changeOf(const vision::Comparison& comparison,
                       const Outline& outlineBefore,
                       const Homography& afterFromBefore) {
  if (!comparison.before || !comparison.after) {
    return {};
  }
  const LabelImage& labels = comparison.before->labels;
  const BoundsPx box = boundsPx(outlineBefore.polygon);
  const double longSide = std::max(labels.width(), labels.height());
  const double branchSide = std::max({box.width(), box.height(), 1.0});
  const int mapPx = std::clamp(
      static_cast<int>(kBranchMapPx * longSide / branchSide), kLeastMapPx, kMostMapPx);
  const double scale = vision::stretchAt(afterFromBefore, centroidPx(outlineBefore.polygon)).scale;
  const Raster<1> map = vision::changeMap(
      labels,
      outlineBefore,
      comparison.after->labels,
      {.afterFromBefore = afterFromBefore,
       .outlineAfter = comparison.outlineAfter,
       .tolerancePx = kTypicalOfStated * comparison.alignment.errorPx / std::max(scale, 0.01),
       .longSidePx = mapPx});
  const double step = static_cast<double>(labels.width()) / map.width();
  const QRect part = QRectF(QPointF(box.left, box.top) / step, QPointF(box.right, box.bottom) / step)
                         .toAlignedRect()
                         .intersected(QRect(0, 0, map.width(), map.height()));
  return part.isEmpty() ? ChangePicture{} : paintedMap(map, part, step);
}

QStringList figureLines(const vision::Comparison& c) {
  QStringList lines;
  const auto line = [&lines](const std::string& figure, const Estimate& estimate) {
    lines << QObject::tr("%1: %2").arg(qText(work::figureTitle(figure)),
                                       qText(work::figureText(figure, estimate)));
  };
  if (c.before && c.after) {
    lines << QObject::tr("Foliage cover before: %1").arg(qText(work::estimateText(c.before->foliage)))
          << QObject::tr("Foliage cover after: %1").arg(qText(work::estimateText(c.after->foliage)));
  }
  if (c.lossByCover) {
    line("loss-by-cover", *c.lossByCover);
  }
  if (c.lossByLight) {
    line("loss-by-light", *c.lossByLight);
  }
  if (c.spotChange) {
    lines << QObject::tr("Spotted share before: %1").arg(qText(work::estimateText(*c.before->spot)))
          << QObject::tr("Spotted share after: %1").arg(qText(work::estimateText(*c.after->spot)));
    line("spot-change", *c.spotChange);
    // The verdict is on cover alone.
    if (const std::string clear = work::clearSpotChange(*c.spotChange); !clear.empty()) {
      lines.back() += QObject::tr(": %1").arg(qText(clear));
    }
  }
  return lines;
}

// Whether two outlines of a branch on one photo differ by more than the unsteadiness of a hand.
bool liesElsewhere(const Outline& a, const Outline& b) {
  constexpr double kHandShare = 0.03;  // of the longer side
  const BoundsPx one = boundsPx(a.polygon);
  const BoundsPx other = boundsPx(b.polygon);
  const double most = std::max({std::abs(one.left - other.left), std::abs(one.top - other.top),
                                std::abs(one.right - other.right), std::abs(one.bottom - other.bottom)});
  return most > kHandShare * std::max({one.width(), one.height(), other.width(), other.height()});
}

QString verdictWords(Verdict verdict) {
  switch (verdict) {
    case Verdict::ClearLoss:
      return QObject::tr("Clear loss of foliage");
    case Verdict::ClearGain:
      return QObject::tr("Clear gain of foliage");
    case Verdict::NoClearChange:
      return QObject::tr("No clear change of cover: the difference is within what the photos cannot tell");
    case Verdict::CannotTell:
      return QObject::tr("Cannot tell from these photos");
  }
  return {};
}

// The verdict is on cover; a clear change of spots is news of its own.
QString headlineOf(const vision::Comparison& comparison) {
  const std::string clear = comparison.spotChange ? work::clearSpotChange(*comparison.spotChange) : std::string();
  if (clear.empty()) {
    return verdictWords(comparison.verdict);
  }
  switch (comparison.verdict) {
    case Verdict::ClearLoss:
      return QObject::tr("Clear loss of foliage, %1").arg(qText(clear));
    case Verdict::ClearGain:
      return QObject::tr("Clear gain of foliage, %1").arg(qText(clear));
    case Verdict::NoClearChange:
      return QObject::tr("%1; no clear change of cover").arg(models::capitalised(qText(clear)));
    case Verdict::CannotTell:
      return QObject::tr("%1; no telling about cover").arg(models::capitalised(qText(clear)));
  }
  return {};
}

// For a pair that was refused: what to do first, why after it.
void sayRefusal(const std::string& refusal, ComparisonShown& shown) {
  shown.verdict = QObject::tr("These two photos cannot be laid on each other");
  shown.figures << QObject::tr(
      "Show the program 2 to 4 places that are the same on both photos (“Set matching places”). "
      "Or outline the branch on the later photo too, on the Bench: then each photo is measured in its "
      "own outline. Or take the later photo again from where the earlier one was taken: the same side, height "
      "and distance, in even daylight, the whole branch sharp and in the picture.");
  // "what cannot be done: why; what to do"
  const QString whole = qText(refusal);
  const QString why = whole.section(QStringLiteral(": "), 1).section(QStringLiteral("; "), 0, 0);
  shown.cautions << QObject::tr("Why: %1.").arg(why.isEmpty() ? whole : why);
}

// Of bark, on which insects are counted and nothing else is: "Scale insects, live: 30 before, 3 after".
QString countHeadline(const std::vector<work::PestChange>& changes) {
  QStringList words;
  for (const work::PestChange& change : changes) {
    words << QObject::tr("%1: %2 before, %3 after")
                 .arg(qText(change.title))
                 .arg(change.before.value)
                 .arg(change.after.value);
  }
  return words.isEmpty() ? QObject::tr("This part carries no foliage, and no insects were counted on both photos")
                         : words.join(QObject::tr("; "));
}

void addPests(const store::Garden& garden, const PairAsked& asked, const vision::Comparison& comparison,
              ComparisonShown& shown) {
  const auto detail = work::treeDetail(garden, asked.before.tree, models::today());
  if (!detail) {
    return;  // The figures of foliage stand without the counts.
  }
  const std::vector<work::PestChange> changes = work::pestChanges(*detail, asked.pair);
  if (comparison.aligned && vision::hasCaution(comparison, "no-foliage-here")) {
    shown.verdict = countHeadline(changes);
  }
  for (const work::PestChange& change : changes) {
    for (const std::string& line : work::pestChangeLines(change)) {
      shown.figures << qText(line);
    }
  }
}

ComparisonShown shownOf(const work::StoredComparison& stored, const PairPictures& pictures) {
  const vision::Comparison& comparison = stored.comparison;
  ComparisonShown shown;
  shown.aligned = comparison.aligned;
  shown.outlineBefore = stored.outlineBefore;
  for (const Caution& caution : comparison.cautions) {
    shown.cautions << qText(caution.text);
  }
  if (!comparison.aligned) {
    sayRefusal(comparison.refusal, shown);
    return shown;
  }
  shown.verdict = headlineOf(comparison);
  shown.figures = figureLines(comparison);
  if (pictures.outlineAfter && !vision::hasCaution(comparison, "by-outlines") && comparison.before &&
      liesElsewhere(*pictures.outlineAfter, comparison.outlineAfter)) {
    shown.figures << QObject::tr(
        "Both photos were measured in the outline of the earlier one, so that they show the same part of the "
        "branch. In its own outline the later photo can have another cover.");
  }
  if (comparison.lossByLight) {
    shown.figures << QObject::tr("Loss by light is the share of the depth of foliage that is gone, told by the gaps "
                                 "that light comes through; loss by cover is that of the covered area.");
  }
  const Homography afterFromBefore = asShown(comparison, stored.outlineBefore);
  shown.outlineAfter = comparison.outlineAfter;
  if (const auto back = vision::inverted(afterFromBefore)) {
    shown.outlineAfterOnBefore = mapped(*back, comparison.outlineAfter);
  }
  shown.residualPx = comparison.alignment.residualPx;
  shown.laidOn = laidOnBefore(pictures, afterFromBefore);
  shown.grey = inGreys(shown.laidOn);
  shown.change = changeOf(comparison, stored.outlineBefore, afterFromBefore);
  return shown;
}

}  // namespace

Picture pairPicture(const RgbImage& image, QSize photoSize) {
  Picture picture{.photoSize = photoSize, .levels = {}, .isWhole = false};
  RgbImage level = vision::reducedToFit(image, kPairPicturePx);
  picture.levels.push_back(toQImage(level));
  while (std::max(level.width(), level.height()) > kSmallestLevelPx) {
    level = vision::reducedToFit(level, std::max(level.width(), level.height()) / 2);
    picture.levels.push_back(toQImage(level));
  }
  return picture;
}

QColor changeColour(ChangeKind kind) {
  switch (kind) {
    case ChangeKind::Lost:
      return {204, 121, 167};  // reddish purple
    case ChangeKind::Gained:
      return {0, 114, 178};  // blue
    case ChangeKind::Spotted:
      return {213, 94, 0};  // vermillion, as spots have on the Bench
    case ChangeKind::Cleared:
      return {240, 228, 66};  // yellow
    default:
      return {0, 158, 115};  // bluish green
  }
}

QString changeWords(ChangeKind kind) {
  switch (kind) {
    case ChangeKind::Lost:
      return QObject::tr("Lost");
    case ChangeKind::Gained:
      return QObject::tr("Gained");
    case ChangeKind::Spotted:
      return QObject::tr("Spotted after");
    case ChangeKind::Cleared:
      return QObject::tr("No longer spotted");
    default:
      return QObject::tr("Kept");
  }
}

QImage changeSwatch(ChangeKind kind, QSize sizePx) {
  QImage swatch(sizePx, QImage::Format_ARGB32_Premultiplied);
  const int unit = std::max(1, sizePx.height() / 8);
  for (int y = 0; y < swatch.height(); ++y) {
    auto* const line = reinterpret_cast<QRgb*>(swatch.scanLine(y));
    for (int x = 0; x < swatch.width(); ++x) {
      line[x] = paintOf(kind, x, y, unit);
    }
  }
  return swatch;
}

Result<PairPictures> readPair(const PairAsked& asked, const JobControl& control) {
  const auto garden = store::Garden::open(asked.folder);
  if (!garden) {
    return garden.error();
  }
  auto help = garden->pairHelp(asked.pair.branch, asked.pair.before, asked.pair.after);
  if (!help) {
    return help.error();
  }
  const auto onBefore = outlineOn(*garden, asked.before.id, asked.pair.branch);
  const auto onAfter = outlineOn(*garden, asked.after.id, asked.pair.branch);
  PairPictures pictures{.before = {},
                        .after = {},
                        .outlineBefore = onBefore ? std::optional(onBefore->shape) : std::nullopt,
                        .outlineAfter = onAfter ? std::optional(onAfter->shape) : std::nullopt,
                        .isBeforeUnconfirmed = onBefore && !onBefore->confirmed,
                        .isAfterUnconfirmed = onAfter && !onAfter->confirmed,
                        .help = std::move(*help)};
  control.report(0, 2, QObject::tr("Reading the earlier photo"));
  const auto before = work::loadOriginal(*garden, asked.before);
  if (!before) {
    return before.error();
  }
  pictures.before = pairPicture(*before, {before->width(), before->height()});
  EDAMORI_RETURN_IF_ERROR(stopped(control));
  control.report(1, 2, QObject::tr("Reading the later photo"));
  const auto after = work::loadOriginal(*garden, asked.after);
  if (!after) {
    return after.error();
  }
  pictures.after = pairPicture(*after, {after->width(), after->height()});
  EDAMORI_RETURN_IF_ERROR(stopped(control));
  return pictures;
}

Result<ComparisonShown> comparePair(const PairAsked& asked,
                                    const PairPictures& pictures,
                                    const JobControl& control) {
  auto garden = store::Garden::open(asked.folder);
  if (!garden) {
    return garden.error();
  }
  int step = 0;
  constexpr int kSteps = 5;
  const auto listener = [&](const std::string& doing) {
    control.report(step++, kSteps, qText(doing));
    return !control.isCancelled();
  };
  const auto stored = work::comparePhotos(
      *garden, asked.pair.branch, asked.pair.before, asked.pair.after, listener);
  if (!stored) {
    return stored.error();
  }
  control.report(step, kSteps, QObject::tr("Drawing the pair"));
  ComparisonShown shown = shownOf(*stored, pictures);
  addPests(*garden, asked, stored->comparison, shown);
  return shown;
}

}  // namespace edamori::pages
