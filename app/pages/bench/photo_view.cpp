// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/photo_view.h"
#include "app/pages/bench/over_bars.h"

#include <QContextMenuEvent>
#include <QKeyEvent>
#include <QMouseEvent>
#include <QResizeEvent>
#include <QTabletEvent>
#include <QTouchEvent>
#include <QWheelEvent>
#include <algorithm>
#include <cmath>
#include <utility>

namespace edamori::pages {

namespace {

// One notch of a wheel (120, as Qt counts eighths of a degree) zooms by a quarter.
constexpr int kZoomRestMs = 90;  // after the last step of zooming the picture is drawn smoothly
constexpr double kZoomPerNotch = 1.25;
constexpr double kNotch = 120.0;
// Steps of the crosshair in view px, so that zooming in makes them finer on the photo.
constexpr double kStepPx = 8.0;
constexpr double kLargeStepPx = 64.0;
constexpr double kMarginPx = 24.0;

QString usage() {
  return PhotoView::tr("Arrow keys move a crosshair, with Shift in large steps; Enter acts there.");
}

QPointF directionOf(int key) {
  switch (key) {
    case Qt::Key_Left:
      return {-1, 0};
    case Qt::Key_Right:
      return {1, 0};
    case Qt::Key_Up:
      return {0, -1};
    case Qt::Key_Down:
      return {0, 1};
    default:
      return {};
  }
}

}  // namespace

PhotoView::PhotoView(PhotoDesk& desk, QWidget* parent) : QWidget(parent), m_desk(desk) {
  setFocusPolicy(Qt::StrongFocus);
  setMouseTracking(true);
  setAttribute(Qt::WA_AcceptTouchEvents);
  setAttribute(Qt::WA_OpaquePaintEvent);
  m_touchRest.setSingleShot(true);
  m_zoomRest.setSingleShot(true);
  m_zoomRest.setInterval(kZoomRestMs);
  connect(&m_zoomRest, &QTimer::timeout, this, qOverload<>(&PhotoView::update));
  connect(&m_touchRest, &QTimer::timeout, this, [this] {
    m_touch = Touch::Spent;
    Q_EMIT menuWanted(mapToGlobal(m_touchStart.toPoint()), photoFromView(m_touchStart));
  });
  setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Expanding);
  setAccessibleName(tr("Photo"));
  setAccessibleDescription(usage());
  connect(&m_desk, &PhotoDesk::recordsChanged, this, qOverload<>(&QWidget::update));
  connect(&m_desk, &PhotoDesk::choiceChanged, this, qOverload<>(&QWidget::update));
}

void PhotoView::setPicture(const Picture& picture) {
  const bool isOther = m_picture.photoSize != picture.photoSize || m_picture.isEmpty();
  m_picture = picture;
  m_frame.forget();
  if (isOther) {
    fit();
  }
  update();
}

void PhotoView::setTints(std::vector<Tint> tints) {
  m_tints = std::move(tints);
  update();
}

void PhotoView::setTintsShown(Shown shown) {
  m_showTints = shown == Shown::Yes;
  update();
}

void PhotoView::setTintLook(TintLook tintLook) {
  m_tintLook = tintLook;
  update();
}

void PhotoView::setLight(const ViewLight& light) {
  m_light = light;
  update();
}

void PhotoView::setOverlayPercent(int percent) {
  m_overlayStrength = std::clamp(percent, 0, 100) / 100.0;
  update();
}

void PhotoView::setOverlayShown(Shown shown) {
  m_showOverlay = shown == Shown::Yes;
  update();
}

void PhotoView::setLoupeShown(Shown shown) {
  m_showLoupe = shown == Shown::Yes;
  update();
}

void PhotoView::setMessage(const QString& message) {
  m_message = message;
  setAccessibleDescription(message.isEmpty() ? usage() : message);
  update();
}

void PhotoView::clear() {
  m_picture = {};
  m_frame.forget();
  m_touchRest.stop();
  m_touch = Touch::None;
  m_tints.clear();
  m_crosshair.reset();
  m_isToolDown = m_isPanning = false;
  update();
}

