// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/message_bar.h"

#include "app/look/theme.h"
#include "app/pages/controls.h"

#include <QAccessible>
#include <QDesktopServices>
#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QStyle>
#include <QToolButton>
#include <QUrl>

namespace edamori::pages {

MessageBar::MessageBar(QWidget* parent)
    : QFrame(parent),
      m_sign(new QLabel(this)),
      m_text(new QLabel(this)),
      m_undo(button(tr("&Undo"), QStringLiteral("messageUndo"), ButtonRole::Plain)),
      m_open(button(tr("Open"), QStringLiteral("messageOpen"), ButtonRole::Plain)),
      m_close(new QToolButton(this)) {
  setObjectName(QStringLiteral("messageBar"));
  setProperty("role", QStringLiteral("notice"));
  m_text->setObjectName(QStringLiteral("messageText"));
  m_text->setWordWrap(true);
  m_text->setTextFormat(Qt::PlainText);
  m_text->setTextInteractionFlags(Qt::TextSelectableByMouse);
  m_undo->setIcon(look::icon(look::Glyph::Undo));
  m_close->setText(QStringLiteral("✕"));
  m_close->setAccessibleName(tr("Close the message"));
  m_close->setToolTip(tr("Close the message"));
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(look::kGrid * 2, look::kGrid / 2, look::kGrid, look::kGrid / 2);
  row->addWidget(m_sign);
  row->addWidget(m_text, 1);
  row->addWidget(m_undo);
  row->addWidget(m_open);
  row->addWidget(m_close);
  connect(m_undo, &QPushButton::clicked, this, &MessageBar::undoRequested);
  connect(m_open, &QPushButton::clicked, this, [this] {
    if (!QDesktopServices::openUrl(QUrl::fromLocalFile(m_file))) {
      sayError(tr("No program on this computer opens %1; open it from the file manager.")
                   .arg(m_file));
    }
  });
  connect(m_close, &QToolButton::clicked, this, &QWidget::hide);
  setVisible(false);
}

void MessageBar::present(const QString& text, Kind kind) {
  const bool isProblem = kind == Kind::Problem;
  m_sign->setText(isProblem ? tr("Not done") : tr("Done"));
  m_sign->setProperty("textRole", isProblem ? QStringLiteral("bad") : QStringLiteral("good"));
  m_sign->style()->unpolish(m_sign);
  m_sign->style()->polish(m_sign);
  m_text->setText(text);
  m_text->setAccessibleName(text);
  m_undo->setVisible(false);
  m_open->setVisible(false);
  setVisible(true);
  QAccessibleEvent alert(m_text, QAccessible::Alert);
  QAccessible::updateAccessibility(&alert);
}

void MessageBar::say(const QString& text) { present(text, Kind::Done); }

void MessageBar::sayError(const Error& error) { sayError(QString::fromStdString(error.message)); }

void MessageBar::sayError(const QString& text) { present(text, Kind::Problem); }

void MessageBar::offerUndo(const QString& text) {
  present(text, Kind::Done);
  m_undo->setVisible(true);
}

void MessageBar::offerOpen(const QString& text, const QString& file) {
  present(text, Kind::Done);
  m_file = file;
  m_open->setVisible(true);
}

void MessageBar::withdrawUndo() { m_undo->setVisible(false); }

int MessageBar::oneLineWidth() const {
  const QMargins margins = layout()->contentsMargins();
  int width = margins.left() + margins.right() + 2 * frameWidth() + look::kGrid;
  for (const QWidget* each : {static_cast<const QWidget*>(m_sign), static_cast<const QWidget*>(m_undo),
                              static_cast<const QWidget*>(m_open), static_cast<const QWidget*>(m_close)}) {
    width += each->isVisibleTo(this) ? each->sizeHint().width() + layout()->spacing() : 0;
  }
  return width + m_text->fontMetrics().horizontalAdvance(m_text->text()) + layout()->spacing();
}

QString MessageBar::text() const {
  return isVisibleTo(parentWidget()) ? m_text->text() : QString();
}

}  // namespace edamori::pages
