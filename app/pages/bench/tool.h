// SPDX-License-Identifier: GPL-3.0-or-later
// What a hand does on the photo. The view turns mouse and keyboard into the same calls.
#pragma once

#include "app/pages/bench/photo_desk.h"

#include <QCursor>
#include <QPointF>
#include <QString>
#include <optional>

class QPainter;

namespace edamori::pages {

class PhotoView;

// Where a hand points: photo px are exact at any zoom, view px are logical px of the widget.
struct ToolPoint {
  PointPx photo;
  QPointF view;
  Qt::KeyboardModifiers modifiers;
  double pressure = 1;  // of a pen, 0…1; 1 for hands without pressure
};

// Lives in the GUI thread; the desk and the view outlive it.
class Tool : public QObject {
  Q_OBJECT

 public:
  Tool(PhotoDesk& desk, PhotoView& view, QObject* parent)
      : QObject(parent), m_desk(desk), m_view(view) {}

  virtual void press(const ToolPoint&) {}
  virtual void drag(const ToolPoint&) {}   // moved while pressed
  virtual void hover(const ToolPoint&) {}  // moved while not pressed
  virtual void release(const ToolPoint&) {}
  virtual void doublePress(const ToolPoint&) {}  // follows press and release
  // Enter at the crosshair: a click there.
  virtual void enter(const ToolPoint& at);
  virtual void finish() {}    // closes what is being drawn
  virtual void cancel() {}    // drops what is being drawn
  virtual void stepBack() {}  // removes the last corner
  // An arrow key with Ctrl, in photo px; true when the tool moved something.
  virtual bool nudge(QPointF) { return false; }
  virtual void paint(QPainter&) const {}
  [[nodiscard]] virtual QCursor cursor() const { return Qt::CrossCursor; }
  [[nodiscard]] virtual QString hint() const = 0;  // one line on how to use it

 Q_SIGNALS:
  void changed();  // to be painted again

 protected:
  [[nodiscard]] PhotoDesk& desk() const { return m_desk; }
  [[nodiscard]] PhotoView& view() const { return m_view; }

 private:
  PhotoDesk& m_desk;
  PhotoView& m_view;
};

class PanTool : public Tool {
  Q_OBJECT

 public:
  using Tool::Tool;
  void press(const ToolPoint& at) override;
  void drag(const ToolPoint& at) override;
  [[nodiscard]] QCursor cursor() const override { return Qt::OpenHandCursor; }
  [[nodiscard]] QString hint() const override;

 private:
  QPointF m_last;
};

// Corners set by clicks. Closing tells completed(); the corners stay until taken() or cancel().
class OutlineTool : public Tool {
  Q_OBJECT

 public:
  using Tool::Tool;
  void press(const ToolPoint& at) override;
  void hover(const ToolPoint& at) override;
  void doublePress(const ToolPoint& at) override;
  void enter(const ToolPoint& at) override;
  void finish() override;
  void cancel() override;
  void stepBack() override;
  void paint(QPainter& painter) const override;
  [[nodiscard]] QString hint() const override;

  [[nodiscard]] const Polygon& corners() const { return m_corners; }
  void setCorners(const Polygon& corners);  // e.g. those left on this photo before

 Q_SIGNALS:
  void completed();  // the outline is closed and waits for its branch
  void dropped();    // there is none any more
  void refused(const QString& message);

 private:
  void addCorner(PointPx at);
  Polygon m_corners;
  PointPx m_pointer;
  bool m_isClosed = false;
};

class DotTool : public Tool {
  Q_OBJECT

 public:
  using Tool::Tool;
  void press(const ToolPoint& at) override;
  void release(const ToolPoint& at) override;
  [[nodiscard]] QString hint() const override;

 private:
  bool m_isDown = false;
};

// A drag draws freehand; clicks set corners.
class PatchTool : public Tool {
  Q_OBJECT

 public:
  using Tool::Tool;
  void press(const ToolPoint& at) override;
  void drag(const ToolPoint& at) override;
  void hover(const ToolPoint& at) override;
  void release(const ToolPoint& at) override;
  void doublePress(const ToolPoint& at) override;
  void enter(const ToolPoint& at) override;
  void finish() override;
  void cancel() override;
  void stepBack() override;
  void paint(QPainter& painter) const override;
  [[nodiscard]] QString hint() const override;

 protected:
  virtual void take(const Polygon& shape);  // what has been drawn

