// SPDX-License-Identifier: GPL-3.0-or-later
// One step of work on the Bench: records before and after, stored as it is made, undone and redone.
#pragma once

#include "store/garden/garden.h"

#include <QString>
#include <QUndoCommand>
#include <functional>
#include <optional>
#include <vector>

namespace edamori::pages {

// A record before and after a step: without `before` it is new, without `after` it goes to the bin.
template <typename Record>
struct Change {
  std::optional<Record> before, after;
};

struct RecordChanges {
  QString what;  // "Set dot": the text of the undo action
  std::vector<Change<store::Branch>> branches{};
  std::vector<Change<store::OutlineRecord>> outlines{};
  std::vector<Change<store::Mark>> marks{};
  // Steps with the same key (≥ 0) in a row become one, e.g. moves by the arrow keys.
  int mergeKey = -1;
  [[nodiscard]] bool isEmpty() const {
    return branches.empty() && outlines.empty() && marks.empty();
  }
};

// An undo command over records. Each redo and undo is one durable transaction.
//
// Figures belong to the shape they were measured on: when a step changes the shape of an outline,
// its measurements go to the bin with the step, and come back when it is undone.
//
// `told` hears how each redo and undo ended. A step that cannot be stored (disk full, garden
// locked) becomes obsolete, so that the stack forgets it; the garden is then as it was before.
class RecordEdit : public QUndoCommand {
 public:
  using Told = std::function<void(const Result<void>&)>;
  // `garden` must outlive the command.
  RecordEdit(store::Garden& garden, RecordChanges changes, Told told);

  void redo() override;
  void undo() override;
  [[nodiscard]] int id() const override;
  bool mergeWith(const QUndoCommand* other) override;

 private:
  Result<void> forwards();
  Result<void> backwards();
  Result<std::vector<store::MeasurementId>> setOutdatedAside() const;
  Result<void> bringBack(const std::vector<store::MeasurementId>& aside) const;
  void tell(const Result<void>& result);

  store::Garden& m_garden;
  RecordChanges m_changes;
  Told m_told;
  std::vector<store::MeasurementId> m_outdatedByRedo, m_outdatedByUndo;
};

}  // namespace edamori::pages
