// SPDX-License-Identifier: GPL-3.0-or-later
// What is written down of a tree.
#pragma once

#include "app/pages/controls.h"
#include "store/records/records.h"

#include <vector>

class QComboBox;
class QLineEdit;
class QPlainTextEdit;

namespace edamori::pages {

// A tree with an empty id is a new one: tree() then carries a new id.
class TreeDialog : public FormDialog {
  Q_OBJECT

 public:
  // `otherTags` may not be given again.
  TreeDialog(const store::Tree& tree,
             const std::vector<store::Owner>& owners,
             QStringList otherTags,
             QWidget* parent);
  [[nodiscard]] store::Tree tree() const;

 protected:
  [[nodiscard]] QString problem() override;

 private:
  void createFields(const std::vector<store::Owner>& owners);

  store::Tree m_tree;
  QStringList m_otherTags;
  QLineEdit* m_tag;
  QLineEdit* m_species;
  QLineEdit* m_cultivar;
  QComboBox* m_owner;
  QLineEdit* m_place;
  QComboBox* m_subject;
  QPlainTextEdit* m_note;
};

}  // namespace edamori::pages
