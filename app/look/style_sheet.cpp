// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/look/style_sheet_internal.h"

#include <QRegularExpression>
#include <utility>

namespace edamori::look {

namespace {

const char* const kLabels = R"(
QLabel { background: transparent; }
QLabel[textRole="title"] { font-size: 18pt; font-weight: 600; }
QLabel[textRole="heading"] { font-size: 13pt; font-weight: 600; }
QLabel[textRole="small"] { font-size: 9pt; }
QLabel[textRole="quiet"] { font-size: 9pt; color: @quietText; }
QLabel[textRole="good"] { color: @good; font-weight: 600; }
QLabel[textRole="warning"] { color: @warning; font-weight: 600; }
QLabel[textRole="bad"] { color: @bad; font-weight: 600; }
QFrame[role="panel"] { background: @panel; border: 1px solid @line; border-radius: 8px; }
QFrame[role="raised"] { background: @raised; border: 1px solid @line; border-radius: 8px; }
QFrame[role="notice"] { background: @panel; border: 1px solid @line; border-left: 4px solid @warning;
  border-radius: 4px; }
QToolTip { background: @text; color: @raised; border: none; padding: 4px 8px; font-size: 9pt; }
)";

const char* const kButtons = R"(
QPushButton { background: @raised; color: @text; border: 1px solid @edge; border-radius: 6px;
  padding: 5px 15px; min-height: 20px; outline: none; }
QPushButton:hover { background: @hover; }
QPushButton:pressed, QPushButton:checked { background: @pressed; }
QPushButton:focus { border: 2px solid @accent; padding: 4px 14px; }
QPushButton:disabled { color: @faded; border-color: @line; background: @panel; }
QPushButton[role="primary"] { background: @accent; color: @onAccent; border: 1px solid @accent;
  font-weight: 600; }
QPushButton[role="primary"]:hover { background: @accentHover; }
QPushButton[role="primary"]:pressed { background: @accentPressed; }
QPushButton[role="primary"]:focus { border: 2px solid @text; }
QPushButton[role="primary"]:disabled { background: @line; color: @quietText; border-color: @line; }
QPushButton[role="quiet"] { background: transparent; border: 1px solid transparent; color: @accent; }
QPushButton[role="quiet"]:hover { background: @hover; }
QPushButton[role="quiet"]:pressed, QPushButton[role="quiet"]:checked { background: @pressed; }
QPushButton[role="quiet"]:focus { border: 2px solid @accent; }
QPushButton[role="quiet"]:disabled { color: @faded; }
QToolButton { background: transparent; border: 2px solid transparent; border-radius: 6px; padding: 4px; }
QToolButton:hover { background: @hover; }
QToolButton:pressed { background: @pressed; }
QToolButton:checked { background: @accent; color: @onAccent; }
QToolButton:focus { border-color: @accent; }
QToolButton:checked:focus { border-color: @text; }
QToolButton:disabled { color: @faded; }
QToolButton::menu-indicator { image: none; }
)";

const char* const kFields = R"(
/* No colour here: Qt would make the placeholder a half-transparent one of it, too pale to read. */
QLineEdit, QPlainTextEdit, QTextEdit { background: @raised; border: 1px solid @edge;
  border-radius: 6px; padding: 5px 7px; selection-background-color: @accent;
  selection-color: @onAccent; }
QLineEdit:focus, QPlainTextEdit:focus, QTextEdit:focus { border: 2px solid @accent; padding: 4px 6px; }
QLineEdit:disabled, QPlainTextEdit:disabled, QTextEdit:disabled { background: @panel;
  border-color: @line; }
QLineEdit[invalid="true"] { border: 2px solid @bad; padding: 4px 6px; }
QLineEdit { min-height: 20px; }
QComboBox, QAbstractSpinBox { min-height: 26px; }
QAbstractSpinBox QLineEdit, QComboBox QLineEdit { border: none; padding: 0; background: transparent; }
QComboBox QAbstractItemView { background: @raised; border: 1px solid @edge; padding: 4px; outline: 0; }
QCheckBox, QRadioButton { spacing: 8px; background: transparent; }
QGroupBox { border: 1px solid @line; border-radius: 8px; margin-top: 20px; padding: 8px; }
QGroupBox::title { subcontrol-origin: margin; left: 4px; padding: 0 4px; color: @quietText; }
)";

const char* const kViews = R"(
QListView, QTreeView, QTableView { background: @raised; alternate-background-color: @panel;
  border: 1px solid @line; border-radius: 8px; outline: 0; gridline-color: @line;
  selection-background-color: @accent; selection-color: @onAccent; }
QListView:focus, QTreeView:focus, QTableView:focus { border: 2px solid @accent; }
QListView::item:hover, QTreeView::item:hover, QTableView::item:hover { background: @hover;
  color: @text; }
QListView::item:selected, QTreeView::item:selected, QTableView::item:selected {
  background: @accent; color: @onAccent; }
