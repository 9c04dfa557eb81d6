// SPDX-License-Identifier: GPL-3.0-or-later
// One place for colours, type sizes and spacing; light and dark.
#pragma once

#include "store/records/records.h"

#include <QColor>
#include <QFont>
#include <QIcon>
#include <QPalette>
#include <QPointF>
#include <QString>

class QApplication;
class QPainter;

namespace edamori::look {

enum class Theme { Light, Dark };

// Colours of a theme; text on its ground has contrast ≥ 4.5 : 1 (WCAG 2.1, SC 1.4.3).
struct Palette {
  QColor page, panel, raised, line;        // grounds from back to front, and hairlines
  QColor text, quietText;                  // on page, panel and raised
  QColor accent, onAccent;                 // chosen things, main buttons
  QColor good, warning, bad;               // states; always with a word or shape beside
};
[[nodiscard]] const Palette& palette(Theme theme);

// Spacing grid in logical px.
inline constexpr int kGrid = 8;

// Type sizes in points: body 10, small 9, heading 13, title 18.
enum class TextSize { Small, Body, Heading, Title };
// On paper.
[[nodiscard]] QFont font(TextSize size);

// How much larger the person wants text on the screen, 1…2; counts from the next apply() on.
void setTextScale(double scale);
[[nodiscard]] double textScale();
// Whether it is clearly larger than usual, by textScale() or the desktop's own setting.
[[nodiscard]] bool isTextLarge();
[[nodiscard]] QFont screenFont(TextSize size);
// A width or height in logical px that was chosen for text of the usual size, for text as it is: by
// the person's choice or by the desktop's settings. Once apply() was called.
[[nodiscard]] int forText(int px);

// Sets font family, palette and style sheet for the whole program; call again to change the theme.
//
// Dynamic properties that the style sheet knows (set before the widget is shown):
//   QLabel      "textRole": "title", "heading", "small", "quiet", "good", "warning", "bad"
//               (not "text": that is the label's own text)
//   QPushButton "role": "primary", "quiet"
//   QFrame      "role": "panel", "raised", "notice"
//   QLineEdit   "invalid": true
void apply(QApplication& application, Theme theme);
[[nodiscard]] Theme currentTheme();

// Okabe–Ito colour of a finding (Okabe & Ito 2008), and its shape centred on `at`:
// scale insect hexagon, aphids three small dots, needle blight chevron, leaf spot ring,
// spray scorch triangle, other square; with a two-tone halo that is legible on any photo.
// Dead and removed stages are drawn hollow / struck through. `radius` in device px.
[[nodiscard]] QColor findingColour(store::Finding finding);
void drawFinding(QPainter& painter, store::Finding finding, store::Stage stage, QPointF at,
                 double radius);
[[nodiscard]] QIcon findingIcon(store::Finding finding);
[[nodiscard]] QString findingName(store::Finding finding);  // "Scale insect", …

// Icons of our own, drawn as paths in the current text colour (on the accent when
// selected or checked); they follow a change of theme by themselves.
enum class Glyph { Garden, Tree, Bench, Letter, Add, Import, Measure, Undo, Redo, ZoomIn,
                   ZoomOut, Fit, OneToOne, Previous, Next, Dot, Patch, OutlineTool, Pan, Select,
                   Remove, Edit, Theme, Hole, Ruler, Hint, Loupe, Light, Keys, Pair, Offer };
[[nodiscard]] QIcon icon(Glyph glyph);

}  // namespace edamori::look
