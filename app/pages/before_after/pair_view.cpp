// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/before_after/pair_view.h"

#include <QAccessible>
#include <QKeyEvent>
#include <QMouseEvent>
#include <QWheelEvent>
#include <algorithm>
#include <cmath>

namespace edamori::pages {

namespace {

constexpr double kZoomPerNotch = 1.25;
constexpr double kZoomPerKey = 1.5;
constexpr double kNotch = 120.0;
constexpr double kGreatestPixel = 16.0;  // device px per photo px, as on the Bench
constexpr double kPanStepPx = 64.0;
// As the crosshair of the Bench: view px, so that zooming in makes them finer on the photo.
constexpr double kStepPx = 8.0;
constexpr double kLargeStepPx = 64.0;
constexpr double kOutlineStepPx = 2.0;
constexpr double kLargeOutlineStepPx = 16.0;
constexpr double kLineStep = 0.02;
constexpr double kLargeLineStep = 0.1;
constexpr double kLineReachPx = 14.0;
constexpr double kClickPx = 4.0;
constexpr double kBranchMargin = 0.12;  // around the branch, as a share of its longer side
constexpr int kGapPx = 2;               // between two panes

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

PointPx moved(PointPx point, QPointF by) { return {.x = point.x + by.x(), .y = point.y + by.y()}; }

}  // namespace

PairView::PairView(QWidget* parent) : QWidget(parent) {
  setObjectName(QStringLiteral("pairView"));
  setFocusPolicy(Qt::StrongFocus);
  setMouseTracking(true);
  setAttribute(Qt::WA_OpaquePaintEvent);
  setAccessibleName(tr("The two photos"));
  connect(&m_turn, &QTimer::timeout, this, &PairView::showOther);
}

void PairView::setMessage(const QString& message) {
  m_message = message;
  tell();
  update();
}

void PairView::clear() {
  m_pictures = {};
  m_shown = {};
  m_isLaidOn = false;
  endTask();
  setMessage({});
}

void PairView::setPictures(const PairPictures& pictures) {
  m_pictures = pictures;
  forgetComparison();
  m_message.clear();
  showBranch();
  tell();
}

void PairView::setComparison(const ComparisonShown& shown) {
  endTask();
  m_shown = shown;
  m_isLaidOn = shown.aligned && !shown.laidOn.isEmpty();
  forgetFrames();
  m_message.clear();
  showBranch();
  tell();
}

void PairView::forgetComparison() {
  m_shown = {};
  m_isLaidOn = false;
  m_turn.stop();
  forgetFrames();
  update();
}

// Another picture may lie at the same place.
void PairView::forgetFrames() {
  for (PhotoFrame& frame : m_frames) {
    frame.forget();
  }
}

void PairView::setTitles(const QString& before, const QString& after) {
  m_titleBefore = before;
  m_titleAfter = after;
  update();
}

void PairView::setMode(PairMode mode) {
  if (m_mode == mode) {
    return;
  }
  m_mode = mode;
  keepInView();
  tell();
  Q_EMIT modeChanged();
}

void PairView::setTurnIntervalMs(int intervalMs) {
  if (intervalMs > 0) {
    m_turn.start(intervalMs);
  } else {
    m_turn.stop();
  }
}

void PairView::showOther() {
  if (m_mode != PairMode::InTurn || !showsLaidOn()) {
    return;
  }
  m_isAfterShown = !m_isAfterShown;
  update();
  if (!m_turn.isActive()) {
    tell();  // never by itself: a reader would be read to without end
  }
  Q_EMIT viewed();
}

void PairView::setLine(double share) {
  m_line = std::clamp(share, 0.0, 1.0);
  tell();
  update();
  Q_EMIT viewed();
}

void PairView::startPlaces() {
  if (!hasPictures()) {
    return;
  }
  m_task = PairTask::Places;
  m_places.clear();
  if (m_pictures.help) {
    m_places = work::pointPairsOf(*m_pictures.help);
  }
  m_half.reset();
  m_showCrosshair = false;
  m_turn.stop();
  forgetFrames();
  showBranch();
  m_crosshair = centreOf(askedSide());
  setFocus();
  tell();
  Q_EMIT placesChanged();
}

void PairView::startOutline(const Outline& outlineAfter) {
  if (!hasPictures() || outlineAfter.polygon.empty()) {
    return;
  }
  m_task = PairTask::Outline;
  m_moved = outlineAfter;
  m_turn.stop();
  forgetFrames();
  showBranch();
  const PointPx middle = centroidPx(m_moved.polygon);
  m_centreAfter = middle;
  setFocus();
  keepInView();
  tell();
  Q_EMIT outlineMoved();
}

void PairView::endTask() {
  if (m_task == PairTask::Look) {
    return;
  }
  m_task = PairTask::Look;
  m_places.clear();
  m_half.reset();
  m_moved = {};
  m_drag = Drag::None;
  forgetFrames();
  showBranch();
  tell();
}

void PairView::takeBackPlace() {
  if (m_half) {
    m_half.reset();
  } else if (!m_places.empty()) {
    m_half = m_places.back().before;
    m_places.pop_back();
  }
  m_crosshair = centreOf(askedSide());
  tell();
  update();
  Q_EMIT placesChanged();
}

bool PairView::isTwoPanes() const {
  return m_task != PairTask::Look || !m_isLaidOn || m_mode == PairMode::SideBySide;
}

std::vector<PairView::Pane> PairView::panes() const {
  if (!isTwoPanes()) {
    const Side side = m_mode == PairMode::InTurn && !m_isAfterShown ? Side::Before : Side::After;
    return {{.rect = rect(), .side = side}};
  }
  const int half = (width() - kGapPx) / 2;
  return {{.rect = QRect(0, 0, half, height()), .side = Side::Before},
          {.rect = QRect(width() - half, 0, half, height()), .side = Side::After}};
}

PairView::Pane PairView::paneOf(Side side) const {
  const auto all = panes();
  return all.size() == 2 && side == Side::After ? all.back() : all.front();
}

PairView::Side PairView::sideAt(QPointF view) const {
  return isTwoPanes() && view.x() > width() / 2.0 ? Side::After : Side::Before;
}

const Picture& PairView::pictureOf(Layer layer) const {
  switch (layer) {
    case Layer::Before:
      return m_pictures.before;
    case Layer::Grey:
      return m_shown.grey;
    case Layer::After:
      break;
  }
  return showsLaidOn() ? m_shown.laidOn : m_pictures.after;
}

double PairView::fitScale(Side side) const {
  const QSize photo = pictureOf(side == Side::Before ? Layer::Before : Layer::After).photoSize;
  const QSize pane = paneOf(side).rect.size();
  if (photo.isEmpty() || pane.isEmpty()) {
    return 1;
  }
  return std::min(1.0 * pane.width() / photo.width(), 1.0 * pane.height() / photo.height());
}

double PairView::greatestZoom() const {
  const double finest = std::max(fitScale(Side::Before), 1e-6);
  return std::max(1.0, kGreatestPixel / (finest * devicePixelRatioF()));
}

PointPx& PairView::centreOf(Side side) {
  return side == Side::After && !showsLaidOn() ? m_centreAfter : m_centreBefore;
}
const PointPx& PairView::centreOf(Side side) const {
  return side == Side::After && !showsLaidOn() ? m_centreAfter : m_centreBefore;
}

QPointF PairView::viewFromPhoto(Side side, PointPx photo) const {
  const QRectF pane = paneOf(side).rect;
  const PointPx& centre = centreOf(side);
  return pane.center() + QPointF(photo.x - centre.x, photo.y - centre.y) * scaleOf(side);
}

PointPx PairView::photoFromView(Side side, QPointF view) const {
  const QPointF from = (view - QRectF(paneOf(side).rect).center()) / scaleOf(side);
  return moved(centreOf(side), from);
}

// The branch with some room around it; the whole photo when it is not outlined.
void PairView::showBranch() {
  for (const Side side : {Side::Before, Side::After}) {
    const QSize size = pictureOf(side == Side::Before ? Layer::Before : Layer::After).photoSize;
    centreOf(side) = {.x = size.width() / 2.0, .y = size.height() / 2.0};
  }
  m_zoom = 1;
  const auto& outline = m_pictures.outlineBefore;
  if (outline) {
    const BoundsPx box = boundsPx(outline->polygon);
    const double room = 1 + 2 * kBranchMargin;
    const QSize pane = paneOf(Side::Before).rect.size();
    const double wanted = std::min(pane.width() / std::max(1.0, box.width() * room),
                                   pane.height() / std::max(1.0, box.height() * room));
    m_zoom = std::clamp(wanted / fitScale(Side::Before), 1.0, greatestZoom());
    m_centreBefore = {.x = (box.left + box.right) / 2, .y = (box.top + box.bottom) / 2};
  }
  if (!showsLaidOn()) {
    const Outline& after = m_shown.aligned ? m_shown.outlineAfter
                           : m_pictures.outlineAfter ? *m_pictures.outlineAfter
                                                     : Outline{};
    if (!after.polygon.empty()) {
      const BoundsPx box = boundsPx(after.polygon);
      m_centreAfter = {.x = (box.left + box.right) / 2, .y = (box.top + box.bottom) / 2};
    } else if (outline) {
      // Nothing is known of the later photo: the same place, as far as the frames are alike.
      const QSize before = m_pictures.before.photoSize;
      const QSize size = m_pictures.after.photoSize;
      m_centreAfter = {.x = m_centreBefore.x / before.width() * size.width(),
                       .y = m_centreBefore.y / before.height() * size.height()};
    }
  }
  keepInView();
}

void PairView::keepInView() {
  m_zoom = std::clamp(m_zoom, 1.0, greatestZoom());
  for (const Side side : {Side::Before, Side::After}) {
    const QSize size = pictureOf(side == Side::Before ? Layer::Before : Layer::After).photoSize;
    const QSizeF half = QSizeF(paneOf(side).rect.size()) / (2 * scaleOf(side));
    PointPx& centre = centreOf(side);
    const auto within = [](double at, double reach, double length) {
      return 2 * reach >= length ? length / 2 : std::clamp(at, reach, length - reach);
    };
    centre = {.x = within(centre.x, half.width(), size.width()),
              .y = within(centre.y, half.height(), size.height())};
  }
  update();
}

void PairView::zoom(Zoom how) {
  switch (how) {
    case Zoom::In:
      zoomAbout(QRectF(paneOf(Side::Before).rect).center(), kZoomPerKey);
      return;
    case Zoom::Out:
      zoomAbout(QRectF(paneOf(Side::Before).rect).center(), 1 / kZoomPerKey);
      return;
    case Zoom::Branch:
      showBranch();
      break;
    case Zoom::Whole:
      m_zoom = 1;
      keepInView();
      break;
  }
  tell();
  Q_EMIT viewed();
}

// Each pane keeps the place that lies at the same point of it.
void PairView::zoomAbout(QPointF view, double factor) {
  if (!hasPictures()) {
    return;
  }
  const QPointF inPane = view - paneOf(sideAt(view)).rect.topLeft();
  std::array<PointPx, 2> kept;
  const std::array sides{Side::Before, Side::After};
  for (std::size_t i = 0; i < sides.size(); ++i) {
    kept[i] = photoFromView(sides[i], inPane + paneOf(sides[i]).rect.topLeft());
  }
  m_zoom = std::clamp(m_zoom * factor, 1.0, greatestZoom());
  for (std::size_t i = 0; i < sides.size(); ++i) {
    const QPointF off = viewFromPhoto(sides[i], kept[i]) - (inPane + paneOf(sides[i]).rect.topLeft());
    PointPx& centre = centreOf(sides[i]);
    centre = moved(centre, off / scaleOf(sides[i]));
    if (showsLaidOn()) {
      break;  // one centre for both
    }
  }
  keepInView();
  tell();
  Q_EMIT viewed();
}

void PairView::panBy(QPointF view, std::optional<Side> onlySide) {
  for (const Side side : {Side::Before, Side::After}) {
    const bool isShared = showsLaidOn() && side == Side::After;
    if (!isShared && (!onlySide || *onlySide == side || showsLaidOn())) {
      PointPx& centre = centreOf(side);
      centre = moved(centre, -view / scaleOf(side));
    }
  }
  keepInView();
}

void PairView::setPlace(Side side, PointPx photo) {
  if (side != askedSide() || (!m_half && m_places.size() >= vision::kMaxPointPairs)) {
    return;
  }
  if (m_half) {
    m_places.push_back({.before = *m_half, .after = photo});
    m_half.reset();
  } else {
    m_half = photo;
  }
  m_crosshair = centreOf(askedSide());
  tell();
  update();
  Q_EMIT placesChanged();
}

void PairView::setPlaceAt(QPointF view) {
  const Side side = sideAt(view);
  const PointPx photo = photoFromView(side, view);
  const QSize size = pictureOf(side == Side::Before ? Layer::Before : Layer::After).photoSize;
  if (photo.x >= 0 && photo.y >= 0 && photo.x <= size.width() && photo.y <= size.height()) {
    setPlace(side, photo);
  }
}

void PairView::moveOutline(QPointF byPx) {
  m_moved = mapped(Homography{1, 0, byPx.x(), 0, 1, byPx.y(), 0, 0, 1}, m_moved);
  update();
  Q_EMIT outlineMoved();
}

bool PairView::isOnLine(QPointF view) const {
  return m_mode == PairMode::Line && showsLaidOn() &&
         std::abs(view.x() - m_line * width()) <= kLineReachPx;
}

// Says to assistive technology what is seen.
void PairView::tell() {
  QStringList words;
  if (!m_message.isEmpty()) {
    words << m_message;
  } else if (hasPictures()) {
    if (m_task == PairTask::Places) {
      words << tr("%1 of 4 places set; the next one is asked for on the %2 photo")
                   .arg(m_places.size())
                   .arg(asksForAfter() ? tr("later") : tr("earlier"));
    } else if (m_task == PairTask::Outline) {
      words << tr("The outline on the later photo is being moved");
    } else if (!m_isLaidOn) {
      words << tr("Side by side, not laid on each other");
    } else if (m_mode == PairMode::SideBySide) {
      words << tr("Side by side");
    } else if (m_mode == PairMode::Line) {
      words << tr("Line at %1 %").arg(std::lround(100 * m_line));
    } else if (m_mode == PairMode::InTurn) {
      words << (m_isAfterShown ? m_titleAfter : m_titleBefore);
    } else {
      words << tr("What changed");
    }
    words << tr("zoom %1 %").arg(std::lround(100 * m_zoom));
  }
  setAccessibleDescription(words.join(QStringLiteral(", ")));
  QAccessibleEvent changed(this, QAccessible::DescriptionChanged);
  QAccessible::updateAccessibility(&changed);
}

void PairView::resizeEvent(QResizeEvent* event) {
  QWidget::resizeEvent(event);
  if (hasPictures()) {
    keepInView();
  }
}

void PairView::changeEvent(QEvent* event) {
  QWidget::changeEvent(event);
  if (event->type() == QEvent::PaletteChange) {
    update();
  }
}

void PairView::focusInEvent(QFocusEvent* event) {
  QWidget::focusInEvent(event);
  update();
}

void PairView::focusOutEvent(QFocusEvent* event) {
  QWidget::focusOutEvent(event);
  update();
}

void PairView::wheelEvent(QWheelEvent* event) {
  const double notches = event->angleDelta().y() / kNotch;
  if (notches != 0 && hasPictures()) {
    zoomAbout(event->position(), std::pow(kZoomPerNotch, notches));
  }
  event->accept();
}

void PairView::mousePressEvent(QMouseEvent* event) {
  if (!hasPictures() || (event->button() != Qt::LeftButton && event->button() != Qt::MiddleButton)) {
    return;
  }
  setFocus(Qt::MouseFocusReason);
  m_pressedAt = m_lastAt = event->position();
  m_dragSide = sideAt(m_pressedAt);
  m_isClick = event->button() == Qt::LeftButton;
  m_drag = Drag::Pan;
  if (event->button() == Qt::LeftButton && isOnLine(m_pressedAt)) {
    m_drag = Drag::Line;
  } else if (event->button() == Qt::LeftButton && m_task == PairTask::Outline &&
             m_dragSide == Side::After &&
             contains(m_moved.polygon, photoFromView(Side::After, m_pressedAt))) {
    m_drag = Drag::Outline;
  }
}

void PairView::mouseMoveEvent(QMouseEvent* event) {
  const QPointF at = event->position();
  if (m_drag == Drag::None) {
    setCursor(isOnLine(at)                    ? Qt::SplitHCursor
              : m_task == PairTask::Places    ? Qt::CrossCursor
              : hasPictures()                 ? Qt::OpenHandCursor
                                              : Qt::ArrowCursor);
    return;
  }
  m_isClick = m_isClick && (at - m_pressedAt).manhattanLength() <= kClickPx;
  const QPointF by = at - m_lastAt;
  if (m_drag == Drag::Line) {
    setLine(at.x() / std::max(1, width()));
  } else if (m_drag == Drag::Outline) {
    moveOutline(by / scaleOf(Side::After));
  } else if (!m_isClick || m_task != PairTask::Places) {
    panBy(by, m_task == PairTask::Look ? std::nullopt : std::optional(m_dragSide));
  }
  m_lastAt = at;
}

void PairView::mouseReleaseEvent(QMouseEvent* event) {
  const bool isClick = m_isClick && (event->position() - m_pressedAt).manhattanLength() <= kClickPx;
  const Drag drag = m_drag;
  m_drag = Drag::None;
  m_isClick = false;
  if (drag == Drag::Pan && isClick && event->button() == Qt::LeftButton &&
      m_task == PairTask::Places) {
    setPlaceAt(event->position());
  }
}

// Space and Enter belong to the view, not to a default button.
bool PairView::event(QEvent* event) {
  if (event->type() == QEvent::ShortcutOverride) {
    const auto* key = static_cast<QKeyEvent*>(event);
    if (key->key() == Qt::Key_Escape && m_task != PairTask::Look) {
      event->accept();
      return true;
    }
  }
  return QWidget::event(event);
}

void PairView::keyPressEvent(QKeyEvent* event) {
  if (!hasPictures() || !(taskKey(*event) || arrowKey(*event))) {
    switch (event->key()) {
      case Qt::Key_Plus:
      case Qt::Key_Equal:
        zoom(Zoom::In);
        return;
      case Qt::Key_Minus:
        zoom(Zoom::Out);
        return;
      case Qt::Key_Space:
        showOther();
        return;
      default:
        QWidget::keyPressEvent(event);
    }
  }
}

bool PairView::taskKey(const QKeyEvent& event) {
  if (m_task == PairTask::Look) {
    return false;
  }
  switch (event.key()) {
    case Qt::Key_Escape:
      Q_EMIT taskLeft();
      return true;
    case Qt::Key_Backspace:
      if (m_task == PairTask::Places) {
        takeBackPlace();
      }
      return true;
    case Qt::Key_Return:
    case Qt::Key_Enter:
      if (m_task == PairTask::Outline || event.modifiers().testFlag(Qt::ControlModifier)) {
        Q_EMIT taskTaken();
      } else if (m_showCrosshair) {
        setPlace(askedSide(), m_crosshair);
      } else {
        m_showCrosshair = true;
        update();
      }
      return true;
    default:
      return false;
  }
}

bool PairView::arrowKey(const QKeyEvent& event) {
  const QPointF direction = directionOf(event.key());
  if (direction.isNull()) {
    return false;
  }
  moveByArrow(direction, event.modifiers());
  return true;
}

void PairView::moveByArrow(QPointF direction, Qt::KeyboardModifiers modifiers) {
  const bool isLarge = modifiers.testFlag(Qt::ShiftModifier);
  if (modifiers.testFlag(Qt::ControlModifier)) {
    panBy(-direction * kPanStepPx,
          m_task == PairTask::Look ? std::nullopt : std::optional(askedSide()));
  } else if (m_task == PairTask::Places) {
    const Side side = askedSide();
    if (m_showCrosshair) {
      m_crosshair = moved(m_crosshair, direction * (isLarge ? kLargeStepPx : kStepPx) / scaleOf(side));
      const QSize size = pictureOf(side == Side::Before ? Layer::Before : Layer::After).photoSize;
      m_crosshair = {.x = std::clamp(m_crosshair.x, 0.0, 1.0 * size.width()),
                     .y = std::clamp(m_crosshair.y, 0.0, 1.0 * size.height())};
      const QRectF inside = QRectF(paneOf(side).rect).adjusted(24, 24, -24, -24);
      const QPointF at = viewFromPhoto(side, m_crosshair);
      const QPointF kept(std::clamp(at.x(), inside.left(), inside.right()),
                         std::clamp(at.y(), inside.top(), inside.bottom()));
      panBy(kept - at, side);
    }
    m_showCrosshair = true;
    update();
  } else if (m_task == PairTask::Outline) {
    moveOutline(direction * (isLarge ? kLargeOutlineStepPx : kOutlineStepPx) /
                scaleOf(Side::After));
  } else if (m_mode == PairMode::Line && showsLaidOn() && direction.y() == 0) {
    setLine(m_line + direction.x() * (isLarge ? kLargeLineStep : kLineStep));
  } else {
    panBy(-direction * kPanStepPx * (isLarge ? 4 : 1), std::nullopt);
  }
}

}  // namespace edamori::pages