void PhotoView::setTool(Tool* tool) {
  if (m_tool != nullptr) {
    m_tool->disconnect(this);
  }
  m_tool = tool;
  m_isToolDown = false;
  if (m_tool != nullptr) {
    connect(m_tool, &Tool::changed, this, qOverload<>(&QWidget::update));
  }
  updateCursor();
  update();
}

double PhotoView::scale() const { return m_zoom / devicePixelRatioF(); }

double PhotoView::fitZoom() const {
  if (m_picture.photoSize.isEmpty()) {
    return 1;
  }
  const double ratio = devicePixelRatioF();
  const double zoom = std::min(width() * ratio / m_picture.photoSize.width(),
                               height() * ratio / m_picture.photoSize.height());
  return std::clamp(zoom, 1e-4, kGreatestZoom);
}

void PhotoView::fit() {
  m_isFitted = true;
  m_zoom = fitZoom();
  m_centre = {.x = m_picture.photoSize.width() / 2.0, .y = m_picture.photoSize.height() / 2.0};
  update();
  Q_EMIT zoomChanged();
}

void PhotoView::setZoom(double zoom) {
  const QPointF middle(width() / 2.0, height() / 2.0);
  zoomAbout(m_crosshair ? viewFromPhoto(*m_crosshair) : middle, zoom);
}

void PhotoView::zoomAbout(QPointF view, double zoom) {
  if (m_picture.isEmpty()) {
    return;
  }
  const double least = std::min(fitZoom(), 1.0);
  if (zoom <= least && fitZoom() <= 1.0) {
    fit();
    return;
  }
  const PointPx held = photoFromView(view);
  m_isFitted = false;
  m_zoom = std::clamp(zoom, least, kGreatestZoom);
  m_zoomRest.start();
  m_centre = {.x = held.x - (view.x() - width() / 2.0) / scale(),
              .y = held.y - (view.y() - height() / 2.0) / scale()};
  keepInView();
  update();
  Q_EMIT zoomChanged();
}

void PhotoView::panBy(QPointF view) {
  m_centre.x -= view.x() / scale();
  m_centre.y -= view.y() / scale();
  m_isFitted = false;
  keepInView();
  update();
}

void PhotoView::centreOn(PointPx photo) {
  m_centre = photo;
  m_isFitted = false;
  keepInView();
  update();
}

void PhotoView::reveal(PointPx photo) {
  const QPointF at = viewFromPhoto(photo);
  const double marginX = std::min(kMarginPx, width() / 4.0);
  const double marginY = std::min(kMarginPx, height() / 4.0);
  // What lies under a bar at the bottom is not to be seen either.
  double bottom = height() - marginY;
  for (const auto* bar : findChildren<OverBar*>()) {
    if (bar->isVisible() && bar->y() > height() / 2) {
      bottom = std::min(bottom, bar->y() - marginY / 2);
    }
  }
  const double dx = at.x() - std::clamp(at.x(), marginX, width() - marginX);
  const double dy = at.y() - std::clamp(at.y(), marginY, std::max(marginY, bottom));
  if (!m_isFitted && (dx != 0 || dy != 0)) {
    panBy({-dx, -dy});
  }
}

// The middle of the view stays on the photo, so that it cannot get lost.
void PhotoView::keepInView() { m_centre = clamped(m_centre); }

PointPx PhotoView::clamped(PointPx photo) const {
  return {.x = std::clamp(photo.x, 0.0, double{1} * m_picture.photoSize.width()),
          .y = std::clamp(photo.y, 0.0, double{1} * m_picture.photoSize.height())};
}

PointPx PhotoView::photoFromView(QPointF view) const {
  return {.x = m_centre.x + (view.x() - width() / 2.0) / scale(),
          .y = m_centre.y + (view.y() - height() / 2.0) / scale()};
}

QPointF PhotoView::viewFromPhoto(PointPx photo) const {
  return {(photo.x - m_centre.x) * scale() + width() / 2.0,
          (photo.y - m_centre.y) * scale() + height() / 2.0};
}