QHeaderView { background: @panel; border: none; }
QHeaderView::section { background: @panel; color: @quietText; border: none;
  border-bottom: 1px solid @line; border-right: 1px solid @line; padding: 6px 8px; font-size: 9pt; font-weight: 600; }
QTableCornerButton::section { background: @panel; border: none; border-bottom: 1px solid @line; }
QScrollArea, QScrollArea > QWidget > QWidget { background: transparent; }
QScrollArea { border: none; }
QScrollArea:focus { border: 2px solid @accent; border-radius: 4px; }
QScrollBar:vertical { background: transparent; width: 14px; margin: 0; }
QScrollBar:horizontal { background: transparent; height: 14px; margin: 0; }
QScrollBar::handle { background: @edge; border-radius: 4px; margin: 3px; }
QScrollBar::handle:vertical { min-height: 32px; }
QScrollBar::handle:horizontal { min-width: 32px; }
QScrollBar::handle:hover { background: @quietText; }
QScrollBar::add-line, QScrollBar::sub-line { width: 0; height: 0; }
QScrollBar::add-page, QScrollBar::sub-page { background: transparent; }
)";

const char* const kFrames = R"(
QMainWindow, QDialog { background: @page; }
QToolBar { background: @panel; border: none; border-bottom: 1px solid @line; spacing: 4px;
  padding: 4px 8px; }
QToolBar::separator { background: @line; width: 1px; height: 1px; margin: 4px; }
QStatusBar { background: @panel; border-top: 1px solid @line; color: @quietText; }
QStatusBar::item { border: none; }
QMenuBar { background: @panel; }
QMenuBar::item { padding: 4px 8px; border-radius: 4px; background: transparent; }
QMenuBar::item:selected { background: @pressed; color: @text; }
QMenu { background: @raised; border: 1px solid @edge; padding: 4px; }
QMenu::item { padding: 6px 24px 6px 12px; border-radius: 4px; }
QMenu::item:selected { background: @accent; color: @onAccent; }
QMenu::item:disabled { color: @faded; }
QMenu::separator { height: 1px; background: @line; margin: 4px 8px; }
QTabWidget::pane { border: none; border-top: 1px solid @line; }
QTabBar::tab { background: transparent; color: @quietText; padding: 8px 16px;
  border: 2px solid transparent; border-bottom: 3px solid transparent; }
QTabBar::tab:hover { color: @text; background: @hover; }
QTabBar::tab:selected { color: @text; border-bottom-color: @accent; font-weight: 600; }
QTabBar::tab:focus { border-color: @accent; }
QProgressBar { background: @panel; border: 1px solid @edge; border-radius: 6px; min-height: 16px;
  text-align: center; color: @text; }
QProgressBar::chunk { background: @progress; border-radius: 5px; }
QSplitter::handle { background: @line; }
QSplitter::handle:horizontal { width: 1px; }
QSplitter::handle:vertical { height: 1px; }
QSplitter::handle:hover { background: @accent; }
)";

}  // namespace

QColor controlEdge(const Palette& palette) { return mixed(palette.quietText, palette.page, 0.30); }

QString styleSheet(const Palette& p, double textScale) {
  // Longer names first: "@accentHover" must not be taken for "@accent" + "Hover".
  const std::pair<const char*, QColor> colours[] = {
      {"@accentPressed", mixed(p.accent, p.onAccent, 0.22)},
      {"@accentHover", mixed(p.accent, p.onAccent, 0.10)},
      {"@onAccent", p.onAccent},
      {"@accent", p.accent},
      {"@quietText", p.quietText},
      {"@progress", mixed(p.accent, p.raised, 0.62)},
      {"@pressed", mixed(p.raised, p.accent, 0.22)},
      {"@warning", p.warning},
      {"@raised", p.raised},
      {"@panel", p.panel},
      {"@hover", mixed(p.raised, p.accent, 0.10)},
      {"@faded", mixed(p.quietText, p.page, 0.35)},
      {"@page", p.page},
      {"@edge", controlEdge(p)},
      {"@line", p.line},
      {"@good", p.good},
      {"@text", p.text},
      {"@bad", p.bad},
  };
  QString sheet;
  for (const char* part : {kFrames, kLabels, kButtons, kFields, kViews}) {
    sheet += QString::fromLatin1(part);
  }
  for (const auto& [name, colour] : colours) {
    sheet.replace(QLatin1String(name), colour.name());
  }
  // "font-size: 9pt": sizes of text alone grow.
  static const QRegularExpression kSize(QStringLiteral("font-size: (\\d+)pt"));
  QString scaled;
  qsizetype end = 0;
  for (auto matches = kSize.globalMatch(sheet); matches.hasNext();) {
    const auto match = matches.next();
    scaled += QStringView(sheet).mid(end, match.capturedStart() - end);
    scaled += QStringLiteral("font-size: %1pt").arg(match.captured(1).toInt() * textScale, 0, 'f', 2);
    end = match.capturedEnd();
  }
  return scaled.append(QStringView(sheet).mid(end));
}

}  // namespace edamori::look
