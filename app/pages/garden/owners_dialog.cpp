// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/garden/owners_dialog.h"

#include "app/look/theme.h"
#include "app/models/text.h"
#include "app/pages/controls.h"

#include <QFormLayout>
#include <QHBoxLayout>
#include <QItemSelectionModel>
#include <QLabel>
#include <QLineEdit>
#include <QPlainTextEdit>
#include <QPushButton>
#include <QTableView>
#include <QVBoxLayout>

namespace edamori::pages {

using models::qText;
using models::stdText;

OwnersDialog::OwnersDialog(PageServices services, QWidget* parent)
    : QDialog(parent),
      m_services(services),
      m_model(new models::RowsModel({tr("Name"), tr("Contact"), tr("Trees")}, this)),
      m_list(rowTable(QStringLiteral("ownerList"), tr("Owners"), m_model)),
      m_name(lineEdit(QStringLiteral("ownerName"), {})),
      m_contact(lineEdit(QStringLiteral("ownerContact"), {})),
      m_note(textEdit(QStringLiteral("ownerNote"), {})),
      m_new(button(tr("Ne&w owner"), QStringLiteral("ownerNew"), ButtonRole::Plain)),
      m_save(button(tr("&Save owner"), QStringLiteral("ownerSave"), ButtonRole::Primary)),
      m_remove(button(tr("&Remove"), QStringLiteral("ownerRemove"), ButtonRole::Plain)),
      m_undo(button(tr("&Undo"), QStringLiteral("ownerUndo"), ButtonRole::Plain)),
      m_problem(label({}, QStringLiteral("bad"))) {
  setObjectName(QStringLiteral("ownersDialog"));
  setAttribute(Qt::WA_DeleteOnClose);
  setWindowTitle(tr("Owners"));
  resize(dialogWidth(620), 520);
  createLayout();
  connect(m_list->selectionModel(),
          &QItemSelectionModel::currentRowChanged,
          this,
          &OwnersDialog::showChosen);
  connect(m_new, &QPushButton::clicked, this, &OwnersDialog::startNew);
  connect(m_save, &QPushButton::clicked, this, &OwnersDialog::save);
  connect(m_remove, &QPushButton::clicked, this, &OwnersDialog::removeChosen);
  connect(m_undo, &QPushButton::clicked, this, &OwnersDialog::undo);
  reload({});
  startNew();
}

void OwnersDialog::createLayout() {
  auto* all = new QVBoxLayout(this);
  all->setContentsMargins(look::kGrid * 2, look::kGrid * 2, look::kGrid * 2, look::kGrid * 2);
  all->setSpacing(look::kGrid * 1);
  auto* form = new QFormLayout;
  form->setFieldGrowthPolicy(QFormLayout::AllNonFixedFieldsGrow);
  addField(form, tr("&Name:"), m_name);
  addField(form, tr("&Contact:"), m_contact);
  addField(form, tr("N&ote:"), m_note);
  m_contact->setPlaceholderText(tr("address, telephone, e-mail"));
  m_problem->setVisible(false);
  m_problem->setObjectName(QStringLiteral("ownerProblem"));
  m_save->setDefault(true);
  auto* close = button(tr("C&lose"), QStringLiteral("ownersClose"), ButtonRole::Plain);
  connect(close, &QPushButton::clicked, this, &QDialog::accept);
  auto* buttons = new QHBoxLayout;
  for (QPushButton* each : {m_new, m_save, m_remove, m_undo}) {
    buttons->addWidget(each);
  }
  buttons->addStretch(1);
  buttons->addWidget(close);
  all->addWidget(m_list, 1);
  all->addLayout(form);
  all->addWidget(m_problem);
  all->addLayout(buttons);
}

void OwnersDialog::reload(const std::string& choose) {
  const store::Garden& garden = m_services.session->garden();
  const auto owners = garden.owners();
  const auto trees = garden.trees();
  std::vector<models::WordRow> rows;
  if (owners && trees) {
    for (const store::Owner& owner : *owners) {
      QStringList tags;
      for (const store::Tree& tree : *trees) {
        if (tree.owner == owner.id) {
          tags << qText(tree.tag);
        }
      }
      rows.push_back({owner.id.text,
                      {qText(owner.name), qText(owner.contact), tags.join(QStringLiteral(", "))},
                      qText(owner.note)});
    }
  }
  m_model->setRows(std::move(rows));
  m_undo->setEnabled(!m_services.undo->isEmpty());
  if (const QModelIndex index = m_model->indexOf(choose); index.isValid()) {
    m_list->setCurrentIndex(index);
  }
  showChosen();
}

void OwnersDialog::showChosen() {
  const store::OwnerId id{m_model->idAt(m_list->currentIndex())};
  const auto owner = m_services.session->garden().find(id);
  m_chosen = owner && *owner ? **owner : store::Owner{};
  m_name->setText(qText(m_chosen.name));
  m_contact->setText(qText(m_chosen.contact));
  m_note->setPlainText(qText(m_chosen.note));
  m_remove->setEnabled(!m_chosen.id.isEmpty());
  m_problem->setVisible(false);
}

void OwnersDialog::startNew() {
  m_list->selectionModel()->clear();
  showChosen();
  m_name->setFocus();
}

void OwnersDialog::save() {
  if (m_name->text().trimmed().isEmpty()) {
    m_problem->setText(tr("Enter the owner's name."));
    m_problem->setVisible(true);
    m_name->setFocus();
    return;
  }
  const store::Owner before = m_chosen;
  store::Owner owner = before;
  if (owner.id.isEmpty()) {
    owner.id = store::OwnerId::create();
  }
  owner.name = stdText(m_name->text().trimmed());
  owner.contact = stdText(m_contact->text().trimmed());
  owner.note = stdText(m_note->toPlainText());
  const auto put = [&owner](store::Garden& garden) { return garden.put(owner); };
  const bool isSaved =
      before.id.isEmpty()
          ? write(m_services, tr("Owner %1 added").arg(qText(owner.name)), put)
          : replaceWithUndo(
                m_services, before, owner, tr("Owner %1 edited").arg(qText(owner.name)));
  if (isSaved) {
    reload(owner.id.text);
  } else {
    m_problem->setText(m_services.messages->text());
    m_problem->setVisible(true);
  }
}

void OwnersDialog::removeChosen() {
  if (!m_chosen.id.isEmpty() &&
      removeWithUndo(m_services, m_chosen.id, tr("Owner %1 removed").arg(qText(m_chosen.name)))) {
    reload({});
    startNew();
  }
}

void OwnersDialog::undo() {
  const std::string kept = m_chosen.id.text;
  const auto undone = m_services.undo->undoLatest(m_services.session->garden());
  if (undone) {
    m_services.session->announceChange();
    m_services.messages->say(tr("Taken back: %1").arg(*undone));
  } else {
    m_services.messages->sayError(undone.error());
  }
  reload(kept);
}

}  // namespace edamori::pages
