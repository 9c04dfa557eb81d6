// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/look/chart.h"

#include "app/look/chart_axes_internal.h"
#include "app/look/chart_signs_internal.h"
#include "app/look/style_sheet_internal.h"

#include <QFontMetricsF>
#include <QLocale>
#include <QPainter>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <utility>

namespace edamori::look {

namespace {

using work::FigureChart;
using work::SeriesPoint;

constexpr double kPx = 96.0 / 72.0;  // px per point at scale 1

// Treatments of one day and kind.
struct TreatmentTick {
  double day = 0.0;
  QString word;  // "spray", "2 × spray"
};

struct KeyEntry {
  enum class Sign { None, Series, Hollow, Flagged, Treatment };
  Sign sign = Sign::None;
  std::size_t series = 0;
  QString text;
};

QString toQt(const std::string& text) { return QString::fromStdString(text); }

class ChartPainter {
 public:
  ChartPainter(QPainter& painter, const QRectF& area, const FigureChart& chart,
               const Palette& palette, double scale)
      : m_painter(painter), m_area(area), m_chart(chart), m_palette(palette), m_scale(scale) {
    m_font = font(TextSize::Small);
    m_font.setPixelSize(std::max(1, static_cast<int>(std::lround(9.0 * kPx * scale))));
    m_titleFont = m_font;
    m_titleFont.setPixelSize(std::max(1, static_cast<int>(std::lround(10.0 * kPx * scale))));
    m_titleFont.setWeight(QFont::DemiBold);
  }

  std::vector<ChartSpot> drawn() {
    draw();
    return std::move(m_spots);
  }

 private:
  void draw() {
    readTreatments();
    const double top = drawTitle();
    if (!readRange()) {
      drawEmpty(top);
      return;
    }
    layOutAcross();
    placeTreatmentLabels();
    const double keyHeight = layOutKey(false);
    layOutDown(top, m_area.bottom() - keyHeight - px(4));
    drawValueAxis();
    drawDateAxis();
    drawTreatments();
    m_painter.save();
    m_painter.setClipRect(m_plot.adjusted(-px(9), -px(9), px(9), px(9)), Qt::IntersectClip);
    drawSeries();
    m_painter.restore();
    m_keyTop = m_area.bottom() - keyHeight;
    layOutKey(true);
  }

  [[nodiscard]] double px(double logical) const { return logical * m_scale; }
  [[nodiscard]] QFontMetricsF metrics(const QFont& f) const { return {f, m_painter.device()}; }
  [[nodiscard]] double lineHeight() const { return metrics(m_font).height(); }
  [[nodiscard]] double widthOf(const QString& text) const {
    return metrics(m_font).horizontalAdvance(text);
  }

  double drawTitle() {
    m_painter.setFont(m_titleFont);
    m_painter.setPen(m_palette.text);
    const double height = metrics(m_titleFont).height();
    const QString title = toQt(m_chart.title);
    m_painter.drawText(QRectF(m_area.left(), m_area.top(), m_area.width(), height),
                       Qt::AlignLeft | Qt::AlignVCenter, title);
    const double used = metrics(m_titleFont).horizontalAdvance(title) + px(10);
    const QString unit = m_chart.isFraction ? QStringLiteral("%, with 95\u00a0% interval")
                                            : QStringLiteral("count, with 95\u00a0% interval");
    m_painter.setFont(m_font);
    if (used + widthOf(unit) < m_area.width()) {
      m_painter.setPen(m_palette.quietText);
      m_painter.drawText(QRectF(m_area.left() + used, m_area.top(), m_area.width() - used, height),
                         Qt::AlignLeft | Qt::AlignVCenter, unit);
    }
    return m_area.top() + height + px(6);
  }

  void drawEmpty(double top) {
    m_painter.setPen(m_palette.quietText);
    m_painter.setFont(m_font);
    m_painter.drawText(QRectF(m_area.left(), top, m_area.width(), m_area.bottom() - top),
                       Qt::AlignCenter | Qt::TextWordWrap, QStringLiteral("No dated figures yet."));
  }