 private:
  void addCorner(PointPx at);
  Polygon m_corners, m_stroke;
  QPointF m_pressedAt;
  PointPx m_pointer;
  bool m_isFreehand = false, m_isDown = false;
};

// Draws like a patch what the outline of the chosen branch shall leave out.
class HoleTool : public PatchTool {
  Q_OBJECT

 public:
  using PatchTool::PatchTool;
  [[nodiscard]] QString hint() const override;

 protected:
  void take(const Polygon& shape) override;
};

// Two points whose distance is known, by a drag or by two clicks.
class RulerTool : public Tool {
  Q_OBJECT

 public:
  using Tool::Tool;
  void press(const ToolPoint& at) override;
  void drag(const ToolPoint& at) override;
  void hover(const ToolPoint& at) override;
  void release(const ToolPoint& at) override;
  void cancel() override;
  void stepBack() override;
  void paint(QPainter& painter) const override;
  [[nodiscard]] QString hint() const override;
  [[nodiscard]] std::optional<PointPx> from() const { return m_from; }
  [[nodiscard]] std::optional<PointPx> to() const { return m_to; }

 Q_SIGNALS:
  void completed();  // both points are set and wait for their length
  void dropped();

 private:
  void finishAt(const ToolPoint& at);
  std::optional<PointPx> m_from, m_to;
  PointPx m_pointer;
  QPointF m_pressedAt;
  bool m_isFirst = false;  // the press that set the first point
};

// Paints what a person says of the pixels: foliage, not foliage, spot.
class HintTool : public Tool {
  Q_OBJECT

 public:
  using Tool::Tool;
  void press(const ToolPoint& at) override;
  void drag(const ToolPoint& at) override;
  void hover(const ToolPoint& at) override;
  void release(const ToolPoint& at) override;
  void cancel() override;
  void paint(QPainter& painter) const override;
  [[nodiscard]] QString hint() const override;

  void setKind(store::HintKind kind) { m_kind = kind; }
  void setWidthPx(int viewPx) { m_widthPx = viewPx; }
  enum class Pressure { Ignored, Used };
  void setPressure(Pressure pressure) { m_pressure = pressure; }
  // What is being painted, without an id; none between strokes.
  [[nodiscard]] std::optional<store::HintStroke> strokeInHand() const;

 Q_SIGNALS:
  void strokeChanged();  // has grown, or was dropped

 private:
  [[nodiscard]] double radiusPx() const;  // photo px, of the stroke in hand
  store::HintKind m_kind = store::HintKind::Foliage;
  double m_widthPx = 24;
  Pressure m_pressure = Pressure::Used;
  Polygon m_stroke;
  double m_pressureSum = 0;
  PointPx m_pointer;
};

// Chooses marks, outlines and corners; moves them.
class SelectTool : public Tool {
  Q_OBJECT

 public:
  using Tool::Tool;
  void press(const ToolPoint& at) override;
  void drag(const ToolPoint& at) override;
  void release(const ToolPoint& at) override;
  void doublePress(const ToolPoint& at) override;
  void cancel() override;
  bool nudge(QPointF byPx) override;
  void paint(QPainter& painter) const override;
  [[nodiscard]] QCursor cursor() const override { return Qt::ArrowCursor; }
  [[nodiscard]] QString hint() const override;

 private:
  enum class Grip { None, Marks, Vertex, Box };
  [[nodiscard]] store::MarkId markAt(const ToolPoint& at) const;
  struct Corner {
    int ring = 0, vertex = 0;
  };
  [[nodiscard]] std::optional<Corner> cornerAt(const ToolPoint& at) const;
  [[nodiscard]] Polygon shiftedCorner(QPointF byPx) const;
  void pressOnMark(const store::MarkId& mark, Qt::KeyboardModifiers modifiers);
  void chooseInBox(const ToolPoint& at);
  [[nodiscard]] Polygon reshaped() const;

  Grip m_grip = Grip::None;
  ToolPoint m_start, m_now;
  bool m_isMoved = false;
  int m_nudgeKey = -1;
  std::set<store::MarkId> m_nudged;
};

// The polygon of a freehand stroke: simplified to `tolerancePx`, loops filled, outermost boundary.
// Source: Douglas & Peucker 1973, Cartographica 10(2), 112–122 (from memory).
[[nodiscard]] Polygon polygonOfStroke(const Polygon& stroke, double tolerancePx);

}  // namespace edamori::pages
