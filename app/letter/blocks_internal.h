// SPDX-License-Identifier: GPL-3.0-or-later
// What a letter says, apart from how it is set: the same blocks become PDF and HTML.
#pragma once

#include "app/work/overview.h"

#include <QImage>
#include <QString>
#include <QStringList>

#include <utility>
#include <variant>
#include <vector>

namespace edamori::letter {

// The text is plain everywhere; '\n' starts a new line.
struct Heading {
  QString text;
};

struct Paragraph {
  enum class Kind { Body, Note };  // Note: small and quiet
  QString text;
  Kind kind = Kind::Body;
};

struct Bullets {
  QStringList items;
};

// "Species  Acer palmatum", one line each.
struct Facts {
  std::vector<std::pair<QString, QString>> lines;
};

struct Table {
  QStringList heads;
  std::vector<double> shares;     // of the width, one per column; sum 1
  std::vector<QStringList> rows;  // as many cells as heads
  enum class Density { Usual, Compact } density = Density::Usual;  // Compact: for looking up, not for reading
};

// What a line or a symbol on a picture means.
struct LegendEntry {
  QImage symbol;
  QString text;
};

// One photo with its outline drawn in; without pixels, `caption` says why.
struct Picture {
  QImage image;
  QString caption;
  std::vector<LegendEntry> legend;  // under the caption
  QString description;  // for those who cannot see it
};

// Pictures side by side: one, or before and after.
struct PictureRow {
  QString title;
  std::vector<Picture> pictures;  // 1 or 2
};

struct Chart {
  work::FigureChart chart;
  QString description;
};

using Block = std::variant<Heading, Paragraph, Bullets, Facts, Table, PictureRow, Chart>;

struct Document {
  QString title;      // "Condition report"
  QString subtitle;   // "ED-02 · Acer palmatum ‘Demo’"
  QString tag;        // for the foot of each page
  QString dateLine;   // "12 April 2026"
  std::vector<Block> blocks;
};

}  // namespace edamori::letter
