// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/photo_strip.h"

#include "app/models/photo_model.h"

#include <QScrollBar>
#include <QWheelEvent>
#include <algorithm>

namespace edamori::pages {

PhotoStrip::PhotoStrip(models::PhotoModel* model, QWidget* parent) : QListView(parent) {
  setModel(model);
  setViewMode(QListView::IconMode);
  setFlow(QListView::LeftToRight);
  setWrapping(false);
  setMovement(QListView::Static);
  setIconSize({136, 102});
  setSpacing(2);
  setUniformItemSizes(false);  // else the first caption says how much of the others is shown
  setHorizontalScrollMode(QAbstractItemView::ScrollPerPixel);
  setVerticalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  setTextElideMode(Qt::ElideNone);
  // The longest captions that PhotoModel makes are shown whole.
  int captionPx = 0;
  for (const QString& caption :
       {tr("uncertain, close-up"), tr("View not entered"), tr("date uncertain")}) {
    captionPx = std::max(captionPx, fontMetrics().horizontalAdvance(caption));
  }
  const int cellHeight = iconSize().height() + 2 * fontMetrics().height() + 12;
  setGridSize({std::max(152, captionPx + 20), cellHeight});
  setFixedHeight(cellHeight + 18);  // room for the scroll bar
}

void PhotoStrip::wheelEvent(QWheelEvent* event) {
  const QPoint turn = event->angleDelta();
  QScrollBar* bar = horizontalScrollBar();
  bar->setValue(bar->value() - (turn.x() != 0 ? turn.x() : turn.y()));
  event->accept();
}

void PhotoStrip::focusInEvent(QFocusEvent* event) {
  QListView::focusInEvent(event);
  if (!currentIndex().isValid() && model()->rowCount() > 0) {
    setCurrentIndex(model()->index(0, 0));
  }
}

}  // namespace edamori::pages
