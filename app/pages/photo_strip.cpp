// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/photo_strip.h"

#include "app/models/photo_model.h"

#include <QScrollBar>
#include <QStyledItemDelegate>
#include <QWheelEvent>
#include <algorithm>

namespace edamori::pages {

namespace {

// Every photo fills its cell: else the first one, narrow or wide, says how much of the others' captions is shown.
class CellDelegate : public QStyledItemDelegate {
 public:
  explicit CellDelegate(QListView* view) : QStyledItemDelegate(view), m_view(view) {}
  [[nodiscard]] QSize sizeHint(const QStyleOptionViewItem& option, const QModelIndex& index) const override {
    QStyleOptionViewItem shown = option;
    initStyleOption(&shown, index);
    const int lacking = m_view->iconSize().height() - shown.decorationSize.height();  // of a wide picture
    return {m_view->gridSize().width() - 2 * m_view->spacing(),
            QStyledItemDelegate::sizeHint(option, index).height() + std::max(0, lacking)};
  }

 private:
  QListView* m_view;
};

}  // namespace

PhotoStrip::PhotoStrip(models::PhotoModel* model, QWidget* parent) : QListView(parent) {
  setModel(model);
  setViewMode(QListView::IconMode);
  setFlow(QListView::LeftToRight);
  setWrapping(false);
  setMovement(QListView::Static);
  setIconSize({136, 102});
  setSpacing(2);
  setUniformItemSizes(true);
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
  setItemDelegate(new CellDelegate(this));
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