void PhotoView::setCrosshair(PointPx photo) {
  m_crosshair = clamped(photo);
  reveal(*m_crosshair);
  if (m_tool != nullptr) {
    m_tool->hover({.photo = *m_crosshair, .view = viewFromPhoto(*m_crosshair), .modifiers = {}});
  }
  Q_EMIT pointedAt(*m_crosshair);
  update();
}

ToolPoint PhotoView::pointAt(QPointF view, Qt::KeyboardModifiers modifiers) const {
  return {.photo = photoFromView(view),
          .view = view,
          .modifiers = modifiers,
          .pressure = m_pressure};
}

void PhotoView::resizeEvent(QResizeEvent* event) {
  QWidget::resizeEvent(event);
  if (m_isFitted) {
    fit();
  }
}

void PhotoView::wheelEvent(QWheelEvent* event) {
  const double notches = event->angleDelta().y() / kNotch;
  if (notches != 0) {
    zoomAbout(event->position(), m_zoom * std::pow(kZoomPerNotch, notches));
  }
  event->accept();
}

void PhotoView::mousePressEvent(QMouseEvent* event) {
  if (m_picture.isEmpty()) {
    return;
  }
  m_crosshair.reset();
  const bool isLeft = event->button() == Qt::LeftButton;
  m_isOnOverview = isLeft && !m_isSpaceDown && panByOverview(event->position());
  if (m_isOnOverview) {
    return;
  }
  if (event->button() == Qt::MiddleButton || (isLeft && m_isSpaceDown)) {
    m_isPanning = true;
    m_lastPan = event->position();
    updateCursor();
  } else if (isLeft && m_tool != nullptr) {
    m_isToolDown = true;
    m_tool->press(pointAt(event->position(), event->modifiers()));
  }
  update();
}

void PhotoView::mouseMoveEvent(QMouseEvent* event) {
  const QPointF here = event->position();
  m_pointer = here;
  if (m_showLoupe) {
    update();
  }
  if (m_isOnOverview) {
    (void)panByOverview(here);
    return;
  }
  if (m_isPanning) {
    panBy(here - m_lastPan);
    m_lastPan = here;
    return;
  }
  if (m_picture.isEmpty() || m_tool == nullptr) {
    return;
  }
  const auto at = pointAt(here, event->modifiers());
  if (m_isToolDown) {
    m_tool->drag(at);
  } else {
    m_tool->hover(at);
  }
  Q_EMIT pointedAt(at.photo);
}

void PhotoView::mouseReleaseEvent(QMouseEvent* event) {
  if (std::exchange(m_isOnOverview, false)) {
    return;
  }
  if (m_isPanning) {
    m_isPanning = false;
    updateCursor();
  } else if (m_isToolDown && event->button() == Qt::LeftButton) {
    m_isToolDown = false;
    m_tool->release(pointAt(event->position(), event->modifiers()));
    m_pressure = 1;
  }
}

void PhotoView::mouseDoubleClickEvent(QMouseEvent* event) {
  if (event->button() == Qt::LeftButton && m_tool != nullptr && !m_picture.isEmpty() &&
      !overviewRect().contains(event->position())) {
    m_tool->doublePress(pointAt(event->position(), event->modifiers()));
  }
}

// Keys that the photo needs while it has the focus go before shortcuts of the page.
bool PhotoView::event(QEvent* event) {
  switch (event->type()) {
    case QEvent::TouchBegin:
    case QEvent::TouchUpdate:
    case QEvent::TouchEnd:
    case QEvent::TouchCancel:
      return touchEvent(*static_cast<QTouchEvent*>(event));
    default:
      break;
  }
  if (event->type() == QEvent::ShortcutOverride) {
    const auto* const key = static_cast<QKeyEvent*>(event);
    const bool isArrow =
        !directionOf(key->key()).isNull() && (key->modifiers() & Qt::AltModifier) == Qt::NoModifier;
    if (isArrow || key->key() == Qt::Key_Space || key->key() == Qt::Key_Backspace ||
        key->key() == Qt::Key_Escape || key->key() == Qt::Key_Return ||
        key->key() == Qt::Key_Enter) {
      event->accept();
      return true;
    }
  }
  return QWidget::event(event);
}

