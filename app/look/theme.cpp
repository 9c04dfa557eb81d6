// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/look/theme.h"

#include "app/look/control_style_internal.h"
#include "app/look/style_sheet_internal.h"

#include <QApplication>
#include <QEvent>
#include <QFontInfo>
#include <QLabel>
#include <QPalette>
#include <QToolTip>
#include <algorithm>
#include <cmath>

namespace edamori::look {

namespace {

Theme g_theme = Theme::Light;
double g_textScale = 1.0;

// Paper, moss and bark.
const Palette kLight{
    .page = QColor(0xF2, 0xED, 0xE3),
    .panel = QColor(0xF9, 0xF6, 0xEF),
    .raised = QColor(0xFF, 0xFE, 0xFB),
    .line = QColor(0xD9, 0xD1, 0xC1),
    .text = QColor(0x2A, 0x29, 0x24),
    .quietText = QColor(0x5E, 0x59, 0x4C),
    .accent = QColor(0x35, 0x5B, 0x45),
    .onAccent = QColor(0xFF, 0xFE, 0xFB),
    .good = QColor(0x2F, 0x69, 0x3C),
    .warning = QColor(0x84, 0x56, 0x00),
    .bad = QColor(0xA2, 0x34, 0x22),
};

// The same garden at dusk.
const Palette kDark{
    .page = QColor(0x1B, 0x1D, 0x19),
    .panel = QColor(0x23, 0x26, 0x20),
    .raised = QColor(0x2D, 0x31, 0x29),
    .line = QColor(0x44, 0x49, 0x3D),
    .text = QColor(0xED, 0xE9, 0xDD),
    .quietText = QColor(0xB7, 0xB2, 0xA0),
    .accent = QColor(0xA6, 0xC7, 0x9B),
    .onAccent = QColor(0x16, 0x20, 0x12),
    .good = QColor(0x93, 0xCD, 0x8F),
    .warning = QColor(0xE9, 0xBA, 0x62),
    .bad = QColor(0xF2, 0x9A, 0x85),
};

QPalette qtPalette(const Palette& p) {
  QPalette q;
  q.setColor(QPalette::Window, p.page);
  q.setColor(QPalette::WindowText, p.text);
  q.setColor(QPalette::Base, p.raised);
  q.setColor(QPalette::AlternateBase, p.panel);
  q.setColor(QPalette::Text, p.text);
  q.setColor(QPalette::Button, p.panel);
  q.setColor(QPalette::ButtonText, p.text);
  q.setColor(QPalette::BrightText, p.bad);
  q.setColor(QPalette::PlaceholderText, p.quietText);
  q.setColor(QPalette::Highlight, p.accent);
  q.setColor(QPalette::HighlightedText, p.onAccent);
  q.setColor(QPalette::Link, p.accent);
  q.setColor(QPalette::LinkVisited, p.quietText);
  q.setColor(QPalette::ToolTipBase, p.text);
  q.setColor(QPalette::ToolTipText, p.raised);
  q.setColor(QPalette::Light, p.raised);
  q.setColor(QPalette::Midlight, p.panel);
  q.setColor(QPalette::Mid, p.line);
  q.setColor(QPalette::Dark, p.quietText);
  q.setColor(QPalette::Shadow, p.text);
  const QColor faded = mixed(p.quietText, p.page, 0.35);
  for (const auto role : {QPalette::WindowText, QPalette::Text, QPalette::ButtonText}) {
    q.setColor(QPalette::Disabled, role, faded);
  }
  q.setColor(QPalette::Disabled, QPalette::Highlight, p.line);
  q.setColor(QPalette::Disabled, QPalette::HighlightedText, p.quietText);
  return q;
}

int pointSize(TextSize size) {
  switch (size) {
    case TextSize::Small: return 9;
    case TextSize::Body: return 10;
    case TextSize::Heading: return 13;
    case TextSize::Title: return 18;
  }
  return 10;
}

}  // namespace

const Palette& palette(Theme theme) { return theme == Theme::Dark ? kDark : kLight; }

Theme currentTheme() { return g_theme; }

QColor mixed(const QColor& a, const QColor& b, double shareOfB) {
  const auto mix = [shareOfB](int x, int y) {
    return static_cast<int>(x + (y - x) * shareOfB + 0.5);
  };
  return {mix(a.red(), b.red()), mix(a.green(), b.green()), mix(a.blue(), b.blue())};
}

QFont font(TextSize size) {
  // Named outright, so that a page looks (and a letter breaks its lines) the same on every desktop.
  QFont result(QStringLiteral("DejaVu Sans"));
  result.setStyleHint(QFont::SansSerif);
  result.setPointSize(pointSize(size));
  if (size == TextSize::Heading || size == TextSize::Title) {
    result.setWeight(QFont::DemiBold);
  }
  return result;
}

void setTextScale(double scale) { g_textScale = std::clamp(scale, 1.0, 2.0); }

double textScale() { return g_textScale; }

QFont screenFont(TextSize size) {
  QFont result = font(size);
  result.setPointSizeF(g_textScale * result.pointSizeF());
  return result;
}

int forText(int px) {
  constexpr double kUsualPx = 40.0 / 3.0;  // 10 pt at 96 dots an inch
  const double actualPx = QFontInfo(QApplication::font()).pixelSize();
  return static_cast<int>(std::lround(px * std::max(1.0, actualPx / kUsualPx)));
}

bool isTextLarge() { return forText(100) > 115; }

void apply(QApplication& application, Theme theme) {
  g_theme = theme;
  // Once only: setting a style again would polish every widget twice.
  constexpr const char* kStyled = "edamoriStyled";
  if (!application.property(kStyled).toBool()) {
    QApplication::setStyle(new ControlStyle);  // The application owns it.
    application.setProperty(kStyled, true);
  }
  QApplication::setFont(screenFont(TextSize::Body));
  const QPalette colours = qtPalette(palette(theme));
  QApplication::setPalette(colours);
  QToolTip::setPalette(colours);
  QToolTip::setFont(screenFont(TextSize::Small));
  application.setStyleSheet(styleSheet(palette(theme), g_textScale));
  // A label that was asked for its size while the sheets changed keeps an answer for another font.
  for (QWidget* const each : QApplication::allWidgets()) {
    if (auto* const label = qobject_cast<QLabel*>(each)) {
      QEvent changed(QEvent::FontChange);
      QApplication::sendEvent(label, &changed);
    }
  }
}

}  // namespace edamori::look
