// SPDX-License-Identifier: GPL-3.0-or-later
// Sets blocks on A4 pages. Every block becomes a run of atoms, which no page break may
// divide; the run says which atoms stay together and which head a broken table repeats.
#include "app/letter/render_internal.h"
#include "app/letter/wording_internal.h"
#include "app/look/chart.h"

#include <QBuffer>
#include <QFontMetricsF>
#include <QPageSize>
#include <QPainter>
#include <QPdfWriter>
#include <QTextLayout>

#include <algorithm>
#include <cmath>
#include <functional>
#include <memory>
#include <utility>

namespace edamori::letter {

namespace {

constexpr int kDotsPerInch = 300;
constexpr double kMm = kDotsPerInch / 25.4;
constexpr double kPoint = kDotsPerInch / 72.0;
constexpr double kPageWidth = 210.0 * kMm, kPageHeight = 297.0 * kMm;
constexpr double kSide = 18.0 * kMm, kTop = 18.0 * kMm, kBottom = 22.0 * kMm;
constexpr double kWidth = kPageWidth - 2.0 * kSide;
constexpr double kColumnHeight = kPageHeight - kTop - kBottom;

using Draw = std::function<void(QPainter& painter, double top)>;

struct Atom {
  double height = 0.0;
  double spaceBefore = 0.0;  // dropped at the top of a page
  Draw draw;
  bool keepWithNext = false;
  std::shared_ptr<const Atom> repeatedHead;  // drawn first when this atom begins a page
};

struct Placed {
  double top = 0.0;
  const Atom* atom = nullptr;
};

struct Style {
  QFont font;
  QColor colour;
};

const look::Palette& colours() {
  static const look::Palette kPaper = [] {
    look::Palette paper = look::palette(look::Theme::Light);
    paper.page = paper.panel = paper.raised = Qt::white;
    return paper;
  }();
  return kPaper;
}

Style style(look::TextSize size, const QColor& colour, bool isBold = false) {
  Style result{look::font(size), colour};
  result.font.setPixelSize(static_cast<int>(std::lround(result.font.pointSizeF() * kPoint)));
  if (isBold) {
    result.font.setWeight(QFont::DemiBold);
  }
  return result;
}

constexpr double kCompactScale = 0.84;  // of small type: what is looked up may be smaller than what is read

Style scaled(Style text, double scale) {
  text.font.setPixelSize(static_cast<int>(std::lround(text.font.pixelSize() * scale)));
  return text;
}

// How much room pictures, charts and the gaps of look-up tables take; type is never made smaller.
struct Room {
  double pictures = 1.0, charts = 1.0, compactPadding = 0.45 * kMm;
};
// Tried in turn when the last page would be nearly empty.
constexpr Room kRooms[] = {{}, {0.92, 0.85, 0.3 * kMm}, {0.85, 0.72, 0.15 * kMm}, {0.8, 0.64, 0.1 * kMm}};

class Setter {
 public:
  Setter(QPaintDevice* device, const Room& room) : m_device(device), m_room(room) {}

  std::vector<Atom> atoms;

  void title(const Document& document) {
    addLines(document.title, style(look::TextSize::Title, colours().text), 0.0, true);
    addLines(document.subtitle, style(look::TextSize::Heading, colours().accent), 1.0 * kMm, true);
    atoms.push_back({0.8 * kMm, 2.5 * kMm, [](QPainter& painter, double top) {
                       painter.fillRect(QRectF(kSide, top, kWidth, 0.6 * kMm), colours().accent);
                     }, true, nullptr});
  }

  void add(const Heading& block) {
    addLines(block.text, style(look::TextSize::Heading, colours().text), 7.0 * kMm, true);
    atoms.back().height += 1.0 * kMm;
  }

  void add(const Paragraph& block) {
    const bool isNote = block.kind == Paragraph::Kind::Note;
    addLines(block.text, isNote ? style(look::TextSize::Small, colours().quietText)
                                : style(look::TextSize::Body, colours().text),
             2.0 * kMm, false);
  }

