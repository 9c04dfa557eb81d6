// SPDX-License-Identifier: GPL-3.0-or-later
// Owners of trees: added, edited, removed and taken back.
#pragma once

#include "app/models/rows_model.h"
#include "app/pages/page_services.h"

#include <QDialog>

class QLabel;
class QLineEdit;
class QPlainTextEdit;
class QPushButton;
class QTableView;

namespace edamori::pages {

// Shown with open(); writes each change at once. The fields below the list belong to the chosen
// owner, or to a new one.
class OwnersDialog : public QDialog {
  Q_OBJECT

 public:
  OwnersDialog(PageServices services, QWidget* parent);

 private:
  void createLayout();
  void reload(const std::string& choose);
  void showChosen();
  void startNew();
  void save();
  void removeChosen();
  void undo();

  PageServices m_services;
  models::RowsModel* m_model;
  QTableView* m_list;
  QLineEdit* m_name;
  QLineEdit* m_contact;
  QPlainTextEdit* m_note;
  QPushButton* m_new;
  QPushButton* m_save;
  QPushButton* m_remove;
  QPushButton* m_undo;
  QLabel* m_problem;
  store::Owner m_chosen;  // empty id: a new one
};

}  // namespace edamori::pages
