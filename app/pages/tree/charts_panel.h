// SPDX-License-Identifier: GPL-3.0-or-later
// The charts of a tree under each other, of all branches or of one.
#pragma once

#include "app/work/overview.h"

#include <QWidget>

#include <vector>

class QComboBox;
class QVBoxLayout;

namespace edamori::pages {

class ChartsPanel : public QWidget {
  Q_OBJECT

 public:
  explicit ChartsPanel(QWidget* parent = nullptr);
  // The branch that was chosen stays, where there are charts of it.
  void setCharts(std::vector<work::FigureChart> charts);

 Q_SIGNALS:
  void photoActivated(const edamori::store::PhotoId& photo);

 private:
  void fillBranches();
  void fill();

  std::vector<work::FigureChart> m_all;
  QWidget* m_bar;
  QComboBox* m_branch;
  QVBoxLayout* m_charts;
};

}  // namespace edamori::pages
