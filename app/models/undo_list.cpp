// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/models/undo_list.h"

namespace edamori::models {

UndoList::UndoList(QObject* parent) : QObject(parent) {}

void UndoList::push(const QString& what, Undo undo) {
  m_steps.push_back({what, std::move(undo)});
  Q_EMIT changed();
}

QString UndoList::latest() const { return m_steps.empty() ? QString() : m_steps.back().what; }

Result<QString> UndoList::undoLatest(store::Garden& garden) {
  if (m_steps.empty()) {
    return fail(ErrorCode::NotFound, "There is nothing to undo.");
  }
  EDAMORI_RETURN_IF_ERROR(m_steps.back().undo(garden));
  const QString what = m_steps.back().what;
  m_steps.pop_back();
  Q_EMIT changed();
  return what;
}

void UndoList::clear() {
  m_steps.clear();
  Q_EMIT changed();
}

}  // namespace edamori::models
