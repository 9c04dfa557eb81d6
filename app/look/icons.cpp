// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/look/painted_icon_internal.h"
#include "app/look/style_sheet_internal.h"
#include "app/look/theme.h"

#include <QIconEngine>
#include <QPainter>
#include <QPainterPath>
#include <QPixmap>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <tuple>
#include <utility>

namespace edamori::look {

namespace {

class PaintedIconEngine : public QIconEngine {
 public:
  explicit PaintedIconEngine(IconPainter paint) : m_paint(std::move(paint)) {}

  void paint(QPainter* painter, const QRect& rect, QIcon::Mode mode, QIcon::State state) override {
    painter->save();
    painter->setRenderHint(QPainter::Antialiasing);
    m_paint(*painter, QRectF(rect), mode, state);
    painter->restore();
  }
  QPixmap pixmap(const QSize& size, QIcon::Mode mode, QIcon::State state) override {
    QPixmap result(size);
    result.fill(Qt::transparent);
    QPainter painter(&result);
    paint(&painter, QRect(QPoint(0, 0), size), mode, state);
    return result;
  }
  [[nodiscard]] QIconEngine* clone() const override { return new PaintedIconEngine(*this); }

 private:
  IconPainter m_paint;
};

// Two layers on a 24 × 24 grid: lines to be stroked, areas to be filled.
struct Drawing {
  QPainterPath lines, areas;

