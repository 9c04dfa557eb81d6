// SPDX-License-Identifier: GPL-3.0-or-later
// The branches of the tree and how each is outlined on this photo.
#pragma once

#include "app/pages/bench/photo_desk.h"

#include <QWidget>

class QAction;
class QLabel;
class QTreeWidget;

namespace edamori::pages {

class BranchPanel : public QWidget {
  Q_OBJECT

 public:
  // `confirm` confirms the carried outline of the chosen branch.
  BranchPanel(PhotoDesk& desk, QAction* confirm, QWidget* parent = nullptr);

 private:
  void showRecords();
  void showChoice();
  void chooseCurrent();

  PhotoDesk& m_desk;
  QTreeWidget* m_list = nullptr;
  QWidget* m_carried = nullptr;
  QLabel* m_carriedText = nullptr;
};

// "drawn", "carried over, unconfirmed (off by 2.4 px)", "none".
[[nodiscard]] QString outlineState(const store::OutlineRecord* outline);

}  // namespace edamori::pages
