// SPDX-License-Identifier: GPL-3.0-or-later
// What can be taken back on the Garden and Tree pages, latest first, and done again after that.
#pragma once

#include "store/garden/garden.h"

#include <QObject>
#include <QString>
#include <functional>
#include <vector>

namespace edamori::models {

class UndoList : public QObject {
  Q_OBJECT

 public:
  using Change = std::function<Result<void>(store::Garden&)>;

  explicit UndoList(QObject* parent = nullptr);

  // `what` is what was done, as said to the person: "Photo of 12 Apr 2026 removed".
  // Without `redo` it cannot be done again once taken back, nor what was taken back before it.
  void push(const QString& what, Change undo, Change redo = {});
  [[nodiscard]] bool isEmpty() const { return m_steps.empty(); }
  [[nodiscard]] QString latest() const;  // "" when empty
  // Takes back the latest step and returns what it was; a step that fails stays.
  // Errors: NotFound when there is none; those of the store.
  Result<QString> undoLatest(store::Garden& garden);
  [[nodiscard]] bool canRedo() const { return !m_undone.empty(); }
  [[nodiscard]] QString latestUndone() const;  // "" when nothing can be done again
  // Does again what was taken back last and returns what it was; a step that fails stays.
  // Errors: NotFound when there is none; those of the store.
  Result<QString> redoLatest(store::Garden& garden);
  // Something else was done: what was taken back before it is not to be done again on top.
  void forgetUndone();
  void clear();

 Q_SIGNALS:
  void changed();

 private:
  struct Step {
    QString what;
    Change undo, redo;
  };
  std::vector<Step> m_steps;
  std::vector<Step> m_undone;  // the one taken back last is last
};

}  // namespace edamori::models
