// SPDX-License-Identifier: GPL-3.0-or-later
// Forms for what hangs on a tree: branch, photo, treatment, recheck, note.
#pragma once

#include "app/pages/controls.h"
#include "store/records/records.h"

#include <vector>

class QComboBox;
class QDateEdit;
class QFrame;
class QLineEdit;
class QPlainTextEdit;

namespace edamori::pages {

// In every form: a record with an empty id is new and gets its id when it is taken.

class BranchDialog : public FormDialog {
  Q_OBJECT

 public:
  BranchDialog(const store::Branch& branch, QStringList otherNames, QWidget* parent);
  [[nodiscard]] store::Branch branch() const;

 protected:
  [[nodiscard]] QString problem() override;

 private:
  store::Branch m_branch;
  QStringList m_otherNames;
  QLineEdit* m_name;
  QComboBox* m_kind;
};

// Date, view and note of a photo. A changed date counts as edited by hand.
class PhotoDialog : public FormDialog {
  Q_OBJECT

 public:
  PhotoDialog(const store::Photo& photo, const std::vector<store::Tree>& trees, QWidget* parent);
  [[nodiscard]] store::Photo photo() const;

 private:
  store::Photo m_photo;
  QDateEdit* m_date;
  QComboBox* m_view;
  QComboBox* m_tree;
  QPlainTextEdit* m_note;
};

// The fields of a treatment record; those of a spray appear for a spray, with the usual cautions.
class TreatmentDialog : public FormDialog {
  Q_OBJECT

 public:
  TreatmentDialog(const store::Treatment& treatment,
                  const std::vector<store::Branch>& branches,
                  QWidget* parent);
  [[nodiscard]] store::Treatment treatment() const;

 protected:
  [[nodiscard]] QString problem() override;

 private:
  void createFields(const std::vector<store::Branch>& branches);
  void createSprayFields();
  void showKind();
  [[nodiscard]] store::TreatmentKind kind() const;

  store::Treatment m_treatment;
  QComboBox* m_kind;
  QDateEdit* m_date;
  QComboBox* m_branch;
  QLineEdit* m_who;
  QWidget* m_spray;
  QWidget* m_notice = nullptr;
  QLineEdit* m_product;
  QLineEdit* m_registration;
  QLineEdit* m_amount;
  QLineEdit* m_dose;
  QLineEdit* m_area;
  QLineEdit* m_place;
  QLineEdit* m_certificate;
  QLineEdit* m_reentry;
  QPlainTextEdit* m_note;
};

class RecheckDialog : public FormDialog {
  Q_OBJECT

 public:
  RecheckDialog(const store::Recheck& recheck,
                const std::vector<store::Branch>& branches,
                QWidget* parent);
  [[nodiscard]] store::Recheck recheck() const;

 protected:
  [[nodiscard]] QString problem() override;

 private:
  store::Recheck m_recheck;
  QDateEdit* m_due;
  QComboBox* m_branch;
  QLineEdit* m_reason;
};

class NoteDialog : public FormDialog {
  Q_OBJECT

 public:
  NoteDialog(const store::Note& note, QWidget* parent);
  [[nodiscard]] store::Note note() const;

 protected:
  [[nodiscard]] QString problem() override;

 private:
  store::Note m_note;
  QPlainTextEdit* m_text;
};

}  // namespace edamori::pages
