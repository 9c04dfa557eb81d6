// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/branch_panel.h"

#include "app/look/theme.h"

#include <QAction>
#include <QHeaderView>
#include <QLabel>
#include <QLocale>
#include <QPushButton>
#include <QSignalBlocker>
#include <QTreeWidget>
#include <QVBoxLayout>

namespace edamori::pages {

namespace {
constexpr int kIdRole = Qt::UserRole;
}

QString outlineState(const store::OutlineRecord* outline) {
  if (outline == nullptr) {
    return BranchPanel::tr("none");
  }
  if (!outline->confirmed) {
    return outline->residualPx ? BranchPanel::tr("carried, ±%1 px")
                                     .arg(QLocale::c().toString(*outline->residualPx, 'f', 1))
                               : BranchPanel::tr("likeliest place");
  }
  return outline->carriedFrom ? BranchPanel::tr("carried, confirmed") : BranchPanel::tr("drawn");
}

namespace {

struct Row {
  QWidget* row;
  QLabel* text;
  QPushButton* button;
};

// A line of text with the button that does something about it.
Row addRow(QVBoxLayout& layout, const QAction& action, const QString& title) {
  auto* const row = new QWidget(layout.parentWidget());
  auto* const line = new QHBoxLayout(row);
  line->setContentsMargins(0, 0, 0, 0);
  auto* const text = new QLabel(row);
  text->setWordWrap(true);
  text->setProperty("textRole", QStringLiteral("quiet"));
  auto* const button = new QPushButton(title, row);
  button->setToolTip(action.toolTip());
  line->addWidget(text, 1);
  line->addWidget(button);
  layout.addWidget(row);
  QObject::connect(button, &QPushButton::clicked, &action, &QAction::trigger);
  return {.row = row, .text = text, .button = button};
}

}  // namespace

BranchPanel::BranchPanel(PhotoDesk& desk, const Actions& actions, QWidget* parent)
    : QWidget(parent), m_desk(desk) {
  auto* const layout = new QVBoxLayout(this);
  layout->setContentsMargins(0, 0, 0, 0);
  layout->setSpacing(look::kGrid / 2);
  m_list = new QTreeWidget(this);
  m_list->setObjectName(QStringLiteral("branches"));
  m_list->setAccessibleName(tr("Branches and their outlines on this photo"));
  m_list->setRootIsDecorated(false);
  m_list->setHeaderLabels({tr("Branch"), tr("Outline")});
  m_list->header()->setStretchLastSection(true);
  m_list->header()->resizeSection(0, look::forText(150));
  m_list->setMinimumHeight(look::forText(96));
  layout->addWidget(m_list, 1);

  const Row carried = addRow(*layout, *actions.confirm, tr("Confirm"));
  m_carried = carried.row;
  m_carriedText = carried.text;
  carried.button->setObjectName(QStringLiteral("confirm"));
  carried.button->setAccessibleName(tr("Confirm the carried outline"));
  const Row missing = addRow(*layout, *actions.carry, tr("Carry over"));
  m_missing = missing.row;
  missing.text->setText(tr("Not outlined here yet. Draw it, or look for the outlines of the nearest photo."));
  missing.button->setObjectName(QStringLiteral("carryOver"));
  missing.button->setAccessibleName(tr("Carry outlines over from the nearest photo"));
  connect(actions.carry, &QAction::changed, missing.button, [button = missing.button, carry = actions.carry] {
    button->setEnabled(carry->isEnabled());
  });

  connect(m_list, &QTreeWidget::currentItemChanged, this, &BranchPanel::chooseCurrent);
  connect(&m_desk, &PhotoDesk::recordsChanged, this, &BranchPanel::showRecords);
  connect(&m_desk, &PhotoDesk::choiceChanged, this, &BranchPanel::showChoice);
}

void BranchPanel::showRecords() {
  const QSignalBlocker quiet(m_list);
  m_list->clear();
  for (const auto& branch : m_desk.branches()) {
    auto* const item = new QTreeWidgetItem(m_list);
    const QString name = QString::fromStdString(branch.name);
    item->setText(0, name);
    item->setToolTip(
        0, QStringLiteral("%1 (%2)").arg(name, QString::fromStdString(store::toText(branch.kind))));
    item->setText(1, outlineState(m_desk.outlineOf(branch.id)));
    item->setToolTip(1, item->text(1));
    item->setData(0, kIdRole, QString::fromStdString(branch.id.text));
  }
  showChoice();
}

void BranchPanel::showChoice() {
  const QSignalBlocker quiet(m_list);
  const QString chosen = QString::fromStdString(m_desk.chosenBranch().text);
  for (int i = 0; i < m_list->topLevelItemCount(); ++i) {
    if (m_list->topLevelItem(i)->data(0, kIdRole).toString() == chosen) {
      m_list->setCurrentItem(m_list->topLevelItem(i));
    }
  }
  const auto* const outline = m_desk.outlineOf(m_desk.chosenBranch());
  const bool waits = outline != nullptr && !outline->confirmed;
  m_carried->setVisible(waits);
  m_missing->setVisible(outline == nullptr && m_desk.photosOfTree().size() > 1 &&
                        m_desk.outlines().size() < m_desk.branches().size());
  if (waits && outline->residualPx) {
    m_carriedText->setText(
        tr("Carried over from another photo; nine of ten corners should lie within ±%1 px. Move "
           "those that are off, then confirm.")
            .arg(QLocale::c().toString(*outline->residualPx, 'f', 1)));
  } else if (waits) {
    m_carriedText->setText(
        tr("The likeliest place, but too little of the branch was found again to be sure. Move or "
           "redraw it, then confirm."));
  }
}

void BranchPanel::chooseCurrent() {
  if (const auto* const item = m_list->currentItem()) {
    m_desk.chooseBranch({item->data(0, kIdRole).toString().toStdString()});
  }
}

}  // namespace edamori::pages
