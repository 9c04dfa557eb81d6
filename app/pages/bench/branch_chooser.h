// SPDX-License-Identifier: GPL-3.0-or-later
// Asks which branch a new outline belongs to; a bar over the foot of the photo, not a dialog.
#pragma once

#include "app/pages/bench/photo_desk.h"

#include <QFrame>

class QComboBox;
class QLineEdit;
class QPushButton;

namespace edamori::pages {

class BranchChooser : public QFrame {
  Q_OBJECT

 public:
  explicit BranchChooser(PhotoDesk& desk, QWidget* parent = nullptr);

  // Shows the branches, the one chosen on the desk first in mind, and takes the focus.
  void ask();

 Q_SIGNALS:
  void branchChosen(const edamori::store::BranchId& branch);
  void newBranchNamed(const QString& name, edamori::store::BranchKind kind);
  void dismissed();

 protected:
  void keyPressEvent(QKeyEvent* event) override;

 private:
  void createFields();
  void showNewBranchFields();
  void accept();
  [[nodiscard]] bool isNew() const;

  PhotoDesk& m_desk;
  QComboBox* m_branch = nullptr;
  QLineEdit* m_name = nullptr;
  QComboBox* m_kind = nullptr;
  QPushButton* m_keep = nullptr;
};

}  // namespace edamori::pages