  void add(const Bullets& block) {
    const Style text = style(look::TextSize::Body, colours().text);
    constexpr double kIndent = 5.0 * kMm;
    for (const QString& item : block.items) {
      const std::size_t first = atoms.size();
      addLines(item, text, 1.5 * kMm, false, kIndent);
      const double ascent = metrics(text.font).ascent();
      atoms[first].draw = [inner = atoms[first].draw, ascent](QPainter& painter, double top) {
        painter.setRenderHint(QPainter::Antialiasing);
        painter.setPen(Qt::NoPen);
        painter.setBrush(colours().accent);
        painter.drawEllipse(QPointF(kSide + 2.0 * kMm, top + ascent * 0.66), 0.7 * kMm, 0.7 * kMm);
        inner(painter, top);
      };
    }
  }

  void add(const Facts& block) {
    Table table{{}, {0.17, 0.83}, {}};
    for (const auto& [name, value] : block.lines) {
      table.rows.push_back({name, value});
    }
    const Style body = style(look::TextSize::Body, colours().text);
    const Style quiet = style(look::TextSize::Body, colours().quietText);
    for (const QStringList& row : table.rows) {
      addRow(row, table.shares, {quiet, body}, 0.3 * kMm, false, nullptr);
    }
  }

  void add(const Table& block) {
    const bool isCompact = block.density == Table::Density::Compact;
    const auto sized = [isCompact](Style text) {
      return isCompact ? scaled(std::move(text), kCompactScale) : text;
    };
    const Style head = sized(style(look::TextSize::Small, colours().quietText, true));
    const Style cell = sized(style(look::TextSize::Small, colours().text));
    const double padding = isCompact ? m_room.compactPadding : 1.0 * kMm;
    const std::size_t first = atoms.size();
    addRow(block.heads, block.shares, {head}, padding, true, nullptr);
    const auto shared = std::make_shared<const Atom>(atoms[first]);
    atoms.back().spaceBefore = 2.5 * kMm;
    for (const QStringList& row : block.rows) {
      const std::size_t before = atoms.size();
      addRow(row, block.shares, {cell}, padding, true, shared);
      // No head with a single row under it at the foot of a page, when others follow.
      atoms.back().keepWithNext = before == first + 1 && atoms.size() == before + 1 && block.rows.size() > 1;
    }
  }

  void add(const PictureRow& block) {
    addLines(block.title, style(look::TextSize::Body, colours().text, true), 3.0 * kMm, true);
    constexpr double kGap = 5.0 * kMm;
    constexpr double width = (kWidth - kGap) / 2.0;
    const Style caption = style(look::TextSize::Small, colours().quietText);
    auto set = std::make_shared<PictureSet>();
    set->caption = caption;
    set->line = lineHeight(caption);
    set->ascent = metrics(caption.font).ascent();
    double underHeight = 0.0;
    for (std::size_t i = 0; i < block.pictures.size(); ++i) {
      const Picture& picture = block.pictures[i];
      const double left = kSide + static_cast<double>(i) * (width + kGap);
      set->shown.push_back(setPicture(picture, left, width, caption));
      const PictureSet::Shown& shown = set->shown.back();
      set->height = std::max(set->height, shown.place.height());
      const auto lineCount = static_cast<double>(shown.caption.size() + static_cast<qsizetype>(shown.legend.size()));
      underHeight = std::max(underHeight, lineCount * set->line);
    }
    atoms.push_back({set->height + PictureSet::kUnder + underHeight, 1.5 * kMm,
                     [set](QPainter& painter, double top) { set->draw(painter, top); }, false, nullptr});
  }

  void add(const Chart& block) {
    const double height = 80.0 * kMm * m_room.charts;
    constexpr double kScale = kDotsPerInch / 96.0;
    atoms.push_back({height, 4.0 * kMm, [chart = block.chart, height](QPainter& painter, double top) {
                       look::drawChart(painter, QRectF(kSide, top, kWidth, height), chart, colours(), kScale);
                     }, false, nullptr});
  }

