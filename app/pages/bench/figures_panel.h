// SPDX-License-Identifier: GPL-3.0-or-later
// The figures of the photo by branch, and the measuring of them.
#pragma once

#include "app/pages/bench/live_figures.h"
#include "app/pages/bench/measure_run.h"
#include "app/pages/bench/photo_desk.h"

#include <QWidget>

#include <map>
#include <string>
#include <utility>
#include <vector>

class QAction;
class QLabel;
class QProgressBar;
class QTextBrowser;

namespace edamori::pages {

class FiguresPanel : public QWidget {
  Q_OBJECT

 public:
  FiguresPanel(PhotoDesk& desk,
               QAction* measure,
               QAction* measureAll,
               QAction* showTints,
               QWidget* parent = nullptr);

  void showProgress(int done, int total, const QString& doing);
  // `leftOut`: outlines that were not measured because nobody has confirmed them.
  void showReport(const MeasureReport& report, int leftOut);
  void clearReport();

  // Figures that follow the hint brush stand in for the kept ones of that outline.
  void startLive(const store::OutlineId& outline);  // they are on their way
  void showLive(const LiveJudgement& judgement);
  void endLive();

 Q_SIGNALS:
  void cancelRequested();

 private:
  void showRecords();
  void createButtons(QAction* measure, QAction* measureAll);
  [[nodiscard]] QString branchHtml(const store::BranchId& branch, const QString& name);

  [[nodiscard]] QString liveHtml() const;
  [[nodiscard]] bool wasMeasuredWithOtherHints(const store::Measurement& figure, const Outline& outline);
  [[nodiscard]] QString keptHtml(const store::BranchId& branch);

  PhotoDesk& m_desk;
  std::optional<LiveJudgement> m_live;
  QTextBrowser* m_figures = nullptr;
  QString m_shown;  // its HTML
  // Reading a mask and painting the strokes takes longer than a live figure may: once for each outline
  // and mask, until the strokes change.
  std::vector<store::HintStroke> m_comparedHints;
  std::map<std::pair<std::string, std::string>, bool> m_hasOtherHints;  // by mask and outline
  QWidget* m_running = nullptr;
  QProgressBar* m_progress = nullptr;
  QLabel* m_report = nullptr;
};

// The latest measurement of each figure of the branch on this photo (an empty branch: the whole
// photo).
[[nodiscard]] std::vector<store::Measurement> latestFigures(
    const std::vector<store::Measurement>& measurements, const store::BranchId& branch);

}  // namespace edamori::pages
