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
  struct Actions {
    QAction* confirm;  // the carried outline of the chosen branch
    QAction* carry;    // outlines of another photo over to this one
  };
  BranchPanel(PhotoDesk& desk, const Actions& actions, QWidget* parent = nullptr);

 private:
  void showRecords();
  void showChoice();
  void chooseCurrent();

  PhotoDesk& m_desk;
  QTreeWidget* m_list = nullptr;
  QWidget* m_missing = nullptr;
  QWidget* m_carried = nullptr;
  QLabel* m_carriedText = nullptr;
};

// "drawn", "carried, ±2.4 px", "likeliest place", "carried, confirmed" or "none".
[[nodiscard]] QString outlineState(const store::OutlineRecord* outline);

}  // namespace edamori::pages
