// SPDX-License-Identifier: GPL-3.0-or-later
// Every action of the Bench in a list that can be searched, with its key, which can be changed.
#pragma once

#include <QDialog>
#include <QKeySequence>
#include <QList>

class QAction;
class QKeySequenceEdit;
class QLabel;
class QLineEdit;
class QPushButton;
class QTreeWidget;
class QTreeWidgetItem;

namespace edamori::pages {

// Remembers the keys that a person gave to actions, by the actions' object names, in the program's
// settings.
class ActionKeys {
 public:
  // Takes note of the keys that the program gives; then lays the person's own over them.
  void adopt(const QList<QAction*>& actions);
  // The action that has one of these keys already, or nullptr.
  [[nodiscard]] QAction* holder(const QKeySequence& keys, const QAction* except) const;
  void set(QAction* action, const QKeySequence& keys);
  void reset(QAction* action);
  void resetAll();
  [[nodiscard]] const QList<QAction*>& actions() const { return m_actions; }

 private:
  void showKeys(QAction* action) const;

  QList<QAction*> m_actions;
  QList<QList<QKeySequence>> m_given;
};

class ActionList : public QDialog {
  Q_OBJECT

 public:
  // `keys` must outlive the dialog. Runs the chosen action after it has closed.
  explicit ActionList(ActionKeys& keys, QWidget* parent = nullptr);

 protected:
  bool eventFilter(QObject* watched, QEvent* event) override;

 private:
  void createEditing();
  void fill();
  void filter(const QString& words);
  void run();
  void changeKey();
  void showChosen();
  [[nodiscard]] QAction* chosen() const;

  ActionKeys& m_keys;
  QLineEdit* m_search = nullptr;
  QTreeWidget* m_list = nullptr;
  QKeySequenceEdit* m_edit = nullptr;
  QPushButton *m_set = nullptr, *m_reset = nullptr;
  QLabel* m_said = nullptr;
};

}  // namespace edamori::pages