bool PhotoView::arrowKey(const QKeyEvent& event) {
  const QPointF direction = directionOf(event.key());
  if (direction.isNull() || event.modifiers().testFlag(Qt::AltModifier)) {
    return false;
  }
  const double step = event.modifiers().testFlag(Qt::ShiftModifier) ? kLargeStepPx : kStepPx;
  const QPointF byPx = direction * step / scale();
  if (event.modifiers().testFlag(Qt::ControlModifier)) {
    return m_tool != nullptr && m_tool->nudge(byPx);
  }
  if (!m_crosshair) {
    // It starts in the middle of what is seen.
    setCrosshair(photoFromView({width() / 2.0, height() / 2.0}));
    return true;
  }
  setCrosshair({.x = m_crosshair->x + byPx.x(), .y = m_crosshair->y + byPx.y()});
  return true;
}

bool PhotoView::editKey(const QKeyEvent& event) {
  if (m_tool == nullptr) {
    return false;
  }
  switch (event.key()) {
    case Qt::Key_Return:
    case Qt::Key_Enter:
      if (event.modifiers().testFlag(Qt::ControlModifier) || !m_crosshair) {
        m_tool->finish();
      } else {
        m_tool->enter({.photo = *m_crosshair,
                       .view = viewFromPhoto(*m_crosshair),
                       .modifiers = event.modifiers()});
      }
      return true;
    case Qt::Key_Escape:
      m_tool->cancel();
      return true;
    case Qt::Key_Backspace:
      m_tool->stepBack();
      return true;
    default:
      return false;
  }
}

void PhotoView::keyPressEvent(QKeyEvent* event) {
  if (m_picture.isEmpty()) {
    QWidget::keyPressEvent(event);
    return;
  }
  if (event->key() == Qt::Key_Space) {
    m_isSpaceDown = true;
    updateCursor();
  } else if (!arrowKey(*event) && !editKey(*event)) {
    QWidget::keyPressEvent(event);
  }
}

void PhotoView::keyReleaseEvent(QKeyEvent* event) {
  if (event->key() == Qt::Key_Space && !event->isAutoRepeat()) {
    m_isSpaceDown = false;
    updateCursor();
    return;
  }
  QWidget::keyReleaseEvent(event);
}

void PhotoView::focusInEvent(QFocusEvent* event) {
  QWidget::focusInEvent(event);
  update();
}

void PhotoView::focusOutEvent(QFocusEvent* event) {
  QWidget::focusOutEvent(event);
  m_isSpaceDown = false;
  updateCursor();
  update();
}

void PhotoView::leaveEvent(QEvent* event) {
  QWidget::leaveEvent(event);
  m_pointer.reset();
  update();
}

void PhotoView::contextMenuEvent(QContextMenuEvent* event) {
  if (m_picture.isEmpty()) {
    return;
  }
  // By the menu key it opens at the crosshair.
  const bool isByKey = event->reason() == QContextMenuEvent::Keyboard;
  const QPointF at = isByKey && m_crosshair ? viewFromPhoto(*m_crosshair) : QPointF(event->pos());
  Q_EMIT menuWanted(mapToGlobal(at.toPoint()), photoFromView(at));
  event->accept();
}

// Left for Qt to repeat as a mouse event, which finds the pressure here.
void PhotoView::tabletEvent(QTabletEvent* event) {
  m_pressure = event->type() == QEvent::TabletRelease ? m_pressure : event->pressure();
  event->ignore();
}

void PhotoView::updateCursor() {
  if (m_isPanning || m_isSpaceDown) {
    setCursor(m_isPanning ? Qt::ClosedHandCursor : Qt::OpenHandCursor);
  } else {
    setCursor(m_tool == nullptr ? QCursor(Qt::ArrowCursor) : m_tool->cursor());
  }
}

}  // namespace edamori::pages