  void line(std::initializer_list<QPointF> points, bool closed = false) {
    QPolygonF polygon(points);
    lines.addPolygon(polygon);
    if (closed) {
      lines.closeSubpath();
    }
  }
  void circle(double x, double y, double r) { lines.addEllipse(QPointF(x, y), r, r); }
  void dot(double x, double y, double r) { areas.addEllipse(QPointF(x, y), r, r); }
};

// A pad of foliage: flat below, three humps above.
void addPad(QPainterPath& path, double left, double base, double width) {
  const double w = width / 10.0;
  path.moveTo(left, base);
  path.cubicTo(left, base - 3.2 * w, left + 2.0 * w, base - 3.6 * w, left + 3.0 * w, base - 3.0 * w);
  path.cubicTo(left + 3.6 * w, base - 5.4 * w, left + 6.4 * w, base - 5.4 * w, left + 7.0 * w,
               base - 3.0 * w);
  path.cubicTo(left + 8.0 * w, base - 3.6 * w, left + 10.0 * w, base - 3.2 * w, left + 10.0 * w, base);
  path.closeSubpath();
}

// A trained tree in its tray, seen from the front.
void drawTree(Drawing& d) {
  addPad(d.lines, 7.5, 9.0, 11.0);
  d.lines.moveTo(11.0, 18.0);
  d.lines.cubicTo(9.0, 15.0, 15.0, 13.5, 13.0, 9.0);
  addPad(d.lines, 2.5, 14.5, 7.0);
  d.line({{6.0, 14.5}, {10.8, 15.6}});
  d.line({{5.0, 18.0}, {19.0, 18.0}, {17.5, 21.5}, {6.5, 21.5}}, true);
}

void drawGarden(Drawing& d) {
  d.line({{2.5, 19.5}, {21.5, 19.5}});
  d.line({{5.0, 19.5}, {5.0, 22.0}});
  d.line({{19.0, 19.5}, {19.0, 22.0}});
  for (const double x : {6.0, 12.0, 18.0}) {
    const double top = x == 12.0 ? 5.5 : 9.0;
    d.line({{x, 19.5}, {x, top + 4.0}});
    d.circle(x, top + 1.5, 2.6);
  }
}

// A photo lying on a bench under the loupe.
void drawBench(Drawing& d) {
  d.line({{3.0, 4.0}, {17.0, 4.0}, {17.0, 9.0}});
  d.line({{3.0, 4.0}, {3.0, 17.0}, {9.0, 17.0}});
  d.line({{5.5, 13.5}, {8.0, 9.5}, {9.7, 11.8}});
  d.circle(14.5, 14.0, 4.2);
  d.line({{17.6, 17.1}, {21.0, 20.5}});
}

void drawLetter(Drawing& d) {
  d.line({{5.0, 2.5}, {15.0, 2.5}, {19.0, 6.5}, {19.0, 21.5}, {5.0, 21.5}}, true);
  d.line({{8.0, 8.0}, {13.0, 8.0}});
  d.line({{8.0, 17.5}, {10.6, 13.5}, {12.8, 15.6}, {16.0, 11.5}});
}

void drawMeasure(Drawing& d) {
  d.line({{2.5, 15.5}, {15.5, 2.5}, {21.5, 8.5}, {8.5, 21.5}}, true);
  for (int i = 1; i <= 4; ++i) {
    const double reach = i % 2 == 0 ? 3.0 : 2.0;
    const QPointF at(2.5 + 2.6 * i, 15.5 - 2.6 * i);
    d.line({at, at + QPointF(reach * 0.707, reach * 0.707)});
  }
}

void drawLoupe(Drawing& d) {
  d.circle(10.5, 10.5, 7.0);
  d.line({{15.6, 15.6}, {21.0, 21.0}});
}

void drawTurn(Drawing& d, bool back) {
  QPainterPath path;
  path.moveTo(5.0, 9.0);
  path.cubicTo(10.0, 5.0, 20.0, 7.0, 19.5, 14.0);
  path.cubicTo(19.2, 18.0, 15.5, 20.0, 11.0, 19.5);
  path.moveTo(10.0, 4.0);
  path.lineTo(4.5, 9.2);
  path.lineTo(10.5, 13.0);
  d.lines.addPath(back ? path : QTransform(-1, 0, 0, 1, 24, 0).map(path));
}

void drawPatch(Drawing& d) {
  d.lines.moveTo(4.0, 12.0);
  d.lines.cubicTo(3.0, 5.0, 10.0, 2.5, 14.0, 5.0);
  d.lines.cubicTo(19.0, 6.0, 22.0, 10.0, 20.0, 14.0);
  d.lines.cubicTo(19.0, 20.0, 12.0, 19.0, 10.0, 20.0);
  d.lines.cubicTo(6.0, 20.0, 4.5, 16.0, 4.0, 12.0);
  for (const auto& [x, y] : {std::pair{9.0, 10.0}, {14.5, 9.5}, {11.5, 15.0}, {16.0, 14.0}}) {
    d.dot(x, y, 1.2);
  }
}

void drawOutlineTool(Drawing& d) {
  const QPointF corners[] = {{4.5, 8.0}, {13.0, 4.0}, {20.0, 11.0}, {15.0, 19.5}, {6.0, 17.5}};
  d.line({corners[0], corners[1], corners[2], corners[3], corners[4]}, true);
  for (const QPointF& corner : corners) {
    d.areas.addRect(QRectF(corner.x() - 2.0, corner.y() - 2.0, 4.0, 4.0));
  }
}

void drawFit(Drawing& d) {
  d.line({{3.0, 8.0}, {3.0, 4.0}, {7.5, 4.0}});
  d.line({{16.5, 4.0}, {21.0, 4.0}, {21.0, 8.0}});
  d.line({{21.0, 16.0}, {21.0, 20.0}, {16.5, 20.0}});
  d.line({{7.5, 20.0}, {3.0, 20.0}, {3.0, 16.0}});
  d.line({{7.5, 8.5}, {16.5, 8.5}, {16.5, 15.5}, {7.5, 15.5}}, true);
}

// One photo pixel on one screen pixel.
void drawOneToOne(Drawing& d) {
  d.line({{4.5, 7.5}, {7.0, 5.5}, {7.0, 18.5}});
  d.line({{15.5, 7.5}, {18.0, 5.5}, {18.0, 18.5}});
  d.dot(12.0, 9.5, 1.4);
  d.dot(12.0, 15.0, 1.4);
}

void drawPan(Drawing& d) {
  d.line({{12.0, 3.0}, {12.0, 21.0}});
  d.line({{3.0, 12.0}, {21.0, 12.0}});
  d.line({{9.5, 5.5}, {12.0, 3.0}, {14.5, 5.5}});
  d.line({{9.5, 18.5}, {12.0, 21.0}, {14.5, 18.5}});
  d.line({{5.5, 9.5}, {3.0, 12.0}, {5.5, 14.5}});
  d.line({{18.5, 9.5}, {21.0, 12.0}, {18.5, 14.5}});
}

// A mark within the corners of a box that is drawn around it.
void drawSelect(Drawing& d) {
  for (const auto& [x, y, sx, sy] : {std::tuple{3.5, 3.5, 1.0, 1.0},
                                     {20.5, 3.5, -1.0, 1.0},
                                     {20.5, 20.5, -1.0, -1.0},
                                     {3.5, 20.5, 1.0, -1.0}}) {
    d.line({{x + 5.0 * sx, y}, {x, y}, {x, y + 5.0 * sy}});
  }
  d.dot(12.0, 12.0, 3.6);
}

void drawRemove(Drawing& d) {
  d.line({{4.0, 6.5}, {20.0, 6.5}});
  d.line({{9.0, 6.5}, {9.0, 3.5}, {15.0, 3.5}, {15.0, 6.5}});
  d.line({{6.0, 6.5}, {7.2, 21.0}, {16.8, 21.0}, {18.0, 6.5}});
  d.line({{10.2, 10.5}, {10.6, 17.0}});
  d.line({{13.8, 10.5}, {13.4, 17.0}});
}

void drawEdit(Drawing& d) {
  d.line({{4.0, 20.0}, {5.0, 15.0}, {15.5, 4.5}, {19.5, 8.5}, {9.0, 19.0}}, true);
  d.line({{13.0, 7.0}, {17.0, 11.0}});
}

void drawTheme(Drawing& d) {
  d.circle(12.0, 12.0, 8.5);
  QPainterPath half;
  half.moveTo(12.0, 3.5);
  half.arcTo(QRectF(3.5, 3.5, 17.0, 17.0), 90.0, 180.0);
  half.closeSubpath();
  d.areas.addPath(half);
}

void drawImport(Drawing& d) {
  d.line({{3.0, 13.0}, {3.0, 20.5}, {21.0, 20.5}, {21.0, 13.0}});
  d.line({{12.0, 3.0}, {12.0, 15.0}});
  d.line({{7.5, 10.5}, {12.0, 15.0}, {16.5, 10.5}});
}

// A round region with a piece left out of it.
void drawHole(Drawing& d) {
  d.circle(12.0, 12.0, 8.5);
  d.line({{9.0, 9.5}, {14.5, 8.5}, {15.5, 14.0}, {10.0, 15.0}}, true);
}

void drawRuler(Drawing& d) {
  d.line({{2.5, 15.5}, {15.5, 2.5}, {21.5, 8.5}, {8.5, 21.5}}, true);
  d.line({{6.0, 12.0}, {8.5, 14.5}});
  d.line({{9.0, 9.0}, {12.5, 12.5}});
  d.line({{12.0, 6.0}, {14.5, 8.5}});
}

// A brush with the stroke it leaves.
void drawHint(Drawing& d) {
  d.line({{20.5, 3.5}, {12.0, 12.0}});
  d.line({{10.5, 10.5}, {13.5, 13.5}, {10.0, 17.0}, {6.5, 17.5}, {7.0, 14.0}}, true);
  d.line({{3.0, 21.0}, {13.0, 21.0}});
}

void drawLight(Drawing& d) {
  d.circle(12.0, 12.0, 4.2);
  for (const auto& [x, y] : {std::pair{1.0, 0.0}, {0.7, 0.7}, {0.0, 1.0}, {-0.7, 0.7}}) {
    d.line({{12 + 7 * x, 12 + 7 * y}, {12 + 9.5 * x, 12 + 9.5 * y}});
    d.line({{12 - 7 * x, 12 - 7 * y}, {12 - 9.5 * x, 12 - 9.5 * y}});
  }
}

// Two photos of one branch, the later one laid partly on the earlier one.
void drawPair(Drawing& d) {
  d.line({{14.0, 6.5}, {14.0, 3.5}, {3.0, 3.5}, {3.0, 16.5}, {8.0, 16.5}});
  d.line({{10.0, 8.5}, {21.0, 8.5}, {21.0, 21.0}, {10.0, 21.0}}, true);
  d.line({{12.5, 18.0}, {15.5, 15.0}, {18.5, 11.5}});
  d.line({{15.5, 15.0}, {15.2, 11.8}});
}

// A list of what can be done, each with its key.
void drawKeys(Drawing& d) {
  for (const double y : {6.0, 12.0, 18.0}) {
    d.line({{9.5, y}, {20.5, y}});
    d.dot(5.0, y, 1.7);
  }
}

// A broken hexagon around a dot: a likely finding that waits for a word.
void drawOffer(Drawing& d) {
  for (int side = 0; side < 6; ++side) {
    const auto at = [side](double share) {
      const auto corner = [](int k) {
        const double angle = k * std::numbers::pi / 3;
        return QPointF(12 + 9.2 * std::cos(angle), 12 + 9.2 * std::sin(angle));
      };
      return corner(side) * (1 - share) + corner(side + 1) * share;
    };
    d.line({at(0.2), at(0.8)});
  }
  d.dot(12.0, 12.0, 3.0);
}

Drawing drawingOf(Glyph glyph) {
  Drawing d;
  switch (glyph) {
    case Glyph::Garden: drawGarden(d); break;
    case Glyph::Tree: drawTree(d); break;
    case Glyph::Bench: drawBench(d); break;
    case Glyph::Letter: drawLetter(d); break;
    case Glyph::Add: d.line({{12, 4}, {12, 20}}); d.line({{4, 12}, {20, 12}}); break;
    case Glyph::Import: drawImport(d); break;
    case Glyph::Measure: drawMeasure(d); break;
    case Glyph::Undo: drawTurn(d, true); break;
    case Glyph::Redo: drawTurn(d, false); break;
    case Glyph::ZoomIn:
      drawLoupe(d);
      d.line({{10.5, 7.5}, {10.5, 13.5}});
      d.line({{7.5, 10.5}, {13.5, 10.5}});
      break;
    case Glyph::ZoomOut: drawLoupe(d); d.line({{7.5, 10.5}, {13.5, 10.5}}); break;
    case Glyph::Fit: drawFit(d); break;
    case Glyph::OneToOne: drawOneToOne(d); break;
    case Glyph::Previous: d.line({{14.5, 5.0}, {7.5, 12.0}, {14.5, 19.0}}); break;
    case Glyph::Next: d.line({{9.5, 5.0}, {16.5, 12.0}, {9.5, 19.0}}); break;
    case Glyph::Dot: d.circle(12, 12, 7.5); d.dot(12, 12, 3.2); break;
    case Glyph::Patch: drawPatch(d); break;
    case Glyph::OutlineTool: drawOutlineTool(d); break;
    case Glyph::Pan: drawPan(d); break;
    case Glyph::Select: drawSelect(d); break;
    case Glyph::Remove: drawRemove(d); break;
    case Glyph::Edit: drawEdit(d); break;
    case Glyph::Theme: drawTheme(d); break;
    case Glyph::Hole: drawHole(d); break;
    case Glyph::Ruler: drawRuler(d); break;
    case Glyph::Hint: drawHint(d); break;
    case Glyph::Loupe: drawLoupe(d); break;
    case Glyph::Light: drawLight(d); break;
    case Glyph::Keys: drawKeys(d); break;
    case Glyph::Pair: drawPair(d); break;
    case Glyph::Offer: drawOffer(d); break;
  }
  return d;
}

QColor signColour(QIcon::Mode mode, QIcon::State state) {
  const Palette& p = palette(currentTheme());
  if (mode == QIcon::Disabled) {
    return mixed(p.quietText, p.page, 0.5);
  }
  // Chosen rows and pressed-in tools lie on the accent.
  return mode == QIcon::Selected || state == QIcon::On ? p.onAccent : p.text;
}

}  // namespace

QIcon paintedIcon(IconPainter paint) { return QIcon(new PaintedIconEngine(std::move(paint))); }

QIcon icon(Glyph glyph) {
  return paintedIcon([drawing = drawingOf(glyph)](QPainter& painter, const QRectF& area,
                                                  QIcon::Mode mode, QIcon::State state) {
    constexpr double kGridPx = 24.0;
    const double scale = std::min(area.width(), area.height()) / kGridPx;
    const QColor colour = signColour(mode, state);
    painter.translate(area.center() - QPointF(kGridPx, kGridPx) * scale / 2.0);
    painter.scale(scale, scale);
    painter.setPen(QPen(colour, 1.7, Qt::SolidLine, Qt::RoundCap, Qt::RoundJoin));
    painter.setBrush(Qt::NoBrush);
    painter.drawPath(drawing.lines);
    painter.fillPath(drawing.areas, colour);
  });
}

}  // namespace edamori::look
