// SPDX-License-Identifier: GPL-3.0-or-later
// Photos in a row, oldest on the left; arrow keys move, Enter or a double click opens.
#pragma once

#include <QListView>

namespace edamori::models {
class PhotoModel;
}

namespace edamori::pages {

class PhotoStrip : public QListView {
  Q_OBJECT

 public:
  explicit PhotoStrip(models::PhotoModel* model, QWidget* parent = nullptr);

 protected:
  // Left and right only: there is one row.
  void wheelEvent(QWheelEvent* event) override;
  void focusInEvent(QFocusEvent* event) override;
};

}  // namespace edamori::pages