  void readTreatments() {
    std::map<std::pair<double, QString>, int> counts;
    for (const store::Treatment& treatment : m_chart.treatments) {
      if (treatment.doneAt.isKnown()) {
        ++counts[{std::floor(dayOf(treatment.doneAt)), toQt(store::toText(treatment.kind))}];
      } else {
        ++m_undatedTreatments;
      }
    }
    for (const auto& [key, count] : counts) {
      const QString word = count == 1 ? key.second
                                      : QString::number(count) + QStringLiteral(" × ") + key.second;
      m_treatments.push_back({key.first + 0.5, word});
    }
  }

  // Finds the limits of both axes; false when there is nothing to draw.
  bool readRange() {
    m_first = std::numeric_limits<double>::infinity();
    m_last = -m_first;
    m_low = m_first;
    m_high = m_last;
    for (const work::Series& series : m_chart.series) {
      for (const SeriesPoint& point : series.points) {
        if (!point.takenAt.isKnown()) {
          ++m_undatedPoints;
          continue;
        }
        m_first = std::min(m_first, dayOf(point.takenAt));
        m_last = std::max(m_last, dayOf(point.takenAt));
        m_low = std::min(m_low, point.estimate.low);
        m_high = std::max(m_high, point.estimate.high);
        m_anyHollow = m_anyHollow || point.dateUncertain;
        m_anyFlagged = m_anyFlagged || point.flagged;
      }
    }
    if (m_first > m_last) {
      return false;
    }
    for (const TreatmentTick& tick : m_treatments) {
      m_first = std::min(m_first, tick.day);
      m_last = std::max(m_last, tick.day);
    }
    constexpr double kLeastDays = 30.0;
    const double margin = std::max((m_last - m_first) * 0.04, (kLeastDays - (m_last - m_first)) / 2.0);
    m_first -= margin;
    m_last += margin;
    return true;
  }

  // Left and right of the plot; needs no height, for labels of any step are about as wide.
  void layOutAcross() {
    double widest = 0.0;
    for (const int steps : {2, 8}) {
      const ValueAxis axis = valueAxis(m_low, m_high, m_chart.isFraction, steps);
      for (int i = 0; i < axis.tickCount(); ++i) {
        widest = std::max(widest, widthOf(valueLabel(axis, axis.low + i * axis.step,
                                                     m_chart.isFraction)));
      }
    }
    m_plot.setLeft(m_area.left() + widest + px(8));
    m_plot.setRight(m_area.right() - px(10));
  }

  void layOutDown(double top, double bottom) {
    const double lanes = m_lanes * laneHeight() + (m_lanes > 0 ? px(4) : px(6));
    m_plot.setTop(top + lanes);
    m_plot.setBottom(std::max(m_plot.top() + px(20), bottom - 2.0 * lineHeight() - px(6)));
    const int steps = std::clamp(static_cast<int>(m_plot.height() / (lineHeight() * 1.6)), 1, 8);
    m_axis = valueAxis(m_low, m_high, m_chart.isFraction, steps);
  }

  [[nodiscard]] double xOf(double day) const {
    return m_plot.left() + (day - m_first) / (m_last - m_first) * m_plot.width();
  }
  [[nodiscard]] double yOf(double value) const {
    return m_plot.bottom() - (value - m_axis.low) / (m_axis.high - m_axis.low) * m_plot.height();
  }

  void drawValueAxis() {
    m_painter.setFont(m_font);
    for (int i = 0; i < m_axis.tickCount(); ++i) {
      const double value = m_axis.low + i * m_axis.step;
      const double y = yOf(value);
      m_painter.setPen(QPen(m_palette.line, px(1)));
      m_painter.drawLine(QPointF(m_plot.left(), y), QPointF(m_plot.right(), y));
      m_painter.setPen(m_palette.quietText);
      m_painter.drawText(QRectF(m_area.left(), y - lineHeight() / 2.0,
                                m_plot.left() - px(6) - m_area.left(), lineHeight()),
                         Qt::AlignRight | Qt::AlignVCenter,
                         valueLabel(m_axis, value, m_chart.isFraction));
    }
  }

