// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/head_row.h"

#include "app/pages/message_bar.h"

#include <QBoxLayout>
#include <QEvent>

namespace edamori::pages {

HeadRow::HeadRow(QWidget* trail, MessageBar* messages)
    : m_trail(trail), m_messages(messages), m_row(new QBoxLayout(QBoxLayout::LeftToRight, this)) {
  m_row->setContentsMargins(0, 0, 0, 0);
  m_row->setSpacing(0);
  m_row->addWidget(trail, 1);
  m_row->addWidget(messages, 1);
}

bool HeadRow::event(QEvent* event) {
  // Sent whenever a message comes, goes or changes, or the trail gets other words.
  if (event->type() == QEvent::LayoutRequest) {
    arrange();
  }
  return QWidget::event(event);
}

void HeadRow::resizeEvent(QResizeEvent* event) {
  QWidget::resizeEvent(event);
  arrange();
}

void HeadRow::arrange() {
  const bool isBeside = m_trail->minimumSizeHint().width() + m_messages->oneLineWidth() <= width();
  const auto wanted = isBeside ? QBoxLayout::LeftToRight : QBoxLayout::TopToBottom;
  if (m_row->direction() != wanted) {
    m_row->setDirection(wanted);
    m_row->setStretch(0, isBeside ? 1 : 0);
    m_row->setStretch(1, isBeside ? 1 : 0);
  }
}

}  // namespace edamori::pages
