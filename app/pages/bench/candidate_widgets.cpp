// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/candidate_widgets.h"

#include "app/look/theme.h"
#include "app/pages/controls.h"

#include <QAction>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QProgressBar>
#include <QPushButton>
#include <QSignalBlocker>
#include <QSlider>
#include <QTreeWidget>
#include <QVBoxLayout>
#include <cmath>

namespace edamori::pages {

CandidateBar::CandidateBar(Candidates& candidates,
                           QAction* acceptAll,
                           QAction* rejectAll,
                           QWidget* parent)
    : OverBar(QStringLiteral("candidateBar"), tr("Offered scale insects"), parent),
      m_candidates(candidates) {
  m_question = new QLabel(tr("&Score at least"), this);
  m_score = new QSlider(Qt::Horizontal, this);
  m_score->setObjectName(QStringLiteral("leastScore"));
  m_score->setAccessibleName(tr("Least score of the offers that are shown, in percent"));
  m_score->setToolTip(
      tr("Further right: fewer and surer offers. The score was set on drawn bark; yours may differ."));
  m_score->setRange(10, 95);
  m_score->setValue(static_cast<int>(std::lround(100 * candidates.leastScore())));
  m_score->setMinimumWidth(96);
  m_question->setBuddy(m_score);
  m_told = new QLabel(this);
  m_told->setObjectName(QStringLiteral("offersTold"));
  m_told->setMinimumWidth(fontMetrics().horizontalAdvance(tr("50 %: 0000 of 0000 shown")));
  m_progress = new QProgressBar(this);
  m_progress->setObjectName(QStringLiteral("offerProgress"));
  m_progress->setAccessibleName(tr("Search for scale insects"));
  m_look = new QPushButton(tr("&Look again"), this);
  m_look->setObjectName(QStringLiteral("lookAgain"));
  m_look->setToolTip(tr("Look for scale insects within the confirmed outlines, else in the whole photo"));
  m_stop = new QPushButton(tr("S&top"), this);
  m_stop->setObjectName(QStringLiteral("stopLooking"));
  m_stop->setToolTip(tr("End the search"));
  m_acceptAll = buttonFor(acceptAll, this);
  m_rejectAll = buttonFor(rejectAll, this);
  row().addPair(m_question, m_score);
  for (QWidget* const widget : {static_cast<QWidget*>(m_told),
                                static_cast<QWidget*>(m_progress),
                                m_acceptAll,
                                m_rejectAll,
                                static_cast<QWidget*>(m_look),
                                static_cast<QWidget*>(m_stop)}) {
    row().addWidget(widget);
  }
  connect(m_score, &QSlider::valueChanged, this, [this](int percent) {
    m_candidates.setLeastScore(percent / 100.0);
  });
  connect(m_look, &QPushButton::clicked, this, &CandidateBar::lookWanted);
  connect(m_stop, &QPushButton::clicked, this, &CandidateBar::stopWanted);
  connect(&m_candidates, &Candidates::changed, this, &CandidateBar::showCounts);
  showIdle();
}

void CandidateBar::showProgress(int percent) {
  for (QWidget* const widget : {static_cast<QWidget*>(m_question),
                                static_cast<QWidget*>(m_score),
                                m_acceptAll,
                                m_rejectAll,
                                static_cast<QWidget*>(m_look)}) {
    widget->hide();
  }
  m_told->setText(tr("Looking for scale insects …"));
  m_progress->setValue(percent);
  m_progress->show();
  m_stop->show();
}

void CandidateBar::showIdle() {
  m_progress->hide();
  m_stop->hide();
  m_look->show();
  showCounts();
}

void CandidateBar::showCounts() {
  if (m_progress->isVisibleTo(this)) {
    return;
  }
  const bool isSearched = m_candidates.isSearched();
  for (QWidget* const widget : {static_cast<QWidget*>(m_question),
                                static_cast<QWidget*>(m_score),
                                m_acceptAll,
                                m_rejectAll}) {
    widget->setVisible(isSearched);
  }
  m_look->setText(isSearched ? tr("&Look again") : tr("&Look on this photo"));
  m_told->setText(isSearched ? tr("%1 %: %2 of %3 shown")
                                   .arg(m_score->value())
                                   .arg(m_candidates.shownCount())
                                   .arg(m_candidates.offered().size())
                             : tr("Nothing was looked for here yet."));
}

CandidatesPanel::CandidatesPanel(Candidates& candidates,
                                 const PhotoDesk& desk,
                                 QAction* accept,
                                 QAction* reject,
                                 QWidget* parent)
    : QWidget(parent), m_candidates(candidates), m_desk(desk) {
  auto* const column = new QVBoxLayout(this);
  column->setContentsMargins(0, look::kGrid, 0, 0);
  m_empty = new QLabel(this);
  m_empty->setProperty("textRole", QStringLiteral("quiet"));
  m_empty->setWordWrap(true);
  column->addWidget(m_empty);
  m_list = new QTreeWidget(this);
  m_list->setObjectName(QStringLiteral("offers"));
  m_list->setAccessibleName(tr("Offered scale insects"));
  m_list->setRootIsDecorated(false);
  m_list->setUniformRowHeights(true);
  m_list->setHeaderLabels({tr("Score"), tr("Radius"), tr("Place"), tr("Branch")});
  m_list->header()->setStretchLastSection(true);
  m_list->header()->resizeSection(0, look::forText(72));
  m_list->header()->resizeSection(1, look::forText(76));
  m_list->header()->resizeSection(2, look::forText(112));
  column->addWidget(m_list, 1);
  auto* const row = new QHBoxLayout;
  row->addWidget(buttonFor(accept, this));
  row->addWidget(buttonFor(reject, this));
  row->addStretch(1);
  column->addLayout(row);
  connect(m_list, &QTreeWidget::itemSelectionChanged, this, &CandidatesPanel::chooseSelected);
  connect(m_list, &QTreeWidget::itemActivated, accept, &QAction::trigger);
  connect(&m_candidates, &Candidates::changed, this, &CandidatesPanel::showOffers);
  connect(&m_candidates, &Candidates::choiceChanged, this, &CandidatesPanel::showChoice);
  showOffers();
}

void CandidatesPanel::showOffers() {
  const QSignalBlocker quiet(m_list);
  m_list->clear();
  QList<QTreeWidgetItem*> rows;
  for (int i = 0; i < m_candidates.shownCount(); ++i) {
    const auto& offer = m_candidates.offered()[static_cast<std::size_t>(i)];
    const QString branch = m_desk.branchName(m_desk.branchAt(offer.centrePx));
    rows << new QTreeWidgetItem({tr("%1 %").arg(std::lround(100 * offer.score)),
                                 tr("%1 px").arg(offer.radiusPx, 0, 'f', 0),
                                 tr("%1, %2").arg(offer.centrePx.x, 0, 'f', 0).arg(offer.centrePx.y, 0, 'f', 0),
                                 branch.isEmpty() ? tr("on none") : branch});
  }
  m_list->addTopLevelItems(rows);
  m_empty->setVisible(rows.isEmpty());
  m_empty->setText(!m_candidates.isSearched() ? tr("The tool Offer looks for likely scale insects.")
                   : m_candidates.offered().empty()
                       ? tr("Nothing is offered: none was found, or all were judged.")
                       : tr("No offer is this sure. Move the score to the left."));
  showChoice();
}

void CandidatesPanel::showChoice() {
  const QSignalBlocker quiet(m_list);
  auto* const row = m_list->topLevelItem(m_candidates.chosen());
  m_list->clearSelection();
  if (row != nullptr) {
    m_list->setCurrentItem(row);
    m_list->scrollToItem(row);
  }
  m_list->viewport()->update();
}

void CandidatesPanel::chooseSelected() {
  const auto selected = m_list->selectedItems();
  m_candidates.choose(selected.isEmpty() ? -1 : m_list->indexOfTopLevelItem(selected.front()));
  if (m_candidates.chosen() >= 0) {
    Q_EMIT showWanted(m_candidates.offered()[static_cast<std::size_t>(m_candidates.chosen())].centrePx);
  }
}

}  // namespace edamori::pages
