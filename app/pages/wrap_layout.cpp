// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/wrap_layout.h"

#include <QHBoxLayout>
#include <QWidget>
#include <algorithm>

namespace edamori::pages {

WrapLayout::WrapLayout(QWidget* parent) : QLayout(parent) {}
WrapLayout::~WrapLayout() = default;

void WrapLayout::addPair(QWidget* label, QWidget* field) {
  auto* pair = new QHBoxLayout;
  pair->setSpacing(spacing());
  pair->addWidget(label);
  pair->addWidget(field);
  addChildLayout(pair);
  addItem(pair);
}

void WrapLayout::addItem(QLayoutItem* item) {
  m_items.emplace_back(item);
  invalidate();
}

int WrapLayout::count() const { return static_cast<int>(m_items.size()); }

QLayoutItem* WrapLayout::itemAt(int index) const {
  return index >= 0 && index < count() ? m_items[static_cast<std::size_t>(index)].get() : nullptr;
}

QLayoutItem* WrapLayout::takeAt(int index) {
  if (index < 0 || index >= count()) {
    return nullptr;
  }
  const auto at = m_items.begin() + index;
  QLayoutItem* const taken = at->release();
  m_items.erase(at);
  return taken;
}

std::vector<WrapLayout::Row> WrapLayout::rowsWithin(int width) const {
  std::vector<Row> rows;
  for (const auto& item : m_items) {
    if (item->isEmpty()) {
      continue;  // hidden
    }
    const QSize size = item->sizeHint();
    if (rows.empty() || rows.back().width + spacing() + size.width() > width) {
      rows.push_back({.items = {item.get()}, .width = size.width(), .height = size.height()});
      continue;
    }
    Row& row = rows.back();
    row.items.push_back(item.get());
    row.width += spacing() + size.width();
    row.height = std::max(row.height, size.height());
  }
  return rows;
}

QSize WrapLayout::framed(QSize inside) const {
  const QMargins margins = contentsMargins();
  return inside + QSize(margins.left() + margins.right(), margins.top() + margins.bottom());
}

int WrapLayout::heightForWidth(int width) const {
  int height = 0;
  for (const Row& row : rowsWithin(width - framed({}).width())) {
    height += (height > 0 ? spacing() : 0) + row.height;
  }
  return framed({0, height}).height();
}

QSize WrapLayout::sizeHint() const {
  const auto rows = rowsWithin(QLAYOUTSIZE_MAX);
  return framed(rows.empty() ? QSize(0, 0) : QSize(rows.front().width, rows.front().height));
}

QSize WrapLayout::minimumSize() const {
  QSize widest(0, 0);
  for (const auto& item : m_items) {
    if (!item->isEmpty()) {
      widest = widest.expandedTo(item->sizeHint());
    }
  }
  return framed(widest);
}

void WrapLayout::setGeometry(const QRect& rect) {
  QLayout::setGeometry(rect);
  const QRect inside = rect.marginsRemoved(contentsMargins());
  int top = inside.top();
  for (const Row& row : rowsWithin(inside.width())) {
    int left = inside.left();
    for (QLayoutItem* const item : row.items) {
      const QSize size = item->sizeHint();
      item->setGeometry(
          {left, top + (row.height - size.height()) / 2, std::min(size.width(), inside.width()), size.height()});
      left += size.width() + spacing();
    }
    top += row.height + spacing();
  }
}

}  // namespace edamori::pages