  void drawDateAxis() {
    const double slot = widthOf(QStringLiteral("28 May")) + px(10);
    const int most = std::max(2, static_cast<int>(m_plot.width() / slot));
    m_painter.setFont(m_font);
    double yearEnd = m_area.left();
    for (const DateTick& tick : dateTicks(m_first, m_last, most)) {
      const double x = xOf(tick.day);
      m_painter.setPen(QPen(m_palette.quietText, px(1)));
      m_painter.drawLine(QPointF(x, m_plot.bottom()), QPointF(x, m_plot.bottom() + px(4)));
      const double textTop = m_plot.bottom() + px(4);
      const double yearTop = textTop + lineHeight();
      drawCentred(x, textTop, tick.label, m_palette.text);
      if (!tick.yearLabel.isEmpty() && x - widthOf(tick.yearLabel) / 2.0 > yearEnd) {
        yearEnd = drawCentred(x, yearTop, tick.yearLabel, m_palette.quietText) + px(6);
      }
    }
    m_painter.setPen(QPen(m_palette.quietText, px(1)));
    m_painter.drawLine(m_plot.bottomLeft(), m_plot.bottomRight());
  }

  // Keeps the text within the area; returns its right end.
  double drawCentred(double x, double top, const QString& text, const QColor& colour) {
    const double width = widthOf(text) + 1.0;
    const double left = std::clamp(x - width / 2.0, m_area.left(),
                                   std::max(m_area.left(), m_area.right() - width));
    m_painter.setPen(colour);
    m_painter.drawText(QRectF(left, top, width, lineHeight()), Qt::AlignLeft | Qt::AlignVCenter, text);
    return left + width;
  }

  struct PlacedLabel {
    double left = 0.0;
    int lane = 0;
    QString text;
  };

  [[nodiscard]] double laneHeight() const { return lineHeight() + px(1); }

  // Words in up to two lanes above the plot; letters with a line in the key when words do not fit.
  void placeTreatmentLabels() {
    m_useLetters = !placeWords(m_plot.left(), m_plot.right());
    if (m_useLetters) {
      placeLetters(m_plot.left(), m_plot.right());
    }
    m_lanes = 0;
    for (const PlacedLabel& label : m_labels) {
      m_lanes = std::max(m_lanes, label.lane + 1);
    }
  }

  bool placeWords(double left, double right) {
    double ends[2] = {left - px(8), left - px(8)};
    for (const TreatmentTick& tick : m_treatments) {
      const double width = widthOf(tick.word);
      const double start = std::clamp(xOf(tick.day) - width / 2.0, left, std::max(left, right - width));
      const int lane = start > ends[0] + px(8) ? 0 : 1;  // Lane 0 is the one next to the plot.
      if (start <= ends[lane] + px(8)) {
        m_labels.clear();
        return false;
      }
      ends[lane] = start + width;
      m_labels.push_back({start, lane, tick.word});
    }
    return true;
  }

  [[nodiscard]] static QString letterOf(std::size_t index) {
    const QChar letter(static_cast<char16_t>(u'a' + index % 26));
    return index < 26 ? QString(letter) : QString(letter) + QString::number(index / 26);
  }

  // Neighbours whose letters would touch share one label: "a–c".
  void placeLetters(double left, double right) {
    std::size_t i = 0;
    while (i < m_treatments.size()) {
      std::size_t j = i;
      const auto spanOf = [&](std::size_t last) {
        const QString text = last == i ? letterOf(i) : letterOf(i) + QChar(0x2013) + letterOf(last);
        const double middle = (xOf(m_treatments[i].day) + xOf(m_treatments[last].day)) / 2.0;
        const double width = widthOf(text);
        return PlacedLabel{std::clamp(middle - width / 2.0, left, std::max(left, right - width)), 0, text};
      };
      while (j + 1 < m_treatments.size()) {
        const PlacedLabel current = spanOf(j);
        const double end = current.left + widthOf(current.text) + px(4);
        if (xOf(m_treatments[j + 1].day) - widthOf(QStringLiteral("m")) / 2.0 > end) {
          break;
        }
        ++j;
      }
      m_labels.push_back(spanOf(j));
      i = j + 1;
    }
  }

  void drawTreatments() {
    for (const TreatmentTick& tick : m_treatments) {
      const double x = xOf(tick.day);
      m_painter.setPen(QPen(mixed(m_palette.accent, m_palette.raised, 0.3), px(1), Qt::DotLine));
      m_painter.drawLine(QPointF(x, m_plot.top()), QPointF(x, m_plot.bottom()));
      drawTreatmentSign(QPointF(x, m_plot.top()));
    }
    m_painter.setFont(m_font);
    m_painter.setPen(m_palette.text);
    for (const PlacedLabel& label : m_labels) {
      const double top = m_plot.top() - px(4) - (label.lane + 1) * laneHeight();
      m_painter.drawText(QRectF(label.left, top, widthOf(label.text) + 1.0, lineHeight()),
                         Qt::AlignLeft | Qt::AlignVCenter, label.text);
    }
  }