  [[nodiscard]] QStringList lines(const QString& text, const QFont& font, double width) const {
    QStringList result;
    for (const QString& part : text.split(QLatin1Char('\n'))) {
      QTextLayout layout(part, font, m_device);
      QTextOption option;
      option.setWrapMode(QTextOption::WrapAtWordBoundaryOrAnywhere);
      layout.setTextOption(option);
      layout.beginLayout();
      for (QTextLine line = layout.createLine(); line.isValid(); line = layout.createLine()) {
        line.setLineWidth(width);
        // What was only a place to break is no letter to draw or to copy.
        result << part.mid(line.textStart(), line.textLength()).remove(kMayBreak).trimmed();
      }
      layout.endLayout();
      if (part.isEmpty()) {
        result << QString();
      }
    }
    return result;
  }

  [[nodiscard]] QFontMetricsF metrics(const QFont& font) const { return {font, m_device}; }

 private:
  [[nodiscard]] double lineHeight(const Style& text) const {
    constexpr double kLeading = 1.12;
    return metrics(text.font).height() * kLeading;
  }

  // One atom a line; never a single line alone before or after a page break.
  void addLines(const QString& text, const Style& look, double spaceBefore, bool keepWithNext, double indent = 0.0) {
    const QStringList all = lines(text, look.font, kWidth - indent);
    const double ascent = metrics(look.font).ascent();
    for (qsizetype i = 0; i < all.size(); ++i) {
      const bool keep = keepWithNext || (all.size() > 1 && (i == 0 || i == all.size() - 2));
      atoms.push_back({lineHeight(look), i == 0 ? spaceBefore : 0.0,
                       [line = all[i], look, ascent, indent](QPainter& painter, double top) {
                         painter.setFont(look.font);
                         painter.setPen(look.colour);
                         painter.drawText(QPointF(kSide + indent, top + ascent), line);
                       }, keep, nullptr});
    }
  }

  // Pictures side by side, each with its caption and legend under it.
  struct PictureSet {
    static constexpr double kUnder = 1.5 * kMm;
    struct LegendLine {
      QImage symbol;  // null: goes on from the line above
      QString text;
    };
    struct Shown {
      QImage image;
      QRectF place;  // top 0
      QStringList caption;
      std::vector<LegendLine> legend;
    };
    std::vector<Shown> shown;
    Style caption;
    double height = 0.0, line = 0.0, ascent = 0.0;

    [[nodiscard]] static double symbolWidth(double line) { return line * 1.4; }

    void draw(QPainter& painter, double top) const {
      painter.setRenderHint(QPainter::SmoothPixmapTransform);
      painter.setFont(caption.font);
      painter.setPen(caption.colour);
      for (const Shown& one : shown) {
        if (!one.image.isNull()) {
          painter.drawImage(one.place.translated(0.0, top), one.image);
        }
        const double left = one.place.left();
        double y = top + height + kUnder;
        for (const QString& text : one.caption) {
          painter.drawText(QPointF(left, y + ascent), text);
          y += line;
        }
        for (const LegendLine& entry : one.legend) {
          if (!entry.symbol.isNull()) {
            painter.drawImage(QRectF(left, y + 0.1 * line, symbolWidth(line), 0.8 * line), entry.symbol);
          }
          painter.drawText(QPointF(left + symbolWidth(line) + 1.5 * kMm, y + ascent), entry.text);
          y += line;
        }
      }
    }
  };

  [[nodiscard]] PictureSet::Shown setPicture(const Picture& picture, double left, double width,
                                             const Style& caption) const {
    const double mostHeight = 78.0 * kMm * m_room.pictures;
    QSizeF size(0.0, 0.0);
    if (!picture.image.isNull()) {
      size = QSizeF(picture.image.size()).scaled(width, mostHeight, Qt::KeepAspectRatio);
    }
    PictureSet::Shown shown{picture.image, QRectF(left, 0.0, size.width(), size.height()),
                            lines(picture.caption, caption.font, width), {}};
    const double textWidth = width - PictureSet::symbolWidth(lineHeight(caption)) - 1.5 * kMm;
    for (const LegendEntry& entry : picture.legend) {
      QImage symbol = entry.symbol;
      for (const QString& text : lines(entry.text, caption.font, textWidth)) {
        shown.legend.push_back({std::exchange(symbol, QImage()), text});
      }
    }
    return shown;
  }

