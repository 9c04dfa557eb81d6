// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/tree/comparison_shown.h"

#include "app/models/previews_internal.h"
#include "app/models/text.h"
#include "app/work/measuring.h"
#include "app/work/overview.h"
#include "app/work/photos.h"

#include <QPainter>
#include <algorithm>
#include <cmath>
#include <optional>

namespace edamori::pages {

using models::qText;

namespace {

constexpr double kMargin = 0.12;  // around the branch, as a share of its longer side
// Okabe–Ito sky blue (Okabe & Ito 2008), as for the chosen outline on the Bench.
constexpr QColor kOutline(86, 180, 233);

// H for previews from H for full-size pixels.
Homography forPreviews(const Homography& h, double beforeScale, double afterScale) {
  Homography scaled = h;
  for (std::size_t i = 0; i < 6; ++i) {
    scaled[i] *= afterScale;
  }
  for (std::size_t row = 0; row < 9; row += 3) {
    scaled[row] /= beforeScale;
    scaled[row + 1] /= beforeScale;
  }
  return scaled;
}

// The adjugate: a homography's scale does not matter.
Homography inverseOf(const Homography& h) {
  return {h[4] * h[8] - h[5] * h[7],
          h[2] * h[7] - h[1] * h[8],
          h[1] * h[5] - h[2] * h[4],
          h[5] * h[6] - h[3] * h[8],
          h[0] * h[8] - h[2] * h[6],
          h[2] * h[3] - h[0] * h[5],
          h[3] * h[7] - h[4] * h[6],
          h[1] * h[6] - h[0] * h[7],
          h[0] * h[4] - h[1] * h[3]};
}

Outline scaledBy(const Outline& outline, double scale) {
  return mapped(Homography{scale, 0, 0, 0, scale, 0, 0, 0, 1}, outline);
}

QRect boxAround(const Outline& outline, const QSize& picture) {
  const BoundsPx box = boundsPx(outline.polygon);
  const double margin = kMargin * std::max(box.width(), box.height());
  const QRectF around(QPointF(box.left - margin, box.top - margin),
                      QPointF(box.right + margin, box.bottom + margin));
  return around.toAlignedRect().intersected(QRect(QPoint(), picture));
}

// `outline` drawn on the picture; both in the picture's px.
QImage withOutline(QImage picture, const Outline& outline, const QRect& part) {
  QPolygonF points;
  for (const PointPx& corner : outline.polygon) {
    points << QPointF(corner.x, corner.y);
  }
  QPainter painter(&picture);
  painter.setRenderHint(QPainter::Antialiasing);
  painter.setBrush(Qt::NoBrush);
  // Drawn for the size that the part is shown at, some hundred px.
  const double widthPx = std::max(1.0, part.width() / 220.0);
  painter.setPen(QPen(QColor(0, 0, 0, 170), 2.2 * widthPx));
  painter.drawPolygon(points);
  painter.setPen(QPen(kOutline, widthPx));
  painter.drawPolygon(points);
  painter.end();
  return picture.copy(part);
}

std::optional<Outline> outlineOn(const store::Garden& garden,
                                 const store::Photo& photo,
                                 const store::BranchId& branch) {
  const auto outlines = garden.outlines(photo.id);
  if (!outlines) {
    return std::nullopt;
  }
  const auto at = std::ranges::find(*outlines, branch, &store::OutlineRecord::branch);
  return at == outlines->end() || at->shape.polygon.empty() ? std::nullopt
                                                            : std::optional(at->shape);
}

QImage pictureOf(const store::Garden& garden,
                 const store::Photo& photo,
                 const store::BranchId& branch) {
  const auto preview = work::loadPreview(garden, photo, work::kLargePreviewPx);
  if (!preview) {
    return {};
  }
  const QImage picture = models::qImage(*preview);
  const auto outline = outlineOn(garden, photo, branch);
  if (!outline || photo.widthPx <= 0) {
    return picture;
  }
  const Outline shown = scaledBy(*outline, 1.0 * picture.width() / photo.widthPx);
  const QRect part = boxAround(shown, picture.size());
  return part.isEmpty() ? picture : withOutline(picture, shown, part);
}

// The later photo laid on the earlier one, both cut to the branch as it lies there.
PairPictures alignedPictures(const store::Garden& garden,
                             const PairAsked& asked,
                             const vision::Comparison& comparison) {
  const auto before = work::loadPreview(garden, asked.before, work::kLargePreviewPx);
  const auto after = work::loadPreview(garden, asked.after, work::kLargePreviewPx);
  const auto outline = outlineOn(garden, asked.before, asked.branch);
  if (!before || !after || !outline || asked.before.widthPx <= 0 || asked.after.widthPx <= 0) {
    return {};  // The figures stand without the pictures.
  }
  const double beforeScale = 1.0 * before->width() / asked.before.widthPx;
  const double afterScale = 1.0 * after->width() / asked.after.widthPx;
  const Homography afterFromBefore =
      forPreviews(comparison.alignment.afterFromBefore, beforeScale, afterScale);
  const Outline shown = scaledBy(*outline, beforeScale);
  const Outline carried =
      mapped(inverseOf(afterFromBefore), scaledBy(comparison.outlineAfter, afterScale));
  const QRect part = boxAround(shown, QSize(before->width(), before->height()));
  const RgbImage warped =
      vision::warpedOntoBefore(*after, afterFromBefore, before->width(), before->height());
  return {.before = withOutline(models::qImage(*before), shown, part),
          .after = withOutline(models::qImage(warped), carried, part)};
}

QStringList figureLines(const vision::Comparison& c) {
  QStringList lines;
  const auto line = [&lines](const QString& title, const Estimate& estimate) {
    lines << QObject::tr("%1: %2").arg(title, qText(work::estimateText(estimate)));
  };
  if (c.before && c.after) {
    line(QObject::tr("Foliage cover before"), c.before->foliage);
    line(QObject::tr("Foliage cover after"), c.after->foliage);
  }
  if (c.lossByCover) {
    line(qText(work::figureTitle("loss-by-cover")), *c.lossByCover);
  }
  if (c.lossByLight) {
    line(qText(work::figureTitle("loss-by-light")), *c.lossByLight);
  }
  if (c.spotChange) {
    line(qText(work::figureTitle("spot-change")), *c.spotChange);
  }
  return lines;
}

QString verdictWords(Verdict verdict) {
  switch (verdict) {
    case Verdict::ClearLoss:
      return QObject::tr("Clear loss of foliage");
    case Verdict::ClearGain:
      return QObject::tr("Clear gain of foliage");
    case Verdict::NoClearChange:
      return QObject::tr("No clear change: the difference is within what the photos cannot tell");
    case Verdict::CannotTell:
      return QObject::tr("Cannot tell from these photos");
  }
  return {};
}

// For a pair that was refused: what to do first, why after it.
void sayRefusal(const std::string& refusal, ComparisonShown& shown) {
  shown.verdict = QObject::tr("These two photos cannot be laid on each other");
  shown.figures << QObject::tr(
      "Take the later photo again from where the earlier one was taken: the same side, height and "
      "distance, in even daylight, the whole branch sharp and in the picture. Or choose another "
      "pair of photos above.");
  // "what cannot be done: why; what to do"
  const QString whole = qText(refusal);
  const QString why = whole.section(QStringLiteral(": "), 1).section(QStringLiteral("; "), 0, 0);
  shown.cautions << QObject::tr("Why: %1.").arg(why.isEmpty() ? whole : why);
}

}  // namespace

Result<PairPictures> picturesOf(const PairAsked& asked) {
  const auto garden = store::Garden::open(asked.folder);
  if (!garden) {
    return garden.error();
  }
  PairPictures pictures;
  if (!asked.before.id.isEmpty()) {
    pictures.before = pictureOf(*garden, asked.before, asked.branch);
  }
  if (!asked.after.id.isEmpty()) {
    pictures.after = pictureOf(*garden, asked.after, asked.branch);
  }
  return pictures;
}

Result<ComparisonShown> compareShown(const PairAsked& asked) {
  auto garden = store::Garden::open(asked.folder);
  if (!garden) {
    return garden.error();
  }
  const auto stored =
      work::comparePhotos(*garden, asked.branch, asked.before.id, asked.after.id);
  if (!stored) {
    return stored.error();
  }
  const vision::Comparison& comparison = stored->comparison;
  ComparisonShown shown;
  shown.aligned = comparison.aligned;
  for (const Caution& caution : comparison.cautions) {
    shown.cautions << qText(caution.text);
  }
  if (comparison.aligned) {
    shown.verdict = verdictWords(comparison.verdict);
    shown.figures = figureLines(comparison);
    shown.pictures = alignedPictures(*garden, asked, comparison);
  } else {
    sayRefusal(comparison.refusal, shown);
    shown.pictures = {.before = pictureOf(*garden, asked.before, asked.branch),
                      .after = pictureOf(*garden, asked.after, asked.branch)};
  }
  return shown;
}

}  // namespace edamori::pages
