// SPDX-License-Identifier: GPL-3.0-or-later
// Two photos of one branch against each other, with the verdict in words.
#pragma once

#include "app/pages/page_services.h"
#include "app/work/overview.h"

#include <QDialog>
#include <QImage>
#include <QPointer>

class QComboBox;
class QLabel;
class QProgressBar;
class QPushButton;

namespace edamori::pages {

// What the dialog shows; made in a worker thread.
struct ComparisonShown {
  bool aligned = false;
  QString verdict;      // in words, or why the pair was refused
  QStringList figures;  // one line each, with interval
  QStringList cautions;
  QImage before, after;  // large previews; `after` lies on `before` when aligned
};

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
  void compare();
  void present(const Result<ComparisonShown>& shown);
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
  QImage m_beforeImage, m_afterImage;
};

}  // namespace edamori::pages
