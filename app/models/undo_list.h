// SPDX-License-Identifier: GPL-3.0-or-later
// What can be taken back on the Garden and Tree pages, latest first.
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
  using Undo = std::function<Result<void>(store::Garden&)>;

  explicit UndoList(QObject* parent = nullptr);

  // `what` is what was done, as said to the person: "Photo of 12 Apr 2026 removed".
  void push(const QString& what, Undo undo);
  [[nodiscard]] bool isEmpty() const { return m_steps.empty(); }
  [[nodiscard]] QString latest() const;  // "" when empty
  // Takes back the latest step and returns what it was; a step that fails stays.
  // Errors: NotFound when there is none; those of the store.
  Result<QString> undoLatest(store::Garden& garden);
  void clear();

 Q_SIGNALS:
  void changed();

 private:
  struct Step {
    QString what;
    Undo undo;
  };
  std::vector<Step> m_steps;
};

}  // namespace edamori::models
