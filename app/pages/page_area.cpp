// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/page_area.h"

#include <QEvent>
#include <QScrollBar>

namespace edamori::pages {

PageArea::PageArea(QWidget* pages, QWidget* parent) : QScrollArea(parent) {
  setObjectName(QStringLiteral("pages"));
  setFocusPolicy(Qt::NoFocus);
  setWidget(pages);
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
  const QSize least = widget()->minimumSizeHint();
  QSize room = maximumViewportSize();
  if (least.height() > room.height()) {
    room.rwidth() -= verticalScrollBar()->sizeHint().width();
  }
  if (least.width() > room.width()) {
    room.rheight() -= horizontalScrollBar()->sizeHint().height();
  }
  widget()->resize(room.expandedTo(least));
}

}  // namespace edamori::pages
