// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/look/control_style_internal.h"

#include "app/look/style_sheet_internal.h"

#include <QPainter>
#include <QPainterPath>
#include <QStyleOption>
#include <QTabBar>

#include <algorithm>

namespace edamori::look {

namespace {

constexpr int kRowPx = 4 * kGrid;

struct FieldColours {
  QColor edge, ground, sign;
  double edgeWidth = 1.0;
};

FieldColours fieldColours(QStyle::State state) {
  const Palette& p = palette(currentTheme());
  if (!state.testFlag(QStyle::State_Enabled)) {
    return {p.line, p.panel, mixed(p.quietText, p.page, 0.35), 1.0};
  }
  if (state.testFlag(QStyle::State_HasFocus)) {
    return {p.accent, p.raised, p.text, 2.0};
  }
  const bool over = state.testFlag(QStyle::State_MouseOver);
  return {controlEdge(p), over ? mixed(p.raised, p.accent, 0.10) : p.raised, p.text, 1.0};
}

void drawField(QPainter& painter, const QRectF& rect, const FieldColours& colours, double radius) {
  const double inset = colours.edgeWidth / 2.0;
  painter.setPen(QPen(colours.edge, colours.edgeWidth));
  painter.setBrush(colours.ground);
  painter.drawRoundedRect(rect.adjusted(inset, inset, -inset, -inset), radius, radius);
}

// A corner that points down (or up), `half` px to each side.
void drawCorner(QPainter& painter, QPointF centre, double half, bool pointsDown,
                const QColor& colour) {
  const double y = pointsDown ? half / 2.0 : -half / 2.0;
  painter.setBrush(Qt::NoBrush);
  painter.setPen(QPen(colour, 1.75, Qt::SolidLine, Qt::RoundCap, Qt::RoundJoin));
  painter.drawPolyline(QPolygonF({centre + QPointF(-half, -y), centre + QPointF(0.0, y),
                                  centre + QPointF(half, -y)}));
}

void drawCheckBox(QPainter& painter, const QStyleOption& option) {
  const Palette& p = palette(currentTheme());
  FieldColours colours = fieldColours(option.state);
  const bool partly = option.state.testFlag(QStyle::State_NoChange);
  const bool on = option.state.testFlag(QStyle::State_On) || partly;
  if (on && option.state.testFlag(QStyle::State_Enabled)) {
    colours.ground = p.accent;
    colours.sign = p.onAccent;
    colours.edge = option.state.testFlag(QStyle::State_HasFocus) ? p.text : p.accent;
  }
  const QRectF box(option.rect);
  drawField(painter, box, colours, 4.0);
  if (!on) {
    return;
  }
  painter.setPen(QPen(colours.sign, 2.0, Qt::SolidLine, Qt::RoundCap, Qt::RoundJoin));
  painter.setBrush(Qt::NoBrush);
  const auto at = [&box](double x, double y) {
    return QPointF(box.left() + x * box.width(), box.top() + y * box.height());
  };
  if (partly) {
    painter.drawLine(at(0.28, 0.5), at(0.72, 0.5));
  } else {
    painter.drawPolyline(QPolygonF({at(0.25, 0.53), at(0.43, 0.71), at(0.76, 0.32)}));
  }
}

void drawRadio(QPainter& painter, const QStyleOption& option) {
  const FieldColours colours = fieldColours(option.state);
  const QRectF box(option.rect);
  drawField(painter, box, colours, box.height() / 2.0);
  if (option.state.testFlag(QStyle::State_On)) {
    const bool enabled = option.state.testFlag(QStyle::State_Enabled);
    painter.setPen(Qt::NoPen);
    painter.setBrush(enabled ? palette(currentTheme()).accent : colours.sign);
    painter.drawEllipse(box.center(), box.width() * 0.25, box.height() * 0.25);
  }
}

}  // namespace

ControlStyle::ControlStyle() : QProxyStyle(QStringLiteral("Fusion")) {}

void ControlStyle::drawPrimitive(PrimitiveElement element, const QStyleOption* option,
                                 QPainter* painter, const QWidget* widget) const {
  painter->save();
  painter->setRenderHint(QPainter::Antialiasing);
  const QColor sign = fieldColours(option->state & ~QStyle::State_HasFocus).sign;
  switch (element) {
    case PE_IndicatorCheckBox:
    case PE_IndicatorItemViewItemCheck:
      drawCheckBox(*painter, *option);
      break;
    case PE_IndicatorRadioButton:
      drawRadio(*painter, *option);
      break;
    case PE_IndicatorArrowDown:
      drawCorner(*painter, QRectF(option->rect).center(), 4.0, true, sign);
      break;
    case PE_IndicatorArrowUp:
      drawCorner(*painter, QRectF(option->rect).center(), 4.0, false, sign);
      break;
    case PE_FrameFocusRect:
      if (qobject_cast<const QTabBar*>(widget) != nullptr) {
        break;  // the style sheet frames the whole tab; this frame would strike its words through
      }
      painter->setPen(QPen(palette(currentTheme()).accent, 2.0));
      painter->drawRoundedRect(QRectF(option->rect).adjusted(1, 1, -1, -1), 4.0, 4.0);
      break;
    default:
      painter->restore();
      QProxyStyle::drawPrimitive(element, option, painter, widget);
      return;
  }
  painter->restore();
}

void ControlStyle::drawComplexControl(ComplexControl control, const QStyleOptionComplex* option,
                                      QPainter* painter, const QWidget* widget) const {
  const bool isField = control == CC_ComboBox || control == CC_SpinBox;
  if (!isField) {
    QProxyStyle::drawComplexControl(control, option, painter, widget);
    return;
  }
  painter->save();
  painter->setRenderHint(QPainter::Antialiasing);
  const FieldColours colours = fieldColours(option->state);
  drawField(*painter, QRectF(option->rect), colours, 6.0);
  if (control == CC_ComboBox) {
    const QRectF arrow(subControlRect(control, option, SC_ComboBoxArrow, widget));
    drawCorner(*painter, arrow.center(), 4.0, true, colours.sign);
  } else if (option->subControls.testFlag(SC_SpinBoxUp)) {
    const QRectF up(subControlRect(control, option, SC_SpinBoxUp, widget));
    const QRectF down(subControlRect(control, option, SC_SpinBoxDown, widget));
    drawCorner(*painter, up.center() + QPointF(0, 1), 3.5, false, colours.sign);
    drawCorner(*painter, down.center() - QPointF(0, 1), 3.5, true, colours.sign);
  }
  painter->restore();
}

int ControlStyle::pixelMetric(PixelMetric metric, const QStyleOption* option,
                              const QWidget* widget) const {
  switch (metric) {
    case PM_IndicatorWidth:
    case PM_IndicatorHeight:
    case PM_ExclusiveIndicatorWidth:
    case PM_ExclusiveIndicatorHeight: return 18;
    case PM_FocusFrameHMargin: return 6;  // Also the space beside the text of an item.
    case PM_HeaderDefaultSectionSizeVertical: return kRowPx;
    case PM_ToolBarIconSize:
    case PM_ButtonIconSize: return 20;
    default: return QProxyStyle::pixelMetric(metric, option, widget);
  }
}

QSize ControlStyle::sizeFromContents(ContentsType type, const QStyleOption* option,
                                     const QSize& size, const QWidget* widget) const {
  QSize result = QProxyStyle::sizeFromContents(type, option, size, widget);
  if (type == CT_ItemViewItem) {
    // Not by a padding in the style sheet: views that lay out before they are polished ignore it.
    result.setHeight(std::max(result.height(), kRowPx));
  }
  return result;
}

}  // namespace edamori::look
