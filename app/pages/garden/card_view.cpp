// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/garden/card_view.h"

#include "app/look/theme.h"
#include "app/pages/garden/card_delegate.h"

#include <QScrollBar>
#include <algorithm>

namespace edamori::pages {

namespace {

constexpr int kNarrowestCardPx = 380;

}  // namespace

CardView::CardView(QWidget* parent) : QListView(parent) {
  setViewMode(QListView::IconMode);
  setMovement(QListView::Static);
  setResizeMode(QListView::Adjust);
  setUniformItemSizes(true);
  setSelectionMode(QAbstractItemView::SingleSelection);
  setVerticalScrollMode(QAbstractItemView::ScrollPerPixel);
  setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  setMouseTracking(true);
  setItemDelegate(new CardDelegate(this));
}

void CardView::resizeEvent(QResizeEvent* event) {
  // With room for the scroll bar kept, so that the cards' width does not depend on how many there
  // are.
  const int width = this->width() - 2 * frameWidth() - verticalScrollBar()->sizeHint().width() - 2;
  const int columns = std::max(1, width / look::forText(kNarrowestCardPx));
  setGridSize({width / columns, CardDelegate::cardHeight()});
  QListView::resizeEvent(event);
}

void CardView::focusInEvent(QFocusEvent* event) {
  QListView::focusInEvent(event);
  if (!currentIndex().isValid() && model() != nullptr && model()->rowCount() > 0) {
    setCurrentIndex(model()->index(0, 0));
  }
}

}  // namespace edamori::pages
