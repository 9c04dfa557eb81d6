// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/tree/charts_panel.h"

#include "app/look/theme.h"
#include "app/models/text.h"
#include "app/pages/controls.h"
#include "app/pages/tree/chart_view.h"

#include <QComboBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QScrollArea>
#include <QSignalBlocker>
#include <QVBoxLayout>

#include <algorithm>
#include <utility>

namespace edamori::pages {

namespace {

// Of one branch alone; of all for an empty one.
work::FigureChart ofBranch(const work::FigureChart& chart, const QString& branch) {
  work::FigureChart part = chart;
  if (!branch.isEmpty()) {
    std::erase_if(part.series,
                  [&](const work::Series& series) { return models::qText(series.branch.text) != branch; });
  }
  return part;
}

}  // namespace

ChartsPanel::ChartsPanel(QWidget* parent) : QWidget(parent), m_bar(new QWidget), m_branch(new QComboBox) {
  m_branch->setObjectName(QStringLiteral("chartBranch"));
  m_branch->setAccessibleName(tr("Branch whose charts are shown"));
  auto* name = label(tr("Br&anch:"), {});
  name->setBuddy(m_branch);
  auto* row = new QHBoxLayout(m_bar);
  row->setContentsMargins(0, 0, 0, 0);
  row->addWidget(name);
  row->addWidget(m_branch);
  row->addWidget(label(tr("Rest the pointer on a point for its figure; the arrow keys lead from point to point."),
                       QStringLiteral("quiet")),
                 1);
  auto* area = new QScrollArea;
  area->setWidgetResizable(true);
  area->setFocusPolicy(Qt::NoFocus);  // Tab leads on to the charts, whose points the arrow keys walk along
  area->setAccessibleName(tr("Charts"));
  auto* inside = new QWidget;
  m_charts = new QVBoxLayout(inside);
  m_charts->setSpacing(look::kGrid * 2);
  area->setWidget(inside);
  auto* all = new QVBoxLayout(this);
  all->setContentsMargins(0, look::kGrid, 0, 0);
  all->addWidget(m_bar);
  all->addWidget(area, 1);
  connect(m_branch, &QComboBox::currentIndexChanged, this, &ChartsPanel::fill);
}

void ChartsPanel::setCharts(std::vector<work::FigureChart> charts) {
  m_all = std::move(charts);
  fillBranches();
  fill();
}

void ChartsPanel::fillBranches() {
  const QVariant kept = m_branch->currentData();
  const QSignalBlocker quiet(m_branch);
  m_branch->clear();
  m_branch->addItem(tr("All branches"), QString());
  for (const work::FigureChart& chart : m_all) {
    for (const work::Series& series : chart.series) {
      const QString id = models::qText(series.branch.text);
      if (!id.isEmpty() && m_branch->findData(id) < 0) {
        m_branch->addItem(models::qText(series.branchName), id);
      }
    }
  }
  m_branch->setCurrentIndex(std::max(0, m_branch->findData(kept)));
  m_bar->setVisible(!m_all.empty());
}

void ChartsPanel::fill() {
  while (QLayoutItem* item = m_charts->takeAt(0)) {
    delete item->widget();
    delete item;
  }
  for (const work::FigureChart& chart : m_all) {
    if (work::FigureChart shown = ofBranch(chart, m_branch->currentData().toString()); !shown.series.empty()) {
      auto* const view = new ChartView(std::move(shown));
      connect(view, &ChartView::photoActivated, this, &ChartsPanel::photoActivated);
      m_charts->addWidget(view);
    }
  }
  if (m_all.empty()) {
    m_charts->addWidget(label(tr("A chart appears once a figure has been measured."), QStringLiteral("quiet")));
  }
  m_charts->addStretch(1);
}

}  // namespace edamori::pages
