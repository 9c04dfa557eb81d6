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
                               : BranchPanel::tr("carried");
  }
  return outline->carriedFrom ? BranchPanel::tr("carried, confirmed") : BranchPanel::tr("drawn");
}

BranchPanel::BranchPanel(PhotoDesk& desk, QAction* confirm, QWidget* parent)
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
  m_list->header()->resizeSection(0, 150);
  m_list->setMinimumHeight(96);
  layout->addWidget(m_list, 1);

  m_carried = new QWidget(this);
  auto* const row = new QHBoxLayout(m_carried);
  row->setContentsMargins(0, 0, 0, 0);
  m_carriedText = new QLabel(m_carried);
  m_carriedText->setWordWrap(true);
  m_carriedText->setProperty("textRole", QStringLiteral("quiet"));
  auto* const button = new QPushButton(tr("Confirm"), m_carried);
  button->setObjectName(QStringLiteral("confirm"));
  button->setToolTip(confirm->toolTip());
  button->setAccessibleName(tr("Confirm the carried outline"));
  row->addWidget(m_carriedText, 1);
  row->addWidget(button);
  layout->addWidget(m_carried);

  connect(button, &QPushButton::clicked, confirm, &QAction::trigger);
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
  if (waits) {
    m_carriedText->setText(
        tr("Carried over from an earlier photo%1. Move corners that are off, then confirm.")
            .arg(outline->residualPx ? tr(", aligned to ±%1 px")
                                           .arg(QLocale::c().toString(*outline->residualPx, 'f', 1))
                                     : QString()));
  }
}

void BranchPanel::chooseCurrent() {
  if (const auto* const item = m_list->currentItem()) {
    m_desk.chooseBranch({item->data(0, kIdRole).toString().toStdString()});
  }
}

}  // namespace edamori::pages