  struct Row {
    std::vector<QStringList> cells;
    std::vector<double> lefts;
    std::vector<Style> styles;  // one for all cells, or one each
    double line = 0.0, ascent = 0.0;

    void draw(QPainter& painter, double top, qsizetype from, qsizetype to) const {
      for (std::size_t c = 0; c < cells.size(); ++c) {
        const Style& look = styles[std::min(c, styles.size() - 1)];
        painter.setFont(look.font);
        painter.setPen(look.colour);
        for (qsizetype i = from; i < std::min(to, cells[c].size()); ++i) {
          painter.drawText(QPointF(lefts[c], top + static_cast<double>(i - from) * line + ascent), cells[c][i]);
        }
      }
    }
  };

  // A row in one atom, or one atom a line when it is so high that it would leave pages half empty.
  void addRow(const QStringList& texts, const std::vector<double>& shares, const std::vector<Style>& styles,
              double padding, bool isRuled, const std::shared_ptr<const Atom>& head) {
    const bool isHead = isRuled && head == nullptr;
    constexpr double kGap = 2.5 * kMm;
    auto row = std::make_shared<Row>();
    row->styles = styles;
    row->line = lineHeight(styles.front());
    row->ascent = metrics(styles.front().font).ascent();
    double left = kSide;
    qsizetype count = 1;
    for (qsizetype c = 0; c < texts.size(); ++c) {
      const std::size_t index = static_cast<std::size_t>(c);
      const Style& look = styles[std::min(index, styles.size() - 1)];
      const double width = shares[index] * kWidth;
      row->lefts.push_back(left);
      row->cells.push_back(lines(texts[c], look.font, width - kGap));
      count = std::max(count, row->cells.back().size());
      left += width;
    }
    const double whole = static_cast<double>(count) * row->line + 2.0 * padding;
    constexpr double kMostWhole = kColumnHeight / 3.0;
    const qsizetype step = whole <= kMostWhole || isHead ? count : 1;
    for (qsizetype from = 0; from < count; from += step) {
      const qsizetype to = std::min(from + step, count);
      const bool isFirst = from == 0, isLast = to == count;
      const double above = isFirst ? padding : 0.0, below = isLast ? padding : 0.0;
      const double height = static_cast<double>(to - from) * row->line + above + below;
      atoms.push_back({height, 0.0,
                       [row, from, to, above, height, isRuled, isHead, isLast](QPainter& painter, double top) {
                         row->draw(painter, top + above, from, to);
                         if (isRuled && isLast) {
                           const double width = isHead ? 0.35 * kMm : 0.15 * kMm;
                           painter.fillRect(QRectF(kSide, top + height - width, kWidth, width),
                                            isHead ? colours().accent : colours().line);
                         }
                       },
                       isHead, head});
    }
  }

