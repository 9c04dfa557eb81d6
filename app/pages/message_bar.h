// SPDX-License-Identifier: GPL-3.0-or-later
// One line that says what happened, in words and with a sign, without stopping the person.
#pragma once

#include "vision/values/error.h"

#include <QFrame>

class QLabel;
class QPushButton;
class QToolButton;

namespace edamori::pages {

// Errors stay until closed or until the next message.
class MessageBar : public QFrame {
  Q_OBJECT

 public:
  explicit MessageBar(QWidget* parent = nullptr);

  void say(const QString& text);
  void sayError(const Error& error);
  void sayError(const QString& text);
  // The same as say(), with an Undo button.
  void offerUndo(const QString& text);
  void withdrawUndo();
  // The same as say(), with a button that opens the file.
  void offerOpen(const QString& text, const QString& file);
  [[nodiscard]] QString text() const;
  [[nodiscard]] int oneLineWidth() const;  // px that the message takes without a break

 Q_SIGNALS:
  void undoRequested();

 private:
  enum class Kind { Done, Problem };
  void present(const QString& text, Kind kind);

  QLabel* m_sign;
  QLabel* m_text;
  QPushButton* m_undo;
  QPushButton* m_open;
  QString m_file;  // what Open opens
  QToolButton* m_close;
};

}  // namespace edamori::pages
