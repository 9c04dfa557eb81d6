// SPDX-License-Identifier: GPL-3.0-or-later
// Two photos of a branch, close: side by side, behind a line, in turn, or what changed between them.
#pragma once

#include "app/pages/before_after/pair_shown.h"
#include "app/pages/bench/photo_frame.h"

#include <QTimer>
#include <QWidget>
#include <array>
#include <optional>
#include <vector>

namespace edamori::pages {

enum class PairMode { SideBySide, Line, InTurn, Change };
// What a person does to the pair: look, set places that are the same, or move the outline.
enum class PairTask { Look, Places, Outline };

// Places are px of each photo as it is; while the later photo lies on the earlier one, both panes
// show px of the earlier photo. Zoom and pan are locked: both panes show the same part. While places
// are set the two photos are panned each for itself.
//
// Keys: arrows pan, or move what the task or mode has (crosshair, outline, line), with Shift in large
// steps; Ctrl+arrows always pan; + and − zoom; Space shows the other photo; Enter takes, Backspace
// takes the last place back, Escape leaves.
class PairView : public QWidget {
  Q_OBJECT

 public:
  explicit PairView(QWidget* parent = nullptr);

  // A line in place of the photos; "" for none.
  void setMessage(const QString& message);
  [[nodiscard]] const QString& message() const { return m_message; }
  void clear();
  // The photos as they are. Fits the branch when it is outlined, else the whole photo.
  void setPictures(const PairPictures& pictures);
  // The pair laid on each other; only side by side without one.
  void setComparison(const ComparisonShown& shown);
  void forgetComparison();
  [[nodiscard]] bool isLaidOn() const { return m_isLaidOn; }
  [[nodiscard]] bool hasPictures() const { return !m_pictures.before.isEmpty(); }
  // What is written on each photo, "Before, 12 Apr 2026".
  void setTitles(const QString& before, const QString& after);

  void setMode(PairMode mode);
  [[nodiscard]] PairMode mode() const { return m_mode; }
  // In turn: by itself every so many ms; 0: by key alone, as it starts.
  void setTurnIntervalMs(int intervalMs);
  void showOther();
  [[nodiscard]] bool isAfterShown() const { return m_isAfterShown; }
  // Where the line stands, as a share of the width: 0 all later, 1 all earlier photo.
  void setLine(double share);
  [[nodiscard]] double line() const { return m_line; }

  void startPlaces();
  void startOutline(const Outline& outlineAfter);
  void endTask();
  [[nodiscard]] PairTask task() const { return m_task; }
  [[nodiscard]] const std::vector<vision::PointPairPx>& places() const { return m_places; }
  // True when the next place is to be set on the later photo.
  [[nodiscard]] bool asksForAfter() const { return m_half.has_value(); }
  void takeBackPlace();
  [[nodiscard]] const Outline& movedOutline() const { return m_moved; }

  enum class Zoom { In, Out, Whole, Branch };
  void zoom(Zoom how);
  [[nodiscard]] double zoomFactor() const { return m_zoom; }  // 1: the whole photo in its pane
  // For tests and for the description: where a place of a photo is seen, view px.
  enum class Side { Before, After };
  [[nodiscard]] QPointF viewFromPhoto(Side side, PointPx photo) const;
  [[nodiscard]] PointPx photoFromView(Side side, QPointF view) const;
  // What is seen, as it is painted, for saving; null without photos.
  [[nodiscard]] QImage snapshot();

  [[nodiscard]] QSize sizeHint() const override { return {760, 480}; }
  [[nodiscard]] QSize minimumSizeHint() const override { return {320, 200}; }

 Q_SIGNALS:
  void placesChanged();   // one was set or taken back
  void outlineMoved();
  void taskTaken();       // Enter where it stands for "use it"
  void taskLeft();        // Escape
  void modeChanged();
  void viewed();          // zoom, line or photo in turn changed

 protected:
  bool event(QEvent* event) override;
  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;
  void wheelEvent(QWheelEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;
  void mouseMoveEvent(QMouseEvent* event) override;
  void mouseReleaseEvent(QMouseEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;
  void focusInEvent(QFocusEvent* event) override;
  void focusOutEvent(QFocusEvent* event) override;
  void changeEvent(QEvent* event) override;

 private:
  struct Pane {
    QRect rect;  // view px
    Side side = Side::Before;
  };
  // Which painted picture a frame belongs to.
  enum class Layer { Before, After, Grey };

  [[nodiscard]] bool isTwoPanes() const;
  [[nodiscard]] std::vector<Pane> panes() const;
  [[nodiscard]] Pane paneOf(Side side) const;
  [[nodiscard]] Side sideAt(QPointF view) const;
  [[nodiscard]] const Picture& pictureOf(Layer layer) const;
  [[nodiscard]] bool showsLaidOn() const { return m_isLaidOn && m_task == PairTask::Look; }
  [[nodiscard]] double fitScale(Side side) const;  // view px per photo px at zoom 1
  [[nodiscard]] double scaleOf(Side side) const { return fitScale(side) * m_zoom; }
  [[nodiscard]] double greatestZoom() const;
  [[nodiscard]] PointPx& centreOf(Side side);
  [[nodiscard]] const PointPx& centreOf(Side side) const;
  void showBranch();
  void forgetFrames();
  void zoomAbout(QPointF view, double factor);
  void panBy(QPointF view, std::optional<Side> onlySide);
  void keepInView();
  bool taskKey(const QKeyEvent& event);
  bool arrowKey(const QKeyEvent& event);
  void moveByArrow(QPointF direction, Qt::KeyboardModifiers modifiers);
  void setPlace(Side side, PointPx photo);
  void setPlaceAt(QPointF view);
  [[nodiscard]] Side askedSide() const { return m_half ? Side::After : Side::Before; }
  void moveOutline(QPointF byPx);
  [[nodiscard]] bool isOnLine(QPointF view) const;
  void tell();
  void paintPane(QPainter& painter, const Pane& pane);
  void paintLayer(QPainter& painter, Layer layer, const QRect& rect, const QRect& part);
  void paintChange(QPainter& painter, const QRect& rect) const;
  void paintOutlines(QPainter& painter, const Pane& pane) const;
  void paintPlaces(QPainter& painter, const Pane& pane) const;
  void paintTitle(QPainter& painter, const QRect& rect, Side side) const;
  void paintLine(QPainter& painter) const;
  [[nodiscard]] QPolygonF seen(Side side, const Polygon& polygon) const;

  PairPictures m_pictures;
  ComparisonShown m_shown;
  bool m_isLaidOn = false;
  QString m_message, m_titleBefore, m_titleAfter;
  std::array<PhotoFrame, 3> m_frames;

  PairMode m_mode = PairMode::SideBySide;
  PairTask m_task = PairTask::Look;
  double m_zoom = 1;
  PointPx m_centreBefore, m_centreAfter;  // px of each photo in the middle of its pane
  double m_line = 0.5;
  bool m_isAfterShown = false;
  QTimer m_turn;

  std::vector<vision::PointPairPx> m_places;
  std::optional<PointPx> m_half;  // set on the earlier photo, waits for the later one
  PointPx m_crosshair;            // px of the photo that is asked for
  bool m_showCrosshair = false;
  Outline m_moved;                // px of the later photo

  enum class Drag { None, Pan, Line, Outline };
  Drag m_drag = Drag::None;
  Side m_dragSide = Side::Before;
  QPointF m_pressedAt, m_lastAt;
  bool m_isClick = false;  // pressed and not moved far yet
};

}  // namespace edamori::pages