  QPaintDevice* m_device;
  Room m_room;
};

// Breaks the atoms into pages. A chain of atoms that keep together moves to the next page as one,
// unless it is higher than a page.
std::vector<std::vector<Placed>> paginate(const std::vector<Atom>& atoms) {
  std::vector<std::vector<Placed>> pages(1);
  double y = 0.0;
  const auto startPage = [&](const Atom& next) {
    pages.emplace_back();
    y = 0.0;
    if (next.repeatedHead) {
      pages.back().push_back({kTop, next.repeatedHead.get()});
      y = next.repeatedHead->height;
    }
  };
  std::size_t chainEnd = 0;  // atoms before this one were already found to fit
  for (std::size_t i = 0; i < atoms.size(); ++i) {
    if (i >= chainEnd) {
      double needed = 0.0;
      chainEnd = i;
      do {
        needed += atoms[chainEnd].height + atoms[chainEnd].spaceBefore;
        ++chainEnd;
      } while (chainEnd < atoms.size() && atoms[chainEnd - 1].keepWithNext);
      const bool isTop = pages.back().empty();
      if (!isTop && y + needed > kColumnHeight && needed <= kColumnHeight) {
        startPage(atoms[i]);
      } else if (needed > kColumnHeight) {
        chainEnd = i + 1;  // No page holds the chain: let each atom find its place.
      }
    }
    const Atom& atom = atoms[i];
    if (!pages.back().empty() && y + atom.spaceBefore + atom.height > kColumnHeight) {
      startPage(atom);
    }
    y += pages.back().empty() ? 0.0 : atom.spaceBefore;
    pages.back().push_back({kTop + y, &atom});
    y += atom.height;
  }
  return pages;
}

void drawFoot(QPainter& painter, const Document& document, const QFontMetricsF& metrics, const Style& look,
              std::size_t page, std::size_t pages) {
  const double top = kPageHeight - kBottom + 7.0 * kMm;
  const QString counter = QStringLiteral(" · page %1 of %2").arg(page).arg(pages);
  const double most = kWidth * 0.6 - metrics.horizontalAdvance(counter);
  const QString right = metrics.elidedText(document.tag, Qt::ElideMiddle, most) + counter;
  painter.setFont(look.font);
  painter.setPen(look.colour);
  const QRectF place(kSide, top, kWidth, metrics.height());
  painter.drawText(place, Qt::AlignLeft | Qt::AlignVCenter, document.title + QStringLiteral(", ") + document.dateLine);
  painter.drawText(place, Qt::AlignRight | Qt::AlignVCenter, right);
}

double usedHeight(const std::vector<Placed>& page) {
  return page.empty() ? 0.0 : page.back().top + page.back().atom->height - kTop;
}

Setter setIn(const Room& room, const Document& document, QPaintDevice& device) {
  Setter setter(&device, room);
  setter.title(document);
  for (const Block& block : document.blocks) {
    std::visit([&setter](const auto& one) { setter.add(one); }, block);
  }
  return setter;
}

// The widest setting, or a closer one when that saves a last page that would be nearly empty.
Setter setToFit(const Document& document, QPaintDevice& device) {
  constexpr double kNearlyEmpty = kColumnHeight / 3.0;
  Setter widest = setIn(kRooms[0], document, device);
  const auto pages = paginate(widest.atoms);
  if (pages.size() == 1 || usedHeight(pages.back()) >= kNearlyEmpty) {
    return widest;
  }
  for (const Room& room : kRooms) {
    Setter closer = setIn(room, document, device);
    if (paginate(closer.atoms).size() < pages.size()) {
      return closer;
    }
  }
  return widest;
}

}  // namespace

QByteArray toPdf(const Document& document) {
  QByteArray bytes;
  QBuffer buffer(&bytes);
  buffer.open(QIODevice::WriteOnly);
  QPdfWriter writer(&buffer);
  writer.setResolution(kDotsPerInch);
  writer.setPageSize(QPageSize(QPageSize::A4));
  writer.setPageMargins(QMarginsF(0, 0, 0, 0));
  writer.setTitle(document.title + QStringLiteral(": ") + document.subtitle);
  writer.setCreator(QStringLiteral("Edamori"));

  const Setter setter = setToFit(document, writer);
  const auto pages = paginate(setter.atoms);
  QPainter painter;
  if (!painter.begin(&writer)) {
    return {};
  }
  const Style foot = style(look::TextSize::Small, colours().quietText);
  for (std::size_t i = 0; i < pages.size(); ++i) {
    if (i > 0 && !writer.newPage()) {
      return {};
    }
    for (const Placed& placed : pages[i]) {
      painter.save();
      placed.atom->draw(painter, placed.top);
      painter.restore();
    }
    drawFoot(painter, document, setter.metrics(foot.font), foot, i + 1, pages.size());
  }
  return painter.end() ? bytes : QByteArray();
}

}  // namespace edamori::letter
