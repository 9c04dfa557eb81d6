// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/letter/render_internal.h"
#include "app/letter/wording_internal.h"
#include "app/look/chart.h"

#include <QBuffer>
#include <QPainter>

namespace edamori::letter {

namespace {

const char* const kStyle = R"(
:root { color-scheme: light; }
body { font-family: "DejaVu Sans", Verdana, sans-serif; font-size: 10pt; line-height: 1.45; color: #2a2924;
  background: #fff; max-width: 50rem; margin: 2rem auto; padding: 0 1rem; overflow-wrap: anywhere; }
h1 { font-size: 18pt; margin: 0; }
h2 { font-size: 13pt; margin: 1.8rem 0 .5rem; break-after: avoid; }
.subtitle { font-size: 13pt; color: #355b45; margin: .2rem 0 1rem; }
dl { display: grid; grid-template-columns: 7rem 1fr; gap: .15rem 1rem; margin: 0; border-top: 2px solid #355b45;
  padding-top: .7rem; }
dt { color: #5e594c; }
dd { margin: 0; white-space: pre-line; }
p, td, th, figcaption { white-space: pre-line; }
.note { font-size: 9pt; color: #5e594c; }
table { border-collapse: collapse; width: 100%; font-size: 9pt; margin: .6rem 0; table-layout: fixed; }
th { text-align: left; color: #5e594c; font-weight: 600; border-bottom: 1.5px solid #355b45; }
th, td { padding: .3rem .4rem; vertical-align: top; }
td { border-bottom: 1px solid #d9d1c1; }
tr { break-inside: avoid; }
table.compact { font-size: 7.5pt; line-height: 1.25; }
table.compact th, table.compact td { padding: .1rem .3rem; }
h3 { font-size: 10pt; margin: 1rem 0 .3rem; break-after: avoid; }
.pictures { display: grid; grid-template-columns: 1fr 1fr; gap: 1rem; break-inside: avoid; }
figure { margin: .6rem 0; break-inside: avoid; }
figcaption { font-size: 9pt; color: #5e594c; }
img { max-width: 100%; height: auto; display: block; }
img.symbol { display: inline-block; height: 1.1em; vertical-align: -.2em; }
@page { size: A4; margin: 18mm; }
)";

QString escaped(const QString& text) {
  return text.toHtmlEscaped().replace(kMayBreak, QLatin1String("<wbr>"));
}

QString dataAddress(const QImage& image, const char* format) {
  QByteArray bytes;
  QBuffer buffer(&bytes);
  buffer.open(QIODevice::WriteOnly);
  constexpr int kJpegQuality = 88;
  image.save(&buffer, format, qstrcmp(format, "JPEG") == 0 ? kJpegQuality : -1);
  return QStringLiteral("data:image/") + QString::fromLatin1(format).toLower() + QStringLiteral(";base64,") +
         QString::fromLatin1(bytes.toBase64());
}

QString html(const Heading& block) { return QStringLiteral("<h2>") + escaped(block.text) + QStringLiteral("</h2>\n"); }

QString html(const Paragraph& block) {
  const QString open = block.kind == Paragraph::Kind::Note ? QStringLiteral("<p class=\"note\">") : QStringLiteral("<p>");
  return open + escaped(block.text) + QStringLiteral("</p>\n");
}

QString html(const Bullets& block) {
  QString text = QStringLiteral("<ul>\n");
  for (const QString& item : block.items) {
    text += QStringLiteral("<li>") + escaped(item) + QStringLiteral("</li>\n");
  }
  return text + QStringLiteral("</ul>\n");
}

QString html(const Facts& block) {
  QString text = QStringLiteral("<dl>\n");
  for (const auto& [name, value] : block.lines) {
    text += QStringLiteral("<dt>") + escaped(name) + QStringLiteral("</dt><dd>") + escaped(value) +
            QStringLiteral("</dd>\n");
  }
  return text + QStringLiteral("</dl>\n");
}

QString html(const Table& block) {
  QString text = block.density == Table::Density::Compact ? QStringLiteral("<table class=\"compact\">\n<colgroup>")
                                                           : QStringLiteral("<table>\n<colgroup>");
  for (const double share : block.shares) {
    text += QStringLiteral("<col style=\"width:%1%\">").arg(share * 100.0, 0, 'f', 1);
  }
  text += QStringLiteral("</colgroup>\n<thead><tr>");
  for (const QString& head : block.heads) {
    text += QStringLiteral("<th scope=\"col\">") + escaped(head) + QStringLiteral("</th>");
  }
  text += QStringLiteral("</tr></thead>\n<tbody>\n");
  for (const QStringList& row : block.rows) {
    text += QStringLiteral("<tr>");
    for (const QString& cell : row) {
      text += QStringLiteral("<td>") + escaped(cell) + QStringLiteral("</td>");
    }
    text += QStringLiteral("</tr>\n");
  }
  return text + QStringLiteral("</tbody>\n</table>\n");
}

QString figureHtml(const QImage& image, const char* format, const QString& description, const QString& caption,
                   const std::vector<LegendEntry>& legend = {}) {
  QString text = QStringLiteral("<figure>");
  if (!image.isNull()) {
    text += QStringLiteral("<img alt=\"") + description.toHtmlEscaped() + QStringLiteral("\" src=\"") +
            dataAddress(image, format) + QStringLiteral("\">");
  }
  if (!caption.isEmpty()) {
    text += QStringLiteral("<figcaption>") + escaped(caption);
    for (const LegendEntry& entry : legend) {
      text += QStringLiteral("\n<img class=\"symbol\" alt=\"\" src=\"") + dataAddress(entry.symbol, "PNG") +
              QStringLiteral("\"> ") + escaped(entry.text);
    }
    text += QStringLiteral("</figcaption>");
  }
  return text + QStringLiteral("</figure>\n");
}

QString html(const PictureRow& block) {
  QString text = QStringLiteral("<h3>") + escaped(block.title) + QStringLiteral("</h3>\n<div class=\"pictures\">\n");
  for (const Picture& picture : block.pictures) {
    text += figureHtml(picture.image, "JPEG", picture.description, picture.caption, picture.legend);
  }
  return text + QStringLiteral("</div>\n");
}

QString html(const Chart& block) {
  constexpr int kWidth = 740, kHeight = 300, kDensity = 2;
  QImage image(kWidth * kDensity, kHeight * kDensity, QImage::Format_RGB32);
  image.setDevicePixelRatio(kDensity);
  image.fill(Qt::white);
  QPainter painter(&image);
  look::drawChart(painter, QRectF(0, 0, kWidth, kHeight), block.chart, look::palette(look::Theme::Light), 1.0);
  painter.end();
  return figureHtml(image, "PNG", block.description, {});
}

}  // namespace

QString toHtml(const Document& document) {
  QString text = QStringLiteral(
                     "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                     "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                     "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                     "img-src data:; style-src 'unsafe-inline'\">\n<title>") +
                 escaped(document.title + QStringLiteral(": ") + document.subtitle) +
                 QStringLiteral("</title>\n<style>") + QString::fromLatin1(kStyle) +
                 QStringLiteral("</style>\n</head>\n<body>\n<main>\n<h1>") + escaped(document.title) +
                 QStringLiteral("</h1>\n<p class=\"subtitle\">") + escaped(document.subtitle) +
                 QStringLiteral("</p>\n");
  for (const Block& block : document.blocks) {
    text += std::visit([](const auto& one) { return html(one); }, block);
  }
  return text + QStringLiteral("</main>\n</body>\n</html>\n");
}

}  // namespace edamori::letter
