// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/marks_list.h"

#include "app/look/theme.h"
#include "app/pages/bench/mark_panel.h"
#include "app/work/mark_counts.h"

#include <QHeaderView>
#include <QSignalBlocker>

namespace edamori::pages {

namespace {
constexpr int kIdRole = Qt::UserRole;

store::MarkId idOf(const QTreeWidgetItem& item) {
  return {item.data(0, kIdRole).toString().toStdString()};
}
}  // namespace

MarksList::MarksList(PhotoDesk& desk, QWidget* parent) : QTreeWidget(parent), m_desk(desk) {
  setObjectName(QStringLiteral("marks"));
  setAccessibleName(tr("Marks on this photo"));
  setRootIsDecorated(false);
  setUniformRowHeights(true);
  setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  setSelectionMode(ExtendedSelection);
  setHeaderLabels({tr("Finding"), tr("Stage"), tr("Count"), tr("Branch")});
  header()->setStretchLastSection(true);
  header()->resizeSection(0, look::forText(132));
  header()->resizeSection(1, look::forText(84));
  header()->resizeSection(2, look::forText(60));
  connect(this, &QTreeWidget::itemSelectionChanged, this, &MarksList::chooseSelected);
  connect(&m_desk, &PhotoDesk::recordsChanged, this, &MarksList::showRecords);
  connect(&m_desk, &PhotoDesk::choiceChanged, this, &MarksList::showChoice);
}

void MarksList::showRecords() {
  const QSignalBlocker quiet(this);
  clear();
  for (const auto& mark : m_desk.marks()) {
    auto* const item = new QTreeWidgetItem(this);
    item->setIcon(0, look::findingIcon(mark.finding));
    item->setText(0, look::findingName(mark.finding));
    item->setText(1, stageName(mark.stage));
    item->setText(2, work::isPlainPatch(mark) ? tr("patch") : QString::number(mark.count));
    const QString branch = m_desk.branchName(mark.branch);
    item->setText(3, branch.isEmpty() ? tr("on none") : branch);
    item->setToolTip(3, item->text(3));
    const QString note = QString::fromStdString(mark.note);
    const QString kind =
        mark.kind == store::MarkKind::Dot ? tr("Dot at %1, %2") : tr("Patch around %1, %2");
    item->setToolTip(0,
                     kind.arg(mark.centre.x, 0, 'f', 0).arg(mark.centre.y, 0, 'f', 0) +
                         (note.isEmpty() ? note : QStringLiteral("\n") + note));
    item->setData(0, kIdRole, QString::fromStdString(mark.id.text));
  }
  showChoice();
}

void MarksList::showChoice() {
  const QSignalBlocker quiet(this);
  for (int i = 0; i < topLevelItemCount(); ++i) {
    auto* const item = topLevelItem(i);
    const bool isChosen = m_desk.chosenMarks().contains(idOf(*item));
    if (item->isSelected() != isChosen) {
      item->setSelected(isChosen);
    }
    if (isChosen && m_desk.chosenMarks().size() == 1 && !hasFocus()) {
      scrollToItem(item);
    }
  }
  viewport()->update();
}

void MarksList::chooseSelected() {
  std::set<store::MarkId> chosen;
  for (const auto* const item : selectedItems()) {
    chosen.insert(idOf(*item));
  }
  m_desk.chooseMarks(chosen);
  if (chosen.size() == 1) {
    if (const auto* const mark = m_desk.findMark(*chosen.begin())) {
      Q_EMIT showWanted(mark->centre);
    }
  }
}

}  // namespace edamori::pages
