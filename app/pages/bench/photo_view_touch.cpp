// SPDX-License-Identifier: GPL-3.0-or-later
// Fingers on the PhotoView: one is the tool's hand, two zoom and pan, one that rests asks for the
// menu.
#include "app/pages/bench/photo_view.h"

#include <QApplication>
#include <QLineF>
#include <QStyleHints>
#include <QTouchEvent>
#include <cmath>

namespace edamori::pages {

namespace {

// A finger is wider than a pointer: it may tremble this far (view px) before it draws.
constexpr double kSlackPx = 10;

}  // namespace

bool PhotoView::touchEvent(QTouchEvent& event) {
  event.accept();
  if (event.type() == QEvent::TouchCancel || m_picture.isEmpty()) {
    m_touchRest.stop();
    if (m_touch == Touch::Tool && m_tool != nullptr) {
      m_tool->cancel();
    }
    m_touch = Touch::None;
    return true;
  }
  const auto& points = event.points();
  const QPointF here = points.front().position();
  if (event.type() == QEvent::TouchBegin && m_touch == Touch::None) {
    m_crosshair.reset();
    m_touch = Touch::Undecided;
    m_touchStart = here;
    m_touchRest.start(QGuiApplication::styleHints()->mousePressAndHoldInterval());
  }
  if (points.size() >= 2 && (m_touch == Touch::Undecided || m_touch == Touch::Pinch)) {
    pinch(event);
  } else if (m_touch == Touch::Undecided && QLineF(m_touchStart, here).length() > kSlackPx &&
             m_tool != nullptr) {
    m_touchRest.stop();
    m_touch = Touch::Tool;
    m_tool->press(pointAt(m_touchStart, event.modifiers()));
  }
  if (m_touch == Touch::Tool) {
    m_tool->drag(pointAt(here, event.modifiers()));
    Q_EMIT pointedAt(photoFromView(here));
  }
  if (event.type() == QEvent::TouchEnd) {
    m_touchStart = m_touch == Touch::Tool ? here : m_touchStart;
    endTouch(event.modifiers());
  }
  return true;
}

void PhotoView::endTouch(Qt::KeyboardModifiers modifiers) {
  m_touchRest.stop();
  const auto at = pointAt(m_touchStart, modifiers);
  const auto was = std::exchange(m_touch, Touch::None);
  if (m_tool == nullptr) {
    return;
  }
  if (was == Touch::Undecided) {
    m_tool->press(at);
  }
  if (was == Touch::Undecided || was == Touch::Tool) {
    m_tool->release(at);
  }
}

// The photo stays under both fingers.
void PhotoView::pinch(const QTouchEvent& event) {
  m_touchRest.stop();
  const QPointF first = event.points()[0].position(), second = event.points()[1].position();
  const QPointF centre = (first + second) / 2;
  const double spread = std::max(1.0, QLineF(first, second).length());
  if (m_touch != Touch::Pinch) {
    m_touch = Touch::Pinch;
  } else {
    panBy(centre - m_pinchCentre);
    zoomAbout(centre, m_zoom * spread / m_pinchSpread);
  }
  m_pinchCentre = centre;
  m_pinchSpread = spread;
}

}  // namespace edamori::pages
