// SPDX-License-Identifier: GPL-3.0-or-later
// The trail and, beside it, what was last said: nothing below moves when a message comes or goes.
#pragma once

#include <QWidget>

class QBoxLayout;

namespace edamori::pages {

class MessageBar;

class HeadRow : public QWidget {
  Q_OBJECT

 public:
  // Takes both over. A message that is too long for the room beside the trail stands under it.
  HeadRow(QWidget* trail, MessageBar* messages);

 protected:
  bool event(QEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;

 private:
  void arrange();

  QWidget* m_trail;
  MessageBar* m_messages;
  QBoxLayout* m_row;
};

}  // namespace edamori::pages
