// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/garden/tree_dialog.h"

#include "app/models/text.h"

#include <QComboBox>
#include <QFormLayout>
#include <QLineEdit>
#include <QPlainTextEdit>

namespace edamori::pages {

using models::qText;
using models::stdText;

TreeDialog::TreeDialog(const store::Tree& tree,
                       const std::vector<store::Owner>& owners,
                       QStringList otherTags,
                       QWidget* parent)
    : FormDialog(tree.id.isEmpty() ? tr("Add a tree") : tr("Edit %1").arg(qText(tree.tag)),
                 tree.id.isEmpty() ? tr("&Add the tree") : tr("&Save"),
                 parent),
      m_tree(tree),
      m_otherTags(std::move(otherTags)) {
  setObjectName(QStringLiteral("treeDialog"));
  createFields(owners);
}

void TreeDialog::createFields(const std::vector<store::Owner>& owners) {
  m_tag = lineEdit(QStringLiteral("treeTag"), qText(m_tree.tag));
  m_tag->setPlaceholderText(tr("as on the tree's card, e.g. A-07"));
  m_species = lineEdit(QStringLiteral("treeSpecies"), qText(m_tree.species));
  m_species->setPlaceholderText(tr("botanical name"));
  m_cultivar = lineEdit(QStringLiteral("treeCultivar"), qText(m_tree.cultivar));
  m_owner = choice(QStringLiteral("treeOwner"));
  m_owner->addItem(tr("The keeper's own"), QString());
  for (const store::Owner& owner : owners) {
    m_owner->addItem(qText(owner.name), qText(owner.id.text));
  }
  m_owner->setCurrentIndex(std::max(0, m_owner->findData(qText(m_tree.owner.text))));
  m_place = lineEdit(QStringLiteral("treePlace"), qText(m_tree.place));
  m_place->setPlaceholderText(tr("bench or corner of the garden"));
  m_subject = choice(QStringLiteral("treeSubject"));
  m_subject->addItem(tr("Leaves"), static_cast<int>(Subject::Leaf));
  m_subject->addItem(tr("Needles"), static_cast<int>(Subject::Needles));
  m_subject->setCurrentIndex(m_subject->findData(static_cast<int>(m_tree.subject)));
  m_note = textEdit(QStringLiteral("treeNote"), qText(m_tree.note));
  addField(form(), tr("&Tag:"), m_tag);
  addField(form(), tr("S&pecies:"), m_species);
  addField(form(), tr("&Cultivar:"), m_cultivar);
  addField(form(), tr("&Owner:"), m_owner);
  addField(form(), tr("P&lace:"), m_place);
  addField(form(), tr("&Foliage:"), m_subject);
  addField(form(), tr("&Note:"), m_note);
}

store::Tree TreeDialog::tree() const {
  store::Tree tree = m_tree;
  if (tree.id.isEmpty()) {
    tree.id = store::TreeId::create();
  }
  tree.tag = stdText(m_tag->text().trimmed());
  tree.species = stdText(m_species->text().trimmed());
  tree.cultivar = stdText(m_cultivar->text().trimmed());
  tree.owner = store::OwnerId{stdText(m_owner->currentData().toString())};
  tree.place = stdText(m_place->text().trimmed());
  tree.subject = static_cast<Subject>(m_subject->currentData().toInt());
  tree.note = stdText(m_note->toPlainText());
  return tree;
}

QString TreeDialog::problem() {
  const QString tag = m_tag->text().trimmed();
  if (tag.isEmpty()) {
    m_tag->setFocus();
    return tr("Enter the tag that tells this tree from the others.");
  }
  if (m_otherTags.contains(tag)) {
    m_tag->setFocus();
    return tr("Another tree carries the tag %1 already; give this one another.").arg(tag);
  }
  return {};
}

}  // namespace edamori::pages
