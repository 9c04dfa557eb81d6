// SPDX-License-Identifier: GPL-3.0-or-later
// The marks of the photo as a list: the same as on the photo, for screen readers and the keyboard.
#pragma once

#include "app/pages/bench/photo_desk.h"

#include <QTreeWidget>

namespace edamori::pages {

class MarksList : public QTreeWidget {
  Q_OBJECT

 public:
  explicit MarksList(PhotoDesk& desk, QWidget* parent = nullptr);

 Q_SIGNALS:
  // One mark was chosen here; the view may bring it into sight.
  void showWanted(const edamori::PointPx& at);

 private:
  void showRecords();
  void showChoice();
  void chooseSelected();

  PhotoDesk& m_desk;
};

}  // namespace edamori::pages
