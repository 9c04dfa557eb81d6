// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/page_area.h"

#include "app/look/theme.h"

#include <QEvent>
#include <QLayout>
#include <QScrollBar>
#include <algorithm>

namespace edamori::pages {

PageArea::PageArea(QStackedWidget* pages, QWidget* parent) : QScrollArea(parent), m_pages(pages) {
  setObjectName(QStringLiteral("pages"));
  setFocusPolicy(Qt::NoFocus);
  setWidget(pages);
  connect(pages, &QStackedWidget::currentChanged, this, &PageArea::fit);
}

void PageArea::resizeEvent(QResizeEvent* event) {
  QScrollArea::resizeEvent(event);
  fit();
}

bool PageArea::eventFilter(QObject* watched, QEvent* event) {
  if (watched == widget() && event->type() == QEvent::LayoutRequest) {
    fit();
  }
  return QScrollArea::eventFilter(watched, event);
}

void PageArea::fit() {
  if (m_pages->currentWidget() == nullptr) {
    return;
  }
  QWidget* const page = m_pages->currentWidget();
  QSize least = page->minimumSizeHint();
  QSize room = maximumViewportSize();
  if (look::isTextLarge()) {
    // Layouts squeeze words that wrap before they squeeze lists: here the page gets what it would like.
    const int width = std::max(room.width(), least.width());
    const int wanted = page->layout() != nullptr && page->layout()->hasHeightForWidth()
                           ? page->layout()->totalHeightForWidth(width)
                           : page->sizeHint().height();
    least.setHeight(std::max(least.height(), wanted));
  }
  if (least.height() > room.height()) {
    room.rwidth() -= verticalScrollBar()->sizeHint().width();
  }
  if (least.width() > room.width()) {
    room.rheight() -= horizontalScrollBar()->sizeHint().height();
  }
  widget()->resize(room.expandedTo(least));
}

}  // namespace edamori::pages