  // A small wedge that points down onto the time axis.
  void drawTreatmentSign(QPointF tip) {
    m_painter.setPen(Qt::NoPen);
    m_painter.setBrush(m_palette.accent);
    m_painter.drawPolygon(QPolygonF({tip + QPointF(-px(3), -px(3)), tip + QPointF(px(3), -px(3)),
                                     tip + QPointF(0, px(3))}));
  }

  void drawSeries() {
    const double count = static_cast<double>(m_chart.series.size());
    for (std::size_t i = 0; i < m_chart.series.size(); ++i) {
      const SeriesStyle style = seriesStyle(i, m_palette);
      // Branches photographed together stand side by side, so that no whisker hides another.
      const double aside = (static_cast<double>(i) - (count - 1.0) / 2.0) * px(2.5);
      QList<QPointF> points;
      QList<PointLook> looks;
      for (const SeriesPoint& point : m_chart.series[i].points) {
        if (point.takenAt.isKnown()) {
          const double x = xOf(dayOf(point.takenAt)) + aside;
          drawWhisker(style, x, yOf(point.estimate.low), yOf(point.estimate.high));
          points << QPointF(x, yOf(point.estimate.value));
          m_spots.push_back({points.back(), i, static_cast<std::size_t>(&point - m_chart.series[i].points.data())});
          looks << PointLook{point.dateUncertain, point.flagged};
        }
      }
      drawSeriesLine(m_painter, style, points, m_palette, px(1.75));
      for (qsizetype k = 0; k < points.size(); ++k) {
        drawSeriesPoint(m_painter, style, points[k], px(3.5), looks[k], m_palette);
      }
    }
  }

  void drawWhisker(const SeriesStyle& style, double x, double yLow, double yHigh) {
    QColor colour = mixed(style.colour, m_palette.raised, 0.15);
    if (contrastRatio(colour, m_palette.raised) < 2.0) {
      colour = mixed(style.colour, m_palette.text, 0.45);
    }
    m_painter.setPen(QPen(colour, px(1), Qt::SolidLine, Qt::FlatCap));
    const double cap = px(2.5);
    m_painter.drawLine(QPointF(x, yLow), QPointF(x, yHigh));
    m_painter.drawLine(QPointF(x - cap, yLow), QPointF(x + cap, yLow));
    m_painter.drawLine(QPointF(x - cap, yHigh), QPointF(x + cap, yHigh));
  }

  [[nodiscard]] std::vector<KeyEntry> keyEntries() const {
    std::vector<KeyEntry> entries;
    for (std::size_t i = 0; i < m_chart.series.size(); ++i) {
      const QString name = toQt(m_chart.series[i].branchName);
      entries.push_back({KeyEntry::Sign::Series, i, name.isEmpty() ? QStringLiteral("whole photo") : name});
    }
    if (m_anyHollow) {
      entries.push_back({KeyEntry::Sign::Hollow, 0, QStringLiteral("hollow: date uncertain")});
    }
    if (m_anyFlagged) {
      entries.push_back({KeyEntry::Sign::Flagged, 0, QStringLiteral("ringed: with a caution")});
    }
    if (m_useLetters) {
      for (std::size_t i = 0; i < m_treatments.size(); ++i) {
        const auto date = std::chrono::year_month_day(std::chrono::sys_days(
            std::chrono::days(static_cast<int>(std::floor(m_treatments[i].day)))));
        entries.push_back({KeyEntry::Sign::Treatment, 0,
                           letterOf(i) + QStringLiteral(": ") + m_treatments[i].word +
                               QStringLiteral(" ") + toQt(store::toText(date))});
      }
    } else if (!m_treatments.empty()) {
      entries.push_back({KeyEntry::Sign::Treatment, 0, QStringLiteral("treatment")});
    }
    if (m_undatedPoints > 0) {
      entries.push_back({KeyEntry::Sign::None, 0,
                         QStringLiteral("%1 without a date, not drawn").arg(m_undatedPoints)});
    }
    if (m_undatedTreatments > 0) {
      entries.push_back({KeyEntry::Sign::None, 0,
                         (m_undatedTreatments == 1 ? QStringLiteral("1 treatment without a date, not drawn")
                                                   : QStringLiteral("%1 treatments without a date, not drawn").arg(m_undatedTreatments))});
    }
    return entries;
  }

