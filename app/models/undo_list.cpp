// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/models/undo_list.h"

#include <utility>

namespace edamori::models {

UndoList::UndoList(QObject* parent) : QObject(parent) {}

void UndoList::push(const QString& what, Change undo, Change redo) {
  m_undone.clear();
  m_steps.push_back({what, std::move(undo), std::move(redo)});
  Q_EMIT changed();
}

QString UndoList::latest() const { return m_steps.empty() ? QString() : m_steps.back().what; }

QString UndoList::latestUndone() const { return m_undone.empty() ? QString() : m_undone.back().what; }

Result<QString> UndoList::undoLatest(store::Garden& garden) {
  if (m_steps.empty()) {
    return fail(ErrorCode::NotFound, "There is nothing to undo.");
  }
  EDAMORI_RETURN_IF_ERROR(m_steps.back().undo(garden));
  Step step = std::move(m_steps.back());
  m_steps.pop_back();
  const QString what = step.what;
  if (step.redo) {
    m_undone.push_back(std::move(step));
  } else {
    m_undone.clear();
  }
  Q_EMIT changed();
  return what;
}

Result<QString> UndoList::redoLatest(store::Garden& garden) {
  if (m_undone.empty()) {
    return fail(ErrorCode::NotFound, "There is nothing to do again.");
  }
  EDAMORI_RETURN_IF_ERROR(m_undone.back().redo(garden));
  m_steps.push_back(std::move(m_undone.back()));
  m_undone.pop_back();
  Q_EMIT changed();
  return m_steps.back().what;
}

void UndoList::forgetUndone() {
  if (canRedo()) {
    m_undone.clear();
    Q_EMIT changed();
  }
}

void UndoList::clear() {
  m_steps.clear();
  m_undone.clear();
  Q_EMIT changed();
}

}  // namespace edamori::models
