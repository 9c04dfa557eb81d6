// SPDX-License-Identifier: GPL-3.0-or-later
// Taking photos in: what, under which tree, how far it is, and what became of each file.
#pragma once

#include "app/models/rows_model.h"
#include "app/pages/page_services.h"
#include "app/work/import.h"

#include <QDialog>
#include <QPointer>
#include <filesystem>
#include <vector>

class QComboBox;
class QLabel;
class QLineEdit;
class QListWidget;
class QProgressBar;
class QPushButton;
class QStackedWidget;
class QTableView;

namespace edamori::pages {

// Shown with open(). The import runs in a thread; closing the dialog cancels it, and what was taken
// in stays.
class ImportDialog : public QDialog {
  Q_OBJECT

 public:
  // `tree` is chosen at first; empty: unfiled.
  ImportDialog(const PageServices& services, const store::TreeId& tree, QWidget* parent);
  void addPaths(const std::vector<std::filesystem::path>& paths);
  void start();

 public Q_SLOTS:
  void done(int result) override;

 protected:
  void keyPressEvent(QKeyEvent* event) override;

 private:
  QWidget* createChoice();
  QWidget* createResult();
  void fillTrees(const store::TreeId& tree);
  void addTypedPath();
  void chooseFiles();
  void chooseFolder();
  void removeChosenPath();
  void showProgress(int done, int total, const QString& doing);
  void finish(Result<work::ImportReport> report);
  void showReport(const work::ImportReport& report);

  PageServices m_services;
  std::vector<std::filesystem::path> m_paths;
  QPointer<Job> m_job;
  QStackedWidget* m_steps;
  QLineEdit* m_typed;
  QListWidget* m_list;
  QComboBox* m_tree;
  QLabel* m_problem;
  QProgressBar* m_progress;
  QLabel* m_doing;
  QLabel* m_summary;
  models::RowsModel* m_outcomes;
  QPushButton* m_start;
  QPushButton* m_close;
};

}  // namespace edamori::pages
