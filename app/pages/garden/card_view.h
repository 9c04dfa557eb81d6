// SPDX-License-Identifier: GPL-3.0-or-later
// Cards in as many columns as the width has room for; arrow keys move, Enter opens.
#pragma once

#include <QListView>

namespace edamori::pages {

class CardView : public QListView {
  Q_OBJECT

 public:
  explicit CardView(QWidget* parent = nullptr);

 protected:
  void resizeEvent(QResizeEvent* event) override;
  void focusInEvent(QFocusEvent* event) override;
};

}  // namespace edamori::pages
