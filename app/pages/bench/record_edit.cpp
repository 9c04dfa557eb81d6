// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/record_edit.h"

#include "app/pages/bench/record_json.h"

#include <algorithm>
#include <ranges>
#include <utility>

namespace edamori::pages {

namespace {

// Brings one record from a state to another. A record that was here before lies in the bin: it
// is taken out, so that what hangs on it comes back too, and then set to the wanted values.
template <typename Record>
Result<void> bring(store::Garden& garden,
                   const std::optional<Record>& from,
                   const std::optional<Record>& to) {
  const auto present = garden.find(from ? from->id : to->id);
  if (!present) {
    return present.error();
  }
  if (*present != from) {
    return fail(ErrorCode::InvalidArgument,
                "this has been changed elsewhere since; look at it again before you change it");
  }
  if (!to) {
    return garden.remove(from->id);
  }
  if (!from) {
    // Not in the bin: the first time.
    (void)garden.restore(to->id).has_value();
  }
  return garden.put(*to);
}

template <typename Record>
Result<void> bringForwards(store::Garden& garden, const std::vector<Change<Record>>& changes) {
  for (const auto& change : changes) {
    EDAMORI_RETURN_IF_ERROR(bring(garden, change.before, change.after));
  }
  return {};
}

template <typename Record>
Result<void> bringBackwards(store::Garden& garden, const std::vector<Change<Record>>& changes) {
  for (const auto& change : std::views::reverse(changes)) {
    EDAMORI_RETURN_IF_ERROR(bring(garden, change.after, change.before));
  }
  return {};
}

bool changesShape(const Change<store::OutlineRecord>& change) {
  return change.before && change.after && change.before->shape != change.after->shape;
}

template <typename Record>
bool sameRecords(const std::vector<Change<Record>>& a, const std::vector<Change<Record>>& b) {
  return std::ranges::equal(a, b, [](const Change<Record>& x, const Change<Record>& y) {
    return x.before && x.after && y.before && y.after && x.after->id == y.after->id;
  });
}

}  // namespace

RecordEdit::RecordEdit(store::Garden& garden,
                       const store::PhotoId& photo,
                       int number,
                       RecordChanges changes,
                       Told told)
    : QUndoCommand(changes.what),
      m_garden(garden),
      m_step{.photo = photo,
             .number = number,
             .what = changes.what.toStdString(),
             .isDone = true,
             .changes = {}},
      m_changes(std::move(changes)),
      m_told(std::move(told)) {}

RecordEdit::RecordEdit(store::Garden& garden, store::WorkStep kept, Told told)
    : QUndoCommand(QString::fromStdString(kept.what)),
      m_garden(garden),
      m_step(std::move(kept)),
      m_told(std::move(told)),
      m_due(Due::SkipRedo),
      m_isKept(true) {}

void RecordEdit::redo() {
  if (m_due == Due::SkipRedo) {
    m_due = m_step.isDone ? Due::Nothing : Due::SkipUndo;
    return;
  }
  run(&RecordEdit::forwards, Due::SkipUndo);
}

void RecordEdit::undo() {
  if (std::exchange(m_due, Due::Nothing) == Due::SkipUndo) {
    return;
  }
  run(&RecordEdit::backwards, Due::SkipRedo);
}

// `back` is how the stack gets back to where it was when the garden is busy or full just now.
void RecordEdit::run(Result<void> (RecordEdit::*way)(), Due back) {
  const auto redoneAside = m_outdatedByRedo;
  const auto undoneAside = m_outdatedByUndo;
  const bool wasDone = m_step.isDone;
  const auto result = m_garden.inTransaction([this, way] { return (this->*way)(); });
  if (!result) {
    m_outdatedByRedo = redoneAside;
    m_outdatedByUndo = undoneAside;
    m_step.isDone = wasDone;
    const bool canBeTriedAgain =
        m_isKept && result.error().code != ErrorCode::InvalidArgument;
    if (canBeTriedAgain) {
      m_due = back;
    } else {
      setObsolete(true);
    }
  }
  m_isKept = m_isKept || result.has_value();
  m_told(result);
}

// Read only when it is needed: a photo may have thousands of steps.
Result<void> RecordEdit::readKept() {
  if (m_step.changes.empty()) {
    return {};
  }
  auto kept = stepFromJson(m_step.changes);
  if (!kept) {
    return kept.error();
  }
  m_changes = std::move(kept->changes);
  m_outdatedByRedo = std::move(kept->outdatedByRedo);
  m_outdatedByUndo = std::move(kept->outdatedByUndo);
  m_step.changes.clear();
  return {};
}

Result<void> RecordEdit::keep() {
  store::WorkStep written = m_step;
  written.changes = toJson({.changes = m_changes,
                            .outdatedByRedo = m_outdatedByRedo,
                            .outdatedByUndo = m_outdatedByUndo});
  if (m_isKept) {
    return m_garden.updateWorkStep(written);
  }
  return m_garden.putWorkStep(written);
}

int RecordEdit::id() const { return m_changes.mergeKey; }

bool RecordEdit::mergeWith(const QUndoCommand* other) {
  const auto* const next = dynamic_cast<const RecordEdit*>(other);
  // A kept step has no key, so that its changes have been read whenever it is asked.
  if (next == nullptr || !sameRecords(m_changes.marks, next->m_changes.marks) ||
      !sameRecords(m_changes.outlines, next->m_changes.outlines)) {
    return false;
  }
  for (std::size_t i = 0; i < m_changes.marks.size(); ++i) {
    m_changes.marks[i].after = next->m_changes.marks[i].after;
  }
  for (std::size_t i = 0; i < m_changes.outlines.size(); ++i) {
    m_changes.outlines[i].after = next->m_changes.outlines[i].after;
  }
  m_outdatedByRedo.insert(
      m_outdatedByRedo.end(), next->m_outdatedByRedo.begin(), next->m_outdatedByRedo.end());
  // One step in place of both. When it cannot be kept, the garden still has the two.
  m_isKept = false;
  m_isKept = keep().has_value();
  return true;
}

Result<void> RecordEdit::forwards() {
  EDAMORI_RETURN_IF_ERROR(readKept());
  auto outdated = setOutdatedAside();
  if (!outdated) {
    return outdated.error();
  }
  EDAMORI_RETURN_IF_ERROR(bringForwards(m_garden, m_changes.branches));
  EDAMORI_RETURN_IF_ERROR(bringForwards(m_garden, m_changes.outlines));
  EDAMORI_RETURN_IF_ERROR(bringForwards(m_garden, m_changes.marks));
  EDAMORI_RETURN_IF_ERROR(bringForwards(m_garden, m_changes.rulers));
  EDAMORI_RETURN_IF_ERROR(bringForwards(m_garden, m_changes.hints));
  EDAMORI_RETURN_IF_ERROR(bringForwards(m_garden, m_changes.rejected));
  EDAMORI_RETURN_IF_ERROR(bringBack(m_outdatedByUndo));
  m_outdatedByUndo.clear();
  m_outdatedByRedo = *std::move(outdated);
  m_step.isDone = true;
  EDAMORI_RETURN_IF_ERROR(keep());
  return {};
}

Result<void> RecordEdit::backwards() {
  EDAMORI_RETURN_IF_ERROR(readKept());
  auto outdated = setOutdatedAside();
  if (!outdated) {
    return outdated.error();
  }
  EDAMORI_RETURN_IF_ERROR(bringBackwards(m_garden, m_changes.rejected));
  EDAMORI_RETURN_IF_ERROR(bringBackwards(m_garden, m_changes.hints));
  EDAMORI_RETURN_IF_ERROR(bringBackwards(m_garden, m_changes.rulers));
  EDAMORI_RETURN_IF_ERROR(bringBackwards(m_garden, m_changes.marks));
  EDAMORI_RETURN_IF_ERROR(bringBackwards(m_garden, m_changes.outlines));
  EDAMORI_RETURN_IF_ERROR(bringBackwards(m_garden, m_changes.branches));
  EDAMORI_RETURN_IF_ERROR(bringBack(m_outdatedByRedo));
  m_outdatedByRedo.clear();
  m_outdatedByUndo = *std::move(outdated);
  m_step.isDone = false;
  return keep();
}

Result<std::vector<store::MeasurementId>> RecordEdit::setOutdatedAside() const {
  std::vector<store::MeasurementId> aside;
  for (const auto& change : m_changes.outlines) {
    if (!changesShape(change)) {
      continue;
    }
    const auto measurements = m_garden.measurements(change.after->photo);
    if (!measurements) {
      return measurements.error();
    }
    for (const auto& measurement : *measurements) {
      if (measurement.outline == change.after->id) {
        EDAMORI_RETURN_IF_ERROR(m_garden.remove(measurement.id));
        aside.push_back(measurement.id);
      }
    }
  }
  return aside;
}

Result<void> RecordEdit::bringBack(const std::vector<store::MeasurementId>& aside) const {
  for (const auto& id : aside) {
    EDAMORI_RETURN_IF_ERROR(m_garden.restore(id));
  }
  return {};
}

}  // namespace edamori::pages
