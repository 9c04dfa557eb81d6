// SPDX-License-Identifier: GPL-3.0-or-later
// What can be done on the Tree page; how it looks is in tree_page.cpp.
#include "app/models/text.h"
#include "app/pages/filing.h"
#include "app/pages/garden/tree_dialog.h"
#include "app/pages/photo_strip.h"
#include "app/pages/tree/letter_dialog.h"
#include "app/pages/tree/record_dialogs.h"
#include "app/pages/tree/tree_page.h"
#include "app/work/learning.h"

#include <QTabWidget>
#include <QTableView>
#include <algorithm>

namespace edamori::pages {

using models::qText;

namespace {

// The record whose row is chosen in the table, or nullptr after having said that there is none.
template <typename Record>
const Record* chosenRecord(const std::vector<Record>& records,
                           const models::RowsModel& model,
                           const QTableView& table,
                           MessageBar& messages,
                           const QString& ask) {
  const std::string id = model.idAt(table.currentIndex());
  const auto at =
      std::ranges::find_if(records, [&id](const Record& record) { return record.id.text == id; });
  if (at == records.end()) {
    messages.sayError(ask);
    return nullptr;
  }
  return &*at;
}

}  // namespace

void TreePage::editTree() {
  if (m_tree.isEmpty()) {
    return;
  }
  const auto owners = m_services.session->garden().owners();
  const auto trees = m_services.session->garden().trees();
  if (!owners || !trees) {
    m_services.messages->sayError(owners ? trees.error() : owners.error());
    return;
  }
  QStringList otherTags;
  for (const store::Tree& tree : *trees) {
    if (tree.id != m_tree) {
      otherTags << qText(tree.tag);
    }
  }
  const store::Tree before = m_detail.summary.tree;
  auto* dialog = new TreeDialog(before, *owners, otherTags, this);
  connect(dialog, &QDialog::accepted, this, [this, dialog, before] {
    replaceWithUndo(
        m_services, before, dialog->tree(), tr("Tree %1 edited").arg(qText(before.tag)));
  });
  dialog->open();
}

void TreePage::removeTree() {
  if (m_tree.isEmpty()) {
    return;
  }
  const store::Tree tree = m_detail.summary.tree;
  removeWithUndo(
      m_services, tree.id, tr("Tree %1 removed, with all its records").arg(qText(tree.tag)));
}

void TreePage::forgetLearned() {
  if (m_tree.isEmpty()) {
    return;
  }
  const QString tag = qText(m_detail.summary.tree.tag);
  if (m_detail.photosThatTaught == 0) {
    m_services.messages->say(tr("Hints have taught nothing about %1 yet.").arg(tag));
    return;
  }
  work::Forgotten forgotten;
  const bool done = write(m_services, {}, [this, &forgotten](store::Garden& garden) -> Result<void> {
    auto result = work::forgetLearned(garden, m_tree);
    if (!result) {
      return result.error();
    }
    forgotten = std::move(*result);
    return {};
  });
  if (done) {
    const QString said =
        tr("Forgot what hints on %1 taught about %2")
            .arg(models::countWords(forgotten.photos, tr("photo"), tr("photos")), tag);
    const auto remember = [forgotten](store::Garden& garden) { return work::rememberAgain(garden, forgotten); };
    const auto forget = [tree = m_tree](store::Garden& garden) -> Result<void> {
      const auto again = work::forgetLearned(garden, tree);
      return again ? Result<void>() : again.error();
    };
    m_services.undo->push(said, remember, forget);
    m_services.messages->offerUndo(said);
  }
}

void TreePage::addBranch() {
  if (m_tree.isEmpty()) {
    return;
  }
  QStringList names;
  store::Branch branch;
  branch.tree = m_tree;
  for (const store::Branch& other : m_detail.branches) {
    names << qText(other.name);
    branch.order = std::max(branch.order, other.order + 1);
  }
  auto* dialog = new BranchDialog(branch, names, this);
  connect(dialog, &QDialog::accepted, this, [this, dialog] {
    const store::Branch added = dialog->branch();
    if (write(m_services,
              tr("Branch %1 added").arg(qText(added.name)),
              [&added](store::Garden& garden) { return garden.put(added); })) {
      m_branches->setCurrentIndex(m_branchModel->indexOf(added.id.text));
    }
  });
  dialog->open();
}

void TreePage::editBranch() {
  const store::Branch* branch = chosenRecord(m_detail.branches,
                                             *m_branchModel,
                                             *m_branches,
                                             *m_services.messages,
                                             tr("Choose a branch in the list first."));
  if (branch == nullptr) {
    return;
  }
  QStringList names;
  for (const store::Branch& other : m_detail.branches) {
    if (other.id != branch->id) {
      names << qText(other.name);
    }
  }
  auto* dialog = new BranchDialog(*branch, names, this);
  connect(dialog, &QDialog::accepted, this, [this, dialog, before = *branch] {
    replaceWithUndo(
        m_services, before, dialog->branch(), tr("Branch %1 edited").arg(qText(before.name)));
  });
  dialog->open();
}

void TreePage::removeBranch() {
  const store::Branch* branch = chosenRecord(m_detail.branches,
                                             *m_branchModel,
                                             *m_branches,
                                             *m_services.messages,
                                             tr("Choose a branch in the list first."));
  if (branch != nullptr) {
    removeWithUndo(
        m_services, store::BranchId(branch->id), tr("Branch %1 removed").arg(qText(branch->name)));
  }
}

void TreePage::moveBranch(int rows) {
  const int from = m_branches->currentIndex().row();
  const int to = from + rows;
  if (from < 0 || to < 0 || to >= static_cast<int>(m_detail.branches.size())) {
    return;
  }
  const std::vector<store::Branch> before = m_detail.branches;
  std::vector<store::Branch> after = before;
  std::swap(after[static_cast<std::size_t>(from)], after[static_cast<std::size_t>(to)]);
  for (std::size_t i = 0; i < after.size(); ++i) {
    after[i].order = static_cast<int>(i);
  }
  const auto putAll = [](std::vector<store::Branch> branches) {
    return [branches = std::move(branches)](store::Garden& garden) {
      return garden.inTransaction([&]() -> Result<void> {
        for (const store::Branch& branch : branches) {
          EDAMORI_RETURN_IF_ERROR(garden.put(branch));
        }
        return {};
      });
    };
  };
  const QString said =
      tr("Branch %1 moved").arg(qText(before[static_cast<std::size_t>(from)].name));
  if (write(m_services, {}, putAll(after))) {
    m_services.undo->push(said, putAll(before), putAll(after));
    m_services.messages->offerUndo(said);
  }
}

const store::Photo* TreePage::chosenPhoto() {
  const store::Photo* photo = m_photoModel->photoAt(m_photos->currentIndex().row());
  if (photo == nullptr) {
    m_services.messages->sayError(m_photoModel->rowCount() == 0
                                      ? tr("This tree has no photo yet; import one first.")
                                      : tr("Choose a photo first."));
  }
  return photo;
}

void TreePage::openPhoto() {
  if (m_tree.isEmpty()) {
    return;
  }
  if (const store::Photo* photo = chosenPhoto()) {
    Q_EMIT photoActivated(photo->id);
  }
}

void TreePage::editPhoto() {
  const store::Photo* photo = m_tree.isEmpty() ? nullptr : chosenPhoto();
  if (photo == nullptr) {
    return;
  }
  const auto trees = m_services.session->garden().trees();
  if (!trees) {
    m_services.messages->sayError(trees.error());
    return;
  }
  auto* dialog = new PhotoDialog(*photo, *trees, this);
  connect(dialog, &QDialog::accepted, this, [this, dialog, before = *photo] {
    const store::Photo after = dialog->photo();
    const QString said = tr("Photo of %1 edited").arg(models::dateWords(before.takenAt.date));
    if (after.tree == before.tree) {
      replaceWithUndo(m_services, before, after, said);
    } else {
      filePhotos(m_services, this, {before}, {after}, said);
    }
  });
  dialog->open();
}

void TreePage::removePhoto() {
  if (m_tree.isEmpty()) {
    return;
  }
  if (const store::Photo* photo = chosenPhoto()) {
    removeWithUndo(m_services,
                   store::PhotoId(photo->id),
                   tr("Photo of %1 removed").arg(models::dateWords(photo->takenAt.date)));
  }
}

void TreePage::addTreatment() {
  if (m_tree.isEmpty()) {
    return;
  }
  store::Treatment treatment;
  treatment.tree = m_tree;
  treatment.place = m_detail.summary.tree.place;
  auto* dialog = new TreatmentDialog(treatment, m_detail.branches, this);
  connect(dialog, &QDialog::accepted, this, [this, dialog] {
    const store::Treatment added = dialog->treatment();
    write(m_services,
          tr("Treatment added. Plan a check under “Checks” to see whether it worked."),
          [&added](store::Garden& garden) { return garden.put(added); });
  });
  m_sections->setCurrentWidget(m_treatments.table->parentWidget());
  dialog->open();
}

void TreePage::editTreatment() {
  const store::Treatment* treatment = chosenRecord(m_detail.treatments,
                                                   *m_treatments.model,
                                                   *m_treatments.table,
                                                   *m_services.messages,
                                                   tr("Choose a treatment in the list first."));
  if (treatment == nullptr) {
    return;
  }
  auto* dialog = new TreatmentDialog(*treatment, m_detail.branches, this);
  connect(dialog, &QDialog::accepted, this, [this, dialog, before = *treatment] {
    replaceWithUndo(m_services, before, dialog->treatment(), tr("Treatment edited"));
  });
  dialog->open();
}

void TreePage::removeTreatment() {
  const store::Treatment* treatment = chosenRecord(m_detail.treatments,
                                                   *m_treatments.model,
                                                   *m_treatments.table,
                                                   *m_services.messages,
                                                   tr("Choose a treatment in the list first."));
  if (treatment != nullptr) {
    removeWithUndo(m_services,
                   store::TreatmentId(treatment->id),
                   tr("Treatment of %1 removed").arg(models::dateWords(treatment->doneAt.date)));
  }
}

void TreePage::addRecheck() {
  if (m_tree.isEmpty()) {
    return;
  }
  store::Recheck recheck;
  recheck.tree = m_tree;
  auto* dialog = new RecheckDialog(recheck, m_detail.branches, this);
  connect(dialog, &QDialog::accepted, this, [this, dialog] {
    const store::Recheck added = dialog->recheck();
    write(m_services,
          tr("Check planned for %1").arg(models::dateWords(added.due)),
          [&added](store::Garden& garden) { return garden.put(added); });
  });
  m_sections->setCurrentWidget(m_rechecks.table->parentWidget());
  dialog->open();
}

void TreePage::markRecheckDone() {
  const store::Recheck* recheck = chosenRecord(m_detail.rechecks,
                                               *m_rechecks.model,
                                               *m_rechecks.table,
                                               *m_services.messages,
                                               tr("Choose a check in the list first."));
  if (recheck == nullptr) {
    return;
  }
  store::Recheck after = *recheck;
  after.doneAt = store::now();
  replaceWithUndo(m_services,
                  store::Recheck(*recheck),
                  after,
                  tr("Check of %1 marked as done").arg(models::dateWords(after.due)));
}

void TreePage::removeRecheck() {
  const store::Recheck* recheck = chosenRecord(m_detail.rechecks,
                                               *m_rechecks.model,
                                               *m_rechecks.table,
                                               *m_services.messages,
                                               tr("Choose a check in the list first."));
  if (recheck != nullptr) {
    removeWithUndo(m_services,
                   store::RecheckId(recheck->id),
                   tr("Check of %1 removed").arg(models::dateWords(recheck->due)));
  }
}

void TreePage::addNote() {
  if (m_tree.isEmpty()) {
    return;
  }
  store::Note note;
  note.tree = m_tree;
  auto* dialog = new NoteDialog(note, this);
  connect(dialog, &QDialog::accepted, this, [this, dialog] {
    const store::Note added = dialog->note();
    write(m_services, tr("Note added"), [&added](store::Garden& garden) {
      return garden.put(added);
    });
  });
  m_sections->setCurrentWidget(m_notes.table->parentWidget());
  dialog->open();
}

void TreePage::editNote() {
  const store::Note* note = chosenRecord(m_detail.notes,
                                         *m_notes.model,
                                         *m_notes.table,
                                         *m_services.messages,
                                         tr("Choose a note first."));
  if (note == nullptr) {
    return;
  }
  auto* dialog = new NoteDialog(*note, this);
  connect(dialog, &QDialog::accepted, this, [this, dialog, before = *note] {
    replaceWithUndo(m_services, before, dialog->note(), tr("Note edited"));
  });
  dialog->open();
}

void TreePage::removeNote() {
  const store::Note* note = chosenRecord(m_detail.notes,
                                         *m_notes.model,
                                         *m_notes.table,
                                         *m_services.messages,
                                         tr("Choose a note first."));
  if (note != nullptr) {
    removeWithUndo(m_services, store::NoteId(note->id), tr("Note removed"));
  }
}

void TreePage::compare() {
  if (m_tree.isEmpty()) {
    return;
  }
  const store::Photo* chosen = m_photoModel->photoAt(m_photos->currentIndex().row());
  const bool isNewest = chosen != nullptr && chosen->id == m_detail.photos.back().id;
  Q_EMIT pairRequested(chosen == nullptr || isNewest ? store::PhotoId{} : chosen->id);
}

void TreePage::writeLetter() {
  if (!m_tree.isEmpty()) {
    (new LetterDialog(m_services, m_detail, this))->open();
  }
}

}  // namespace edamori::pages