  void drawKeySign(const KeyEntry& entry, QPointF leftMiddle) {
    const double width = px(24);
    const QPointF middle = leftMiddle + QPointF(width / 2.0, 0.0);
    const SeriesStyle style = seriesStyle(entry.series, m_palette);
    const SeriesStyle plain{m_palette.quietText, 0, {}};
    switch (entry.sign) {
      case KeyEntry::Sign::Series:
        drawSeriesLine(m_painter, style, {leftMiddle, leftMiddle + QPointF(width, 0.0)}, m_palette, px(1.75));
        drawSeriesPoint(m_painter, style, middle, px(3.5), {}, m_palette);
        break;
      case KeyEntry::Sign::Hollow:
        drawSeriesPoint(m_painter, plain, middle, px(3.5), {true, false}, m_palette);
        break;
      case KeyEntry::Sign::Flagged:
        drawSeriesPoint(m_painter, plain, middle, px(3.0), {false, true}, m_palette);
        break;
      case KeyEntry::Sign::Treatment:
        drawTreatmentSign(middle);
        break;
      case KeyEntry::Sign::None: break;
    }
  }

  // Lays the key out in lines that wrap, and paints it from m_keyTop when asked; returns its height.
  double layOutKey(bool paint) {
    const double signWidth = px(24) + px(5), gap = px(14);
    m_painter.setFont(m_font);
    double x = 0.0, y = 0.0, rowHeight = lineHeight();
    for (const KeyEntry& entry : keyEntries()) {
      const double sign = entry.sign == KeyEntry::Sign::None ? 0.0 : signWidth;
      double width = widthOf(entry.text) + 1.0;
      if (x > 0.0 && x + sign + width > m_area.width()) {
        x = 0.0;
        y += rowHeight;
        rowHeight = lineHeight();
      }
      width = std::min(width, m_area.width() - sign);
      constexpr int kFlags = Qt::AlignLeft | Qt::TextWordWrap | Qt::TextWrapAnywhere;
      const double height = std::max(
          lineHeight(),
          metrics(m_font).boundingRect(QRectF(0, 0, width, 1e5), kFlags, entry.text).height());
      if (paint) {
        const QPointF at(m_area.left() + x, m_keyTop + y);
        drawKeySign(entry, at + QPointF(0.0, lineHeight() / 2.0));
        m_painter.setPen(m_palette.text);
        m_painter.drawText(QRectF(at.x() + sign, at.y(), width, height), kFlags, entry.text);
      }
      rowHeight = std::max(rowHeight, height);
      x += sign + width + gap;
    }
    return y + rowHeight;
  }

  QPainter& m_painter;
  QRectF m_area;
  const FigureChart& m_chart;
  const Palette& m_palette;
  double m_scale;
  QFont m_font, m_titleFont;
  QRectF m_plot;
  ValueAxis m_axis;
  double m_first = 0.0, m_last = 0.0, m_low = 0.0, m_high = 0.0, m_keyTop = 0.0;
  std::vector<TreatmentTick> m_treatments;
  std::vector<PlacedLabel> m_labels;
  std::vector<ChartSpot> m_spots;
  int m_undatedPoints = 0, m_undatedTreatments = 0, m_lanes = 0;
  bool m_anyHollow = false, m_anyFlagged = false, m_useLetters = false;
};

}  // namespace

std::vector<ChartSpot> drawChart(QPainter& painter, const QRectF& area, const FigureChart& chart,
                                 const Palette& palette, double scale) {
  painter.save();
  painter.setRenderHint(QPainter::Antialiasing);
  painter.setClipRect(area, Qt::IntersectClip);
  std::vector<ChartSpot> spots = ChartPainter(painter, area, chart, palette, scale).drawn();
  painter.restore();
  return spots;
}

}  // namespace edamori::look
