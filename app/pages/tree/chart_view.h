// SPDX-License-Identifier: GPL-3.0-or-later
// One chart of a tree, drawn as in the letter.
#pragma once

#include "app/work/overview.h"

#include <QWidget>

namespace edamori::pages {

class ChartView : public QWidget {
  Q_OBJECT

 public:
  explicit ChartView(work::FigureChart chart, QWidget* parent = nullptr);
  [[nodiscard]] QSize sizeHint() const override { return {700, 300}; }

 protected:
  void paintEvent(QPaintEvent* event) override;

 private:
  work::FigureChart m_chart;
};

}  // namespace edamori::pages
