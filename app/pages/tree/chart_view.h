// SPDX-License-Identifier: GPL-3.0-or-later
// One chart of a tree, drawn as in the letter. Its points can be pointed at, walked along with the
// arrow keys, and opened.
#pragma once

#include "app/look/chart.h"
#include "app/work/overview.h"

#include <QWidget>

#include <optional>
#include <vector>

namespace edamori::pages {

class ChartView : public QWidget {
  Q_OBJECT

 public:
  explicit ChartView(work::FigureChart chart, QWidget* parent = nullptr);
  [[nodiscard]] QSize sizeHint() const override { return {700, 300}; }
  // What a point says: branch, date, figure with its interval, cautions.
  [[nodiscard]] QString wordsOf(const look::ChartSpot& spot) const;
  [[nodiscard]] const std::vector<look::ChartSpot>& spots() const { return m_spots; }  // as last painted

 Q_SIGNALS:
  void photoActivated(const edamori::store::PhotoId& photo);  // a point was opened

 protected:
  void paintEvent(QPaintEvent* event) override;
  void mouseMoveEvent(QMouseEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;
  void mouseDoubleClickEvent(QMouseEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;

 private:
  [[nodiscard]] std::optional<std::size_t> spotAt(QPointF place) const;
  [[nodiscard]] std::optional<std::size_t> besideChosen(int key) const;
  void choose(std::optional<std::size_t> spot);
  void say(std::size_t spot);
  void open(std::size_t spot);

  work::FigureChart m_chart;
  std::vector<look::ChartSpot> m_spots;
  std::optional<std::size_t> m_chosen;  // of the spots
};

}  // namespace edamori::pages
