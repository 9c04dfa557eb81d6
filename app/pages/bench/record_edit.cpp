// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/record_edit.h"

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
  if (!to) {
    return from ? garden.remove(from->id) : Result<void>{};
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

RecordEdit::RecordEdit(store::Garden& garden, RecordChanges changes, Told told)
    : QUndoCommand(changes.what),
      m_garden(garden),
      m_changes(std::move(changes)),
      m_told(std::move(told)) {}

void RecordEdit::redo() {
  tell(m_garden.inTransaction([this] { return forwards(); }));
}

void RecordEdit::undo() {
  tell(m_garden.inTransaction([this] { return backwards(); }));
}

int RecordEdit::id() const { return m_changes.mergeKey; }

bool RecordEdit::mergeWith(const QUndoCommand* other) {
  const auto* const next = dynamic_cast<const RecordEdit*>(other);
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
  return true;
}

Result<void> RecordEdit::forwards() {
  auto outdated = setOutdatedAside();
  if (!outdated) {
    return outdated.error();
  }
  EDAMORI_RETURN_IF_ERROR(bringForwards(m_garden, m_changes.branches));
  EDAMORI_RETURN_IF_ERROR(bringForwards(m_garden, m_changes.outlines));
  EDAMORI_RETURN_IF_ERROR(bringForwards(m_garden, m_changes.marks));
  EDAMORI_RETURN_IF_ERROR(bringBack(m_outdatedByUndo));
  m_outdatedByUndo.clear();
  m_outdatedByRedo = *std::move(outdated);
  return {};
}

Result<void> RecordEdit::backwards() {
  auto outdated = setOutdatedAside();
  if (!outdated) {
    return outdated.error();
  }
  EDAMORI_RETURN_IF_ERROR(bringBackwards(m_garden, m_changes.marks));
  EDAMORI_RETURN_IF_ERROR(bringBackwards(m_garden, m_changes.outlines));
  EDAMORI_RETURN_IF_ERROR(bringBackwards(m_garden, m_changes.branches));
  EDAMORI_RETURN_IF_ERROR(bringBack(m_outdatedByRedo));
  m_outdatedByRedo.clear();
  m_outdatedByUndo = *std::move(outdated);
  return {};
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

void RecordEdit::tell(const Result<void>& result) {
  if (!result) {
    setObsolete(true);
  }
  m_told(result);
}

}  // namespace edamori::pages
