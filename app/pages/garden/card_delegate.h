// SPDX-License-Identifier: GPL-3.0-or-later
// Paints a tree's card: the photo on the left, what is due and the latest figures on the right.
#pragma once

#include <QStyledItemDelegate>

namespace edamori::pages {

class CardDelegate : public QStyledItemDelegate {
  Q_OBJECT

 public:
  using QStyledItemDelegate::QStyledItemDelegate;

  // Height of a card in logical px for the current font.
  [[nodiscard]] static int cardHeight();

  void paint(QPainter* painter,
             const QStyleOptionViewItem& option,
             const QModelIndex& index) const override;
  [[nodiscard]] QSize sizeHint(const QStyleOptionViewItem& option,
                               const QModelIndex& index) const override;
};

}  // namespace edamori::pages
