// SPDX-License-Identifier: GPL-3.0-or-later
// Room for the window's pages.
#pragma once

#include <QScrollArea>

namespace edamori::pages {

// Pages fill it. Only one that needs more than there is, because of large letters or a small
// screen, scrolls as a whole. QScrollArea's own way asks for the height that pages would like.
class PageArea : public QScrollArea {
  Q_OBJECT

 public:
  explicit PageArea(QWidget* pages, QWidget* parent = nullptr);

 protected:
  void resizeEvent(QResizeEvent* event) override;
  bool eventFilter(QObject* watched, QEvent* event) override;

 private:
  void fit();
};

}  // namespace edamori::pages
