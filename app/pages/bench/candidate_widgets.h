// SPDX-License-Identifier: GPL-3.0-or-later
// The bar and the list of offered scale insects.
#pragma once

#include "app/pages/bench/candidates.h"
#include "app/pages/bench/over_bars.h"

#include <QWidget>

class QAction;
class QLabel;
class QProgressBar;
class QPushButton;
class QSlider;
class QTreeWidget;

namespace edamori::pages {

// How sure an offer must be to be shown, and what to do with all that are shown.
class CandidateBar : public OverBar {
  Q_OBJECT

 public:
  CandidateBar(Candidates& candidates,
               QAction* acceptAll,
               QAction* rejectAll,
               QWidget* parent = nullptr);
  void showProgress(int percent);  // a search is on
  void showIdle();                 // no search is on

 Q_SIGNALS:
  void lookWanted();
  void stopWanted();

 private:
  void showCounts();

  Candidates& m_candidates;
  QLabel *m_question = nullptr, *m_told = nullptr;
  QSlider* m_score = nullptr;
  QProgressBar* m_progress = nullptr;
  QPushButton *m_look = nullptr, *m_stop = nullptr;
  QWidget *m_acceptAll = nullptr, *m_rejectAll = nullptr;
};

// The offers that are shown as a list: the same as on the photo, for screen readers and the
// keyboard. Enter accepts.
class CandidatesPanel : public QWidget {
  Q_OBJECT

 public:
  CandidatesPanel(Candidates& candidates,
                  const PhotoDesk& desk,
                  QAction* accept,
                  QAction* reject,
                  QWidget* parent = nullptr);

 Q_SIGNALS:
  void showWanted(const edamori::PointPx& at);

 private:
  void showOffers();
  void showChoice();
  void chooseSelected();

  Candidates& m_candidates;
  const PhotoDesk& m_desk;
  QTreeWidget* m_list = nullptr;
  QLabel* m_empty = nullptr;
};

}  // namespace edamori::pages
