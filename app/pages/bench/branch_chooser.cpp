// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/branch_chooser.h"

#include "app/look/theme.h"
#include "app/pages/wrap_layout.h"

#include <QComboBox>
#include <QKeyEvent>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <array>

namespace edamori::pages {

namespace {
constexpr std::array kKinds{store::BranchKind::Branch,
                            store::BranchKind::Apex,
                            store::BranchKind::TrunkLine,
                            store::BranchKind::Fork,
                            store::BranchKind::SurfaceRoots};
}

BranchChooser::BranchChooser(PhotoDesk& desk, QWidget* parent) : QFrame(parent), m_desk(desk) {
  setObjectName(QStringLiteral("branchChooser"));
  setProperty("role", QStringLiteral("raised"));
  // It lies over the photo, whose tools must not see its clicks.
  setAttribute(Qt::WA_NoMousePropagation);
  setCursor(Qt::ArrowCursor);
  createFields();
  hide();
}

void BranchChooser::createFields() {
  auto* const row = new WrapLayout(this);
  row->setSpacing(look::kGrid);
  auto* const question = new QLabel(tr("Outline &of"), this);
  m_branch = new QComboBox(this);
  m_branch->setObjectName(QStringLiteral("outlineBranch"));
  m_branch->setAccessibleName(tr("Branch of the new outline"));
  m_branch->setToolTip(tr("The branch that you have outlined"));
  question->setBuddy(m_branch);
  m_name = new QLineEdit(this);
  m_name->setObjectName(QStringLiteral("newBranchName"));
  m_name->setAccessibleName(tr("Name of the new branch"));
  m_name->setPlaceholderText(tr("Name, e.g. second left"));
  m_name->setMinimumWidth(m_name->fontMetrics().horizontalAdvance(m_name->placeholderText()) +
                          4 * look::kGrid);
  m_kind = new QComboBox(this);
  m_kind->setObjectName(QStringLiteral("newBranchKind"));
  m_kind->setAccessibleName(tr("Kind of the new branch"));
  for (const auto kind : kKinds) {
    m_kind->addItem(QString::fromStdString(store::toText(kind)));
  }
  m_keep = new QPushButton(tr("Keep outline"), this);
  m_keep->setObjectName(QStringLiteral("keepOutline"));
  m_keep->setProperty("role", QStringLiteral("primary"));
  auto* const drop = new QPushButton(tr("Drop"), this);
  drop->setObjectName(QStringLiteral("dropOutline"));
  drop->setToolTip(tr("Drop the drawn outline (Esc)"));
  // With the focus on one of them, Enter presses that one.
  m_keep->setAutoDefault(true);
  drop->setAutoDefault(true);
  row->addPair(question, m_branch);
  row->addWidget(m_name);
  row->addWidget(m_kind);
  row->addWidget(m_keep);
  row->addWidget(drop);
  connect(m_branch, &QComboBox::currentIndexChanged, this, &BranchChooser::showNewBranchFields);
  connect(m_name, &QLineEdit::textChanged, this, &BranchChooser::showNewBranchFields);
  connect(m_keep, &QPushButton::clicked, this, &BranchChooser::accept);
  connect(drop, &QPushButton::clicked, this, &BranchChooser::dismissed);
}

void BranchChooser::ask() {
  m_branch->clear();
  int suggested = -1;
  int firstFree = -1;
  for (const auto& branch : m_desk.branches()) {
    const bool hasOutline = m_desk.outlineOf(branch.id) != nullptr;
    const QString name = QString::fromStdString(branch.name);
    m_branch->addItem(hasOutline ? tr("%1 (replaces its outline)").arg(name) : name,
                      QString::fromStdString(branch.id.text));
    const int place = m_branch->count() - 1;
    if (!hasOutline && firstFree < 0) {
      firstFree = place;
    }
    if (!hasOutline && branch.id == m_desk.chosenBranch()) {
      suggested = place;
    }
  }
  if (m_desk.tree()) {
    m_branch->addItem(tr("New branch …"));
  }
  const int newBranch = m_branch->count() - 1;
  m_branch->setCurrentIndex(suggested >= 0 ? suggested : firstFree >= 0 ? firstFree : newBranch);
  m_name->clear();
  showNewBranchFields();
  show();
  (isNew() ? static_cast<QWidget*>(m_name) : m_branch)->setFocus(Qt::OtherFocusReason);
}

bool BranchChooser::isNew() const {
  return m_branch->currentIndex() >= 0 && !m_branch->currentData().isValid();
}

void BranchChooser::showNewBranchFields() {
  m_name->setVisible(isNew());
  m_kind->setVisible(isNew());
  const bool isNamed = !isNew() || !m_name->text().trimmed().isEmpty();
  m_keep->setEnabled(m_branch->currentIndex() >= 0 && isNamed);
  m_keep->setToolTip(m_branch->count() == 0
                         ? tr("File the photo under a tree first: outlines belong to its branches")
                         : tr("Store the outline (Enter)"));
}

void BranchChooser::accept() {
  if (!m_keep->isEnabled()) {
    return;
  }
  if (isNew()) {
    Q_EMIT newBranchNamed(m_name->text(), kKinds[static_cast<std::size_t>(m_kind->currentIndex())]);
  } else {
    Q_EMIT branchChosen({m_branch->currentData().toString().toStdString()});
  }
}

void BranchChooser::keyPressEvent(QKeyEvent* event) {
  switch (event->key()) {
    case Qt::Key_Return:
    case Qt::Key_Enter:
      accept();
      break;
    case Qt::Key_Escape:
      Q_EMIT dismissed();
      break;
    default:
      QFrame::keyPressEvent(event);
  }
}

}  // namespace edamori::pages
