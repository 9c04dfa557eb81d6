// SPDX-License-Identifier: GPL-3.0-or-later
// The photo, close: zoom, pan, outlines and marks over it, a crosshair for the keyboard.
#pragma once

#include "app/pages/bench/mark_sprites.h"
#include "app/pages/bench/photo_frame.h"
#include "app/pages/bench/photo_picture.h"
#include "app/pages/bench/tool.h"

#include <QTimer>
#include <QWidget>
#include <optional>
#include <vector>

class QTouchEvent;

namespace edamori::pages {

inline constexpr double kGreatestZoom = 16.0;  // device px per photo px: 1600 %

// Zoom is in device px per photo px, so that at 1 each photo pixel is one pixel of the screen at
// any device pixel ratio. Photo px ↔ view px is one scale and one shift in double.
class PhotoView : public QWidget {
  Q_OBJECT

 public:
  explicit PhotoView(PhotoDesk& desk, QWidget* parent = nullptr);

  // A picture of another size fits the view anew; the whole photo after its preview keeps it.
  void setPicture(const Picture& picture);
  void setTints(std::vector<Tint> tints);
  [[nodiscard]] const std::vector<Tint>& tints() const { return m_tints; }
  enum class Shown { No, Yes };
  void setTintsShown(Shown shown);
  enum class TintLook { Area, Contour };
  void setTintLook(TintLook tintLook);
  // View only: how the photo is lit, and how strongly what lies over it is drawn.
  void setLight(const ViewLight& light);
  [[nodiscard]] const ViewLight& light() const { return m_light; }
  void setOverlayPercent(int percent);
  void setOverlayShown(Shown shown);
  // A round glass at the pointer or crosshair that enlarges four times.
  void setLoupeShown(Shown shown);
  [[nodiscard]] bool isLoupeShown() const { return m_showLoupe; }
  // The whole photo in a corner while a part of it is seen; a click there moves the view.
  [[nodiscard]] QRectF overviewRect() const;  // view px; empty while the whole photo is seen
  // A line in place of the photo ("Loading …", an error); "" for none.
  void setMessage(const QString& message);
  [[nodiscard]] const QString& message() const { return m_message; }
  // Empty until the original has been read.
  [[nodiscard]] QImage wholePicture() const {
    return m_picture.isOriginal ? m_picture.levels.front() : QImage();
  }
  [[nodiscard]] bool isWhole() const { return m_picture.isWhole; }
  void clear();

  void setTool(Tool* tool);
  [[nodiscard]] Tool* tool() const { return m_tool; }

  [[nodiscard]] double zoom() const { return m_zoom; }
  [[nodiscard]] double scale() const;    // view px per photo px
  [[nodiscard]] double fitZoom() const;  // whole photo in the view, at most 1600 %
  void fit();
  void setZoom(double zoom);  // about the crosshair when it is shown, else the middle
  void zoomAbout(QPointF view, double zoom);
  void panBy(QPointF view);
  void centreOn(PointPx photo);
  void reveal(PointPx photo);  // pans only as far as needed

  [[nodiscard]] PointPx photoFromView(QPointF view) const;
  [[nodiscard]] QPointF viewFromPhoto(PointPx photo) const;

  // The keyboard's crosshair; absent until an arrow key shows it.
  [[nodiscard]] std::optional<PointPx> crosshair() const { return m_crosshair; }
  void setCrosshair(PointPx photo);
  [[nodiscard]] QSize sizeHint() const override { return {800, 600}; }
  [[nodiscard]] QSize minimumSizeHint() const override { return {240, 200}; }

 Q_SIGNALS:
  void zoomChanged();
  void pointedAt(const edamori::PointPx& photo);
  void menuWanted(const QPoint& global, const edamori::PointPx& photo);

