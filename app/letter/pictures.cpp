// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/letter/pictures_internal.h"

#include "app/letter/wording_internal.h"
#include "app/look/theme.h"
#include "app/work/figure_inputs.h"
#include "app/work/photos.h"

#include <QPainter>
#include <QPolygonF>

#include <algorithm>

namespace edamori::letter {

namespace {

constexpr int kPicturePx = 1000;   // 85 mm in print at 300 dpi
constexpr double kMargin = 0.08;   // around an outline, of its longer side

QImage imageFrom(const RgbImage& raster) {
  const QImage borrowed(raster.data(), raster.width(), raster.height(),
                        static_cast<qsizetype>(raster.bytesPerRow()), QImage::Format_RGB888);
  return borrowed.convertToFormat(QImage::Format_RGB32);  // A copy: the raster goes away.
}

QRectF shownPart(const store::Photo& photo, const std::optional<Outline>& outline) {
  const QRectF whole(0.0, 0.0, photo.widthPx, photo.heightPx);
  if (!outline) {
    return whole;
  }
  const BoundsPx box = boundsPx(outline->polygon);
  const double margin = kMargin * std::max(box.width(), box.height());
  const QRectF part = QRectF(box.left, box.top, box.width(), box.height())
                          .adjusted(-margin, -margin, margin, margin)
                          .intersected(whole);
  return part.isEmpty() ? whole : part;
}

// The kept preview where it is fine enough for print, else the original.
Result<QImage> loadPart(const store::Garden& garden, const store::Photo& photo, const QRectF& part) {
  const double longSide = std::max(photo.widthPx, photo.heightPx);
  const double previewPx = std::max(part.width(), part.height()) * std::min(1.0, work::kLargePreviewPx / longSide);
  constexpr double kFineEnough = 0.7 * kPicturePx;
  auto loaded = previewPx >= kFineEnough ? work::loadPreview(garden, photo, work::kLargePreviewPx)
                                         : work::loadOriginal(garden, photo);
  if (!loaded) {
    return loaded.error();
  }
  const QImage image = imageFrom(*loaded);
  const double scale = static_cast<double>(image.width()) / photo.widthPx;
  const QRect cut = QRectF(part.topLeft() * scale, part.size() * scale).toAlignedRect().intersected(image.rect());
  const QImage whole = image.copy(cut);
  return whole.width() > kPicturePx || whole.height() > kPicturePx
             ? whole.scaled(kPicturePx, kPicturePx, Qt::KeepAspectRatio, Qt::SmoothTransformation)
             : whole;
}

// Where the branch lay on a later photo without an outline of its own, when it was compared last.
Result<std::optional<Outline>> placedByComparing(const store::Garden& garden, const store::Photo& photo,
                                                 const store::BranchId& branch) {
  const auto measured = garden.measurements(photo.id);
  if (!measured) {
    return measured.error();
  }
  for (auto made = measured->rbegin(); made != measured->rend(); ++made) {
    if (made->branch != branch || !made->baselinePhoto) {
      continue;
    }
    if (auto inputs = work::inputsOf(made->method); inputs && inputs->placedAfter) {
      return std::move(inputs->placedAfter);
    }
  }
  return std::optional<Outline>();
}

Result<std::optional<Outline>> outlineOf(const store::Garden& garden, const store::Photo& photo,
                                         const store::BranchId& branch) {
  if (branch.isEmpty()) {
    return std::optional<Outline>();
  }
  auto outlines = garden.outlines(photo.id);
  if (!outlines) {
    return outlines.error();
  }
  const auto found = std::find_if(outlines->begin(), outlines->end(),
                                  [&](const store::OutlineRecord& one) { return one.branch == branch; });
  return found == outlines->end() ? placedByComparing(garden, photo, branch) : std::optional<Outline>(found->shape);
}

void drawTwoTone(QPainter& painter, const QPolygonF& shape, const QColor& colour, double line) {
  painter.setBrush(Qt::NoBrush);
  painter.setPen(QPen(QColor(0, 0, 0, 180), line * 2.2, Qt::SolidLine, Qt::RoundCap, Qt::RoundJoin));
  painter.drawPolygon(shape);
  painter.setPen(QPen(colour, line, Qt::SolidLine, Qt::RoundCap, Qt::RoundJoin));
  painter.drawPolygon(shape);
}

constexpr int kSymbolWidthPx = 84, kSymbolHeightPx = 48;

// On a middle grey, on which a white line shows as it does on a photo.
QImage symbolGround() {
  QImage symbol(kSymbolWidthPx, kSymbolHeightPx, QImage::Format_RGB32);
  symbol.fill(QColor(112, 118, 104));
  return symbol;
}

QImage lineSymbol(const QColor& colour) {
  QImage symbol = symbolGround();
  QPainter painter(&symbol);
  painter.setRenderHint(QPainter::Antialiasing);
  constexpr double kMiddle = kSymbolHeightPx / 2.0;
  drawTwoTone(painter, QPolygonF{{12.0, kMiddle}, {kSymbolWidthPx - 12.0, kMiddle}}, colour, 7.0);
  return symbol;
}

QImage markSymbol(const store::Mark& mark) {
  QImage symbol =
      mark.kind == store::MarkKind::Patch ? lineSymbol(look::findingColour(mark.finding)) : symbolGround();
  QPainter painter(&symbol);
  look::drawFinding(painter, mark.finding, mark.stage, QRectF(symbol.rect()).center(), kSymbolHeightPx * 0.3);
  return symbol;
}

PictureAnswer answer(const store::Garden& garden, const store::Photo& photo, const store::BranchId& branch) {
  const auto outline = outlineOf(garden, photo, branch);
  if (!outline) {
    return {{}, toQt(outline.error().message), {}};
  }
  auto marks = garden.marks(photo.id);
  if (!marks) {
    return {{}, toQt(marks.error().message), {}};
  }
  if (!branch.isEmpty()) {
    std::erase_if(*marks, [&](const store::Mark& mark) { return mark.branch != branch; });
  }
  const QRectF part = shownPart(photo, *outline);
  auto image = loadPart(garden, photo, part);
  if (!image) {
    return {{}, toQt(image.error().message), {}};
  }
  paintFindings(*image, part, *outline, *marks);
  return {std::move(*image), {}, legendOf(*outline, *marks)};
}

}  // namespace

void paintFindings(QImage& picture, const QRectF& shown, const std::optional<Outline>& outline,
                   const std::vector<store::Mark>& marks) {
  if (shown.isEmpty() || picture.isNull()) {
    return;
  }
  const double scale = picture.width() / shown.width();
  const auto place = [&](const PointPx& point) {
    return QPointF((point.x - shown.left()) * scale, (point.y - shown.top()) * scale);
  };
  const auto placed = [&](const Polygon& polygon) {
    QPolygonF result;
    for (const PointPx& point : polygon) {
      result << place(point);
    }
    return result;
  };
  QPainter painter(&picture);
  painter.setRenderHint(QPainter::Antialiasing);
  painter.setBrush(Qt::NoBrush);
  const double line = std::max(picture.width(), picture.height()) / 220.0;
  const auto twoTone = [&](const Polygon& polygon, const QColor& colour) {
    drawTwoTone(painter, placed(polygon), colour, line);
  };
  if (outline) {
    twoTone(outline->polygon, Qt::white);
    for (const Polygon& hole : outline->holes) {
      twoTone(hole, Qt::white);
    }
  }
  for (const store::Mark& mark : marks) {
    if (mark.kind == store::MarkKind::Patch) {
      twoTone(mark.patch, look::findingColour(mark.finding));
    }
    look::drawFinding(painter, mark.finding, mark.stage, place(mark.centre), line * 2.8);
  }
}

std::vector<LegendEntry> legendOf(const std::optional<Outline>& outline, const std::vector<store::Mark>& marks) {
  std::vector<LegendEntry> legend;
  const auto add = [&legend](const QString& text, const QImage& symbol) {
    const bool isThere = std::any_of(legend.begin(), legend.end(), [&](const auto& one) { return one.text == text; });
    if (!isThere) {
      legend.push_back({symbol, text});
    }
  };
  if (outline && !marks.empty()) {
    add(QStringLiteral("outline of the branch or part"), lineSymbol(Qt::white));
  }
  for (const store::Mark& mark : marks) {
    const QString name = look::findingName(mark.finding).toLower();
    // Only insects live; of the others a stage is said where it is not the first.
    const bool isInsect = mark.finding == store::Finding::ScaleInsect || mark.finding == store::Finding::Aphids;
    const bool saysStage = isInsect || mark.stage != store::Stage::Live;
    const QString text = saysStage ? name + QStringLiteral(", ") + toQt(store::toText(mark.stage)) : name;
    add(mark.kind == store::MarkKind::Patch ? text + QStringLiteral(": patch that was marked") : text,
        markSymbol(mark));
  }
  return legend;
}

PictureSource picturesOf(const store::Garden& garden) {
  return [&garden](const store::Photo& photo, const store::BranchId& branch) {
    return answer(garden, photo, branch);
  };
}

}  // namespace edamori::letter
