// SPDX-License-Identifier: GPL-3.0-or-later
// Small makers of controls, so that every one has a name for tests and for assistive technology.
#pragma once

#include <QDialog>
#include <QStandardPaths>
#include <QString>
#include <filesystem>
#include <functional>
#include <vector>

class QComboBox;
class QDateEdit;
class QDialogButtonBox;
class QFormLayout;
class QHBoxLayout;
class QLabel;
class QLineEdit;
class QPlainTextEdit;
class QScrollArea;
class QPushButton;
class QTableView;
class QVBoxLayout;

namespace edamori::models {
class RowsModel;
}

namespace edamori::pages {

enum class ButtonRole { Plain, Primary, Quiet };

// The text without its mnemonic and colon.
[[nodiscard]] QString withoutMnemonic(QString text);

// The accessible name is the text without its mnemonic.
[[nodiscard]] QPushButton* button(const QString& text, const QString& objectName, ButtonRole role);
// A button that does and says what the action does and says.
[[nodiscard]] QPushButton* buttonFor(QAction* action, QWidget* parent);
// `textRole` is one of the roles that look::apply knows; "" for body text. Wraps.
[[nodiscard]] QLabel* label(const QString& text, const QString& textRole);
void setTextRole(QLabel* label, const QString& textRole);

[[nodiscard]] QLineEdit* lineEdit(const QString& objectName, const QString& text);
[[nodiscard]] QPlainTextEdit* textEdit(const QString& objectName, const QString& text);
[[nodiscard]] QDateEdit* dateEdit(const QString& objectName, const QDate& date);
[[nodiscard]] QComboBox* choice(const QString& objectName);
// A table of rows: whole rows are chosen, the last column stretches, Tab leaves the table.
[[nodiscard]] QTableView* rowTable(const QString& objectName,
                                   const QString& accessibleName,
                                   models::RowsModel* model);

// A form's width for the usual size of text, wider with larger text as far as the screen goes; px.
[[nodiscard]] int dialogWidth(int px);

// Where files of this kind go on this desktop; the home folder where there is no such place.
[[nodiscard]] std::filesystem::path usualFolder(QStandardPaths::StandardLocation kind);

// From now on Enter presses the button that has the focus, as Space does. Once for the program.
void letEnterPressButtons();

// A part of a page that F6 goes to: the widget it is made of, and what takes the focus there.
struct Pane {
  QWidget* whole = nullptr;
  QWidget* focus = nullptr;
};
// F6 and Shift+F6 on the page go round its panes.
void addPaneKeys(QWidget* page, std::function<std::vector<Pane>()> panes);
// Moves the focus to the pane `step` places after the one that has it, round the end; panes that
// are hidden or disabled are passed over.
void focusNextPane(const std::vector<Pane>& panes, int step);

// A row of a form: the label is the field's buddy and its accessible name.
void addField(QFormLayout* form, const QString& labelText, QWidget* field);

// A form in a dialog that is shown with open(), so that nothing blocks, and deletes itself at the
// end.
//
// The primary button asks accept(); a subclass overrides problem() and is kept open, with the line
// shown and the field focused, until problem() has nothing to say.
class FormDialog : public QDialog {
  Q_OBJECT

 public:
  FormDialog(const QString& title, const QString& primaryText, QWidget* parent);
  void accept() override;

 protected:
  [[nodiscard]] QFormLayout* form() const { return m_form; }
  [[nodiscard]] QVBoxLayout* body() const { return m_body; }  // above the buttons
  // A second column to the right of the form.
  void fieldsBeside(QWidget* column);
  [[nodiscard]] QPushButton* primaryButton() const { return m_primary; }
  // "" when the form can be taken; may focus the field at fault.
  [[nodiscard]] virtual QString problem() { return {}; }
  void showProblem(const QString& text);
  // As large as its fields ask for now.
  void fitFields();
  void keyPressEvent(QKeyEvent* event) override;
  void showEvent(QShowEvent* event) override;

 private:
  void orderFocus();
  void growToFit();
  void makeRoom();

  QVBoxLayout* m_body;
  QScrollArea* m_scroll = nullptr;  // around the body when the text is large
  QHBoxLayout* m_columns;
  QFormLayout* m_form;
  QLabel* m_problem;
  QPushButton* m_cancel;
  QPushButton* m_primary;
};

// A path that can be typed or chosen.
class PathField : public QWidget {
  Q_OBJECT

 public:
  enum class Kind { ExistingFolder, ExistingFile, NewFile };
  PathField(Kind kind, const QString& objectName, QWidget* parent = nullptr);

  [[nodiscard]] std::filesystem::path path() const;
  void setPath(const std::filesystem::path& path);
  void setNameFilter(const QString& filter) { m_nameFilter = filter; }
  [[nodiscard]] QLineEdit* edit() const { return m_edit; }

 private:
  void choose();

  Kind m_kind;
  QLineEdit* m_edit;
  QString m_nameFilter;
};

}  // namespace edamori::pages
