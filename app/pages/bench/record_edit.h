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
  std::vector<Change<store::Ruler>> rulers{};
  std::vector<Change<store::HintStroke>> hints{};
  std::vector<Change<store::RejectedCandidate>> rejected{};
  // Steps with the same key (≥ 0) in a row become one, e.g. moves by the arrow keys.
  int mergeKey = -1;
  [[nodiscard]] bool isEmpty() const {
    return branches.empty() && outlines.empty() && marks.empty() && rulers.empty() &&
           hints.empty() && rejected.empty();
  }
};

// An undo command over records. Each redo and undo is one durable transaction, which also keeps the
// step itself in the garden, so that it can be taken back after a restart.
//
// A record that is no longer as the step left it (another program, another page) is not
// overwritten: the step is refused with InvalidArgument.
//
// Figures belong to the shape they were measured on: when a step changes the shape of an outline,
// its measurements go to the bin with the step, and come back when it is undone.
//
// `told` hears how each redo and undo ended. After a failure the garden is as it was before. A new
// step that cannot be stored, and one that can never be taken back, become obsolete, so that the
// stack forgets them. When the garden is only busy or full just now, the stack has moved all the
// same: its owner moves it back, which then does nothing to the garden.
class RecordEdit : public QUndoCommand {
 public:
  using Told = std::function<void(const Result<void>&)>;
  // A step to be made now, the `number`th of its photo. `garden` must outlive the command.
  RecordEdit(store::Garden& garden,
             const store::PhotoId& photo,
             int number,
             RecordChanges changes,
             Told told);
  // A step that was made before and is kept in the garden: its first redo() does nothing, and its
  // next undo() neither when it was undone then.
  RecordEdit(store::Garden& garden, store::WorkStep kept, Told told);

  void redo() override;
  void undo() override;
  [[nodiscard]] int id() const override;
  bool mergeWith(const QUndoCommand* other) override;
  [[nodiscard]] int number() const { return m_step.number; }

 private:
  enum class Due { Nothing, SkipRedo, SkipUndo };

  void run(Result<void> (RecordEdit::*way)(), Due back);
  Result<void> forwards();
  Result<void> backwards();
  Result<void> readKept();
  Result<void> keep();
  Result<std::vector<store::MeasurementId>> setOutdatedAside() const;
  Result<void> bringBack(const std::vector<store::MeasurementId>& aside) const;

  store::Garden& m_garden;
  store::WorkStep m_step;  // `changes` is empty once it has been read
  RecordChanges m_changes;
  Told m_told;
  std::vector<store::MeasurementId> m_outdatedByRedo, m_outdatedByUndo;
  Due m_due = Due::Nothing;
  bool m_isKept = false;
};

}  // namespace edamori::pages