 protected:
  bool event(QEvent* event) override;
  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;
  void wheelEvent(QWheelEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;
  void mouseMoveEvent(QMouseEvent* event) override;
  void mouseReleaseEvent(QMouseEvent* event) override;
  void mouseDoubleClickEvent(QMouseEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;
  void keyReleaseEvent(QKeyEvent* event) override;
  void focusInEvent(QFocusEvent* event) override;
  void focusOutEvent(QFocusEvent* event) override;
  void leaveEvent(QEvent* event) override;
  void contextMenuEvent(QContextMenuEvent* event) override;
  void tabletEvent(QTabletEvent* event) override;

 private:
  [[nodiscard]] ToolPoint pointAt(QPointF view, Qt::KeyboardModifiers modifiers) const;
  [[nodiscard]] PointPx clamped(PointPx photo) const;
  void keepInView();
  bool arrowKey(const QKeyEvent& event);
  bool editKey(const QKeyEvent& event);
  void updateCursor();
  void paintPicture(QPainter& painter);
  void paintTints(QPainter& painter) const;
  void paintOverlays(QPainter& painter);
  void paintRulers(QPainter& painter) const;
  void paintHandles(QPainter& painter) const;
  void paintHints(QPainter& painter) const;
  void paintLoupe(QPainter& painter);
  void paintOverview(QPainter& painter) const;
  [[nodiscard]] bool panByOverview(QPointF at);
  bool touchEvent(QTouchEvent& event);
  void pinch(const QTouchEvent& event);
  void endTouch(Qt::KeyboardModifiers modifiers);
  void paintOutlines(QPainter& painter) const;
  void paintOutline(QPainter& painter,
                    const store::OutlineRecord& outline,
                    std::vector<QRectF>& labels) const;  // those that lie there already, and its own
  void paintMarks(QPainter& painter);
  void paintMark(QPainter& painter, const store::Mark& mark);
  [[nodiscard]] bool isPatchSeen(const store::Mark& mark) const;
  void paintCrosshair(QPainter& painter) const;
  void paintMessage(QPainter& painter) const;

  PhotoDesk& m_desk;
  Picture m_picture;
  std::vector<Tint> m_tints;
  bool m_showTints = true;
  QString m_message;
  Tool* m_tool = nullptr;

  double m_zoom = 1;
  PointPx m_centre;  // photo px in the middle of the view
  bool m_isFitted = true;
  std::optional<PointPx> m_crosshair;

  PhotoFrame m_frame;
  MarkSprites m_sprites;
  ViewLight m_light;
  TintLook m_tintLook = TintLook::Area;
  double m_overlayStrength = 1;
  bool m_showOverlay = true, m_showLoupe = false;
  std::optional<QPointF> m_pointer;  // view px; absent while the pointer is elsewhere

  // A finger is a hand of the tool until a second one joins or it rests.
  enum class Touch { None, Undecided, Tool, Pinch, Spent };
  Touch m_touch = Touch::None;
  QPointF m_touchStart, m_pinchCentre;
  double m_pinchSpread = 0;
  QTimer m_touchRest;
  QTimer m_zoomRest;  // runs while the zoom changes

  QPointF m_lastPan;
  double m_pressure = 1;  // of the pen that the next mouse event stands for
  bool m_isOnOverview = false;
  bool m_isPanning = false, m_isSpaceDown = false, m_isToolDown = false;
};

// Lines legible on any photo: dark below, light above. In view px.
void drawHaloLine(QPainter& painter,
                  const QPolygonF& points,
                  const QColor& colour,
                  double widthPx,
                  Qt::PenStyle style = Qt::SolidLine);

// A known length with a tick at each end; view px.
void drawRuler(QPainter& painter, QPointF from, QPointF to, const QString& text);
// Hints differ by pattern as well as by colour.
[[nodiscard]] QColor hintColour(store::HintKind kind);
void drawHint(QPainter& painter, store::HintKind kind, const QPolygonF& way, double widthPx);

}  // namespace edamori::pages
