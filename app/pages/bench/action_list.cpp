// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/action_list.h"

#include "app/look/theme.h"
#include "app/pages/controls.h"

#include <QAction>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QKeyEvent>
#include <QKeySequenceEdit>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QSettings>
#include <QTimer>
#include <QTreeWidget>
#include <QVBoxLayout>

namespace edamori::pages {

namespace {

constexpr int kPlaceRole = Qt::UserRole;

QString settingOf(const QAction* action) {
  return QStringLiteral("benchKeys/%1").arg(action->objectName());
}

// The tooltip without the key that stands in brackets at its end.
QString explanation(const QAction* action) {
  return action->property("explanation").toString();
}

}  // namespace

void ActionKeys::adopt(const QList<QAction*>& actions) {
  const QSettings settings;
  for (QAction* const action : actions) {
    m_actions << action;
    m_given << action->shortcuts();
    if (settings.contains(settingOf(action))) {
      const QKeySequence own(settings.value(settingOf(action)).toString(),
                             QKeySequence::PortableText);
      action->setShortcuts(own.isEmpty() ? QList<QKeySequence>{} : QList<QKeySequence>{own});
      showKeys(action);
    }
  }
}

void ActionKeys::showKeys(QAction* action) const {
  const QString keys = action->shortcut().toString(QKeySequence::NativeText);
  action->setToolTip(keys.isEmpty() ? explanation(action)
                                    : QStringLiteral("%1 (%2)").arg(explanation(action), keys));
}

QAction* ActionKeys::holder(const QKeySequence& keys, const QAction* except) const {
  for (QAction* const action : m_actions) {
    if (action != except && action->shortcuts().contains(keys)) {
      return action;
    }
  }
  return nullptr;
}

void ActionKeys::set(QAction* action, const QKeySequence& keys) {
  action->setShortcuts(keys.isEmpty() ? QList<QKeySequence>{} : QList<QKeySequence>{keys});
  showKeys(action);
  QSettings().setValue(settingOf(action), keys.toString(QKeySequence::PortableText));
}

void ActionKeys::reset(QAction* action) {
  action->setShortcuts(m_given[m_actions.indexOf(action)]);
  showKeys(action);
  QSettings().remove(settingOf(action));
}

void ActionKeys::resetAll() {
  for (QAction* const action : std::as_const(m_actions)) {
    reset(action);
  }
}

ActionList::ActionList(ActionKeys& keys, QWidget* parent) : QDialog(parent), m_keys(keys) {
  setObjectName(QStringLiteral("actionList"));
  setAttribute(Qt::WA_DeleteOnClose);
  setWindowTitle(tr("What can be done on the Bench"));
  auto* const column = new QVBoxLayout(this);
  column->setSpacing(look::kGrid);
  m_search = new QLineEdit(this);
  m_search->setObjectName(QStringLiteral("actionSearch"));
  m_search->setAccessibleName(tr("Search for an action"));
  m_search->setPlaceholderText(tr("Type a part of its name; Enter does it"));
  m_search->installEventFilter(this);
  column->addWidget(m_search);
  m_list = new QTreeWidget(this);
  m_list->setObjectName(QStringLiteral("actions"));
  m_list->setAccessibleName(tr("Actions and their keys"));
  m_list->setRootIsDecorated(false);
  m_list->setHeaderLabels({tr("Action"), tr("Key"), tr("What it does")});
  m_list->header()->setStretchLastSection(true);
  m_list->setWordWrap(true);
  column->addWidget(m_list, 1);
  createEditing();
  fill();
  resize(dialogWidth(980), 560);
  connect(m_search, &QLineEdit::textChanged, this, &ActionList::filter);
  connect(m_list, &QTreeWidget::currentItemChanged, this, &ActionList::showChosen);
  connect(m_list, &QTreeWidget::itemActivated, this, &ActionList::run);
  filter({});
}

void ActionList::createEditing() {
  auto* const row = new QHBoxLayout;
  auto* const label = new QLabel(tr("&Key"), this);
  m_edit = new QKeySequenceEdit(this);
  m_edit->setObjectName(QStringLiteral("newKey"));
  m_edit->setAccessibleName(tr("New key of the chosen action"));
  label->setBuddy(m_edit);
  m_set = new QPushButton(tr("&Change"), this);
  m_set->setObjectName(QStringLiteral("changeKey"));
  m_reset = new QPushButton(tr("&Reset"), this);
  m_reset->setObjectName(QStringLiteral("resetKey"));
  auto* const resetAll = new QPushButton(tr("Reset &all"), this);
  resetAll->setObjectName(QStringLiteral("resetAllKeys"));
  for (auto* const button : {m_set, m_reset, resetAll}) {
    button->setAutoDefault(false);
  }
  row->addWidget(label);
  row->addWidget(m_edit, 1);
  row->addWidget(m_set);
  row->addWidget(m_reset);
  row->addWidget(resetAll);
  m_said = new QLabel(this);
  m_said->setObjectName(QStringLiteral("keySaid"));
  m_said->setWordWrap(true);
  auto* const column = static_cast<QVBoxLayout*>(layout());
  column->addLayout(row);
  column->addWidget(m_said);
  connect(m_set, &QPushButton::clicked, this, &ActionList::changeKey);
  connect(m_reset, &QPushButton::clicked, this, [this] {
    if (auto* const action = chosen()) {
      m_keys.reset(action);
      fill();
    }
  });
  connect(resetAll, &QPushButton::clicked, this, [this] {
    m_keys.resetAll();
    fill();
  });
}

void ActionList::fill() {
  const auto* const before = chosen();
  m_list->clear();
  for (qsizetype i = 0; i < m_keys.actions().size(); ++i) {
    auto* const action = m_keys.actions()[i];
    auto* const item = new QTreeWidgetItem(m_list);
    item->setText(0, withoutMnemonic(action->text()));
    item->setText(1, action->shortcut().toString(QKeySequence::NativeText));
    item->setText(2, explanation(action));
    item->setToolTip(2, explanation(action));
    item->setData(0, kPlaceRole, i);
    if (!action->isEnabled()) {
      item->setText(2, tr("Not now: %1").arg(explanation(action)));
    }
    if (action == before) {
      m_list->setCurrentItem(item);
    }
  }
  m_list->resizeColumnToContents(0);
  m_list->resizeColumnToContents(1);
  filter(m_search->text());
}

// Every word must occur, in any order.
void ActionList::filter(const QString& words) {
  const auto wanted = words.split(QLatin1Char(' '), Qt::SkipEmptyParts);
  QTreeWidgetItem* first = nullptr;
  for (int i = 0; i < m_list->topLevelItemCount(); ++i) {
    auto* const item = m_list->topLevelItem(i);
    const QString all = item->text(0) + QLatin1Char(' ') + item->text(2);
    const bool fits = std::all_of(wanted.begin(), wanted.end(), [&all](const QString& word) {
      return all.contains(word, Qt::CaseInsensitive);
    });
    item->setHidden(!fits);
    first = fits && first == nullptr ? item : first;
  }
  if (m_list->currentItem() == nullptr || m_list->currentItem()->isHidden()) {
    m_list->setCurrentItem(first);
  }
  showChosen();
}

QAction* ActionList::chosen() const {
  const auto* const item = m_list->currentItem();
  return item == nullptr || item->isHidden()
             ? nullptr
             : m_keys.actions()[item->data(0, kPlaceRole).toLongLong()];
}

void ActionList::showChosen() {
  const auto* const action = chosen();
  m_edit->setKeySequence(action == nullptr ? QKeySequence() : action->shortcut());
  m_set->setEnabled(action != nullptr);
  m_reset->setEnabled(action != nullptr);
  m_said->clear();
}

void ActionList::run() {
  QAction* const action = chosen();
  if (action == nullptr || !action->isEnabled()) {
    m_said->setText(tr("This cannot be done just now."));
    return;
  }
  close();
  QTimer::singleShot(0, action, &QAction::trigger);
}

void ActionList::changeKey() {
  QAction* const action = chosen();
  if (action == nullptr) {
    return;
  }
  const QKeySequence keys = m_edit->keySequence();
  if (keys.count() > 1) {
    m_said->setText(tr("Press one key, or one key with Ctrl, Alt or Shift."));
    return;
  }
  if (const auto* const other = keys.isEmpty() ? nullptr : m_keys.holder(keys, action)) {
    m_said->setText(tr("%1 has this key; give that another one first.")
                        .arg(withoutMnemonic(other->text())));
    return;
  }
  m_keys.set(action, keys);
  fill();
  m_said->setText(keys.isEmpty() ? tr("It has no key now.")
                                 : tr("Its key is %1 now.")
                                       .arg(keys.toString(QKeySequence::NativeText)));
}

// Arrows go through the list, and Enter runs, while one types.
bool ActionList::eventFilter(QObject* watched, QEvent* event) {
  if (watched == m_search && event->type() == QEvent::KeyPress) {
    auto* const key = static_cast<QKeyEvent*>(event);
    switch (key->key()) {
      case Qt::Key_Up:
      case Qt::Key_Down: {
        const int step = key->key() == Qt::Key_Down ? 1 : -1;
        for (int i = m_list->indexOfTopLevelItem(m_list->currentItem()) + step;
             i >= 0 && i < m_list->topLevelItemCount();
             i += step) {
          if (!m_list->topLevelItem(i)->isHidden()) {
            m_list->setCurrentItem(m_list->topLevelItem(i));
            break;
          }
        }
        return true;
      }
      case Qt::Key_Return:
      case Qt::Key_Enter:
        run();
        return true;
      default:
        break;
    }
  }
  return QDialog::eventFilter(watched, event);
}

}  // namespace edamori::pages
