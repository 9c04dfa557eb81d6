// SPDX-License-Identifier: GPL-3.0-or-later
// Room for the window's pages.
#pragma once

#include <QScrollArea>
#include <QStackedWidget>

namespace edamori::pages {

// The page in sight fills it. Only one that needs more than there is, because of large letters or a
// small screen, scrolls as a whole. QScrollArea's own way asks for the height that the pages would
// like, and for the width of the widest of them.
class PageArea : public QScrollArea {
  Q_OBJECT

 public:
  explicit PageArea(QStackedWidget* pages, QWidget* parent = nullptr);

 protected:
  void resizeEvent(QResizeEvent* event) override;
  bool eventFilter(QObject* watched, QEvent* event) override;

 private:
  void fit();

  QStackedWidget* m_pages;
};

}  // namespace edamori::pages
