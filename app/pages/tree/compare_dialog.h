// SPDX-License-Identifier: GPL-3.0-or-later
// Two photos of one branch against each other, with the verdict in words.
#pragma once

#include "app/pages/page_services.h"
#include "app/pages/tree/comparison_shown.h"
#include "app/work/overview.h"

#include <QDialog>

class QComboBox;
class QLabel;
class QProgressBar;
class QPushButton;

namespace edamori::pages {

class CompareDialog : public QDialog {
  Q_OBJECT

 public:
  // `after` is chosen at first when it is a photo of the tree.
  CompareDialog(const PageServices& services,
                const work::TreeDetail& detail,
                const store::PhotoId& after,
                QWidget* parent);

 private:
  void createLayout();
  void fillChoices(const store::PhotoId& after);
  void fillBefore();
  [[nodiscard]] PairAsked asked() const;
  void takeUpChoice();
  enum class Busy { No, Yes };
  void setBusy(Busy busy);
  void compare();
  void present(const Result<ComparisonShown>& shown);
  void showPair(const PairPictures& pictures);
  void showPictures();
  void keepPair();
  void resizeEvent(QResizeEvent* event) override;

  PageServices m_services;
  work::TreeDetail m_detail;
  QComboBox* m_branch;
  QComboBox* m_before;
  QComboBox* m_after;
  QPushButton* m_compare;
  QPushButton* m_keep;
  QProgressBar* m_busy;
  QLabel* m_verdict;
  QLabel* m_figures;
  QLabel* m_cautions;
  QLabel* m_beforePicture;
  QLabel* m_afterPicture;
  PairPictures m_pictures;
  int m_choice = 0;  // counts up with every choice, so that late pictures are known
};

}  // namespace edamori::pages
