// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/controls.h"

#include "app/look/theme.h"
#include "app/models/rows_model.h"
#include "app/models/text.h"

#include <QAction>
#include <QApplication>
#include <QComboBox>
#include <QDateEdit>
#include <QFileDialog>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QKeyEvent>
#include <QLabel>
#include <QLineEdit>
#include <QPlainTextEdit>
#include <QPushButton>
#include <QScreen>
#include <QScrollArea>
#include <QScrollBar>
#include <QStyle>
#include <QTableView>
#include <QToolButton>
#include <QVBoxLayout>
#include <algorithm>
#include <tuple>

namespace edamori::pages {

QString withoutMnemonic(QString text) {
  text.replace(QLatin1String("&&"), QLatin1String("\x01"));
  text.remove(QLatin1Char('&'));
  text.replace(QLatin1String("\x01"), QLatin1String("&"));
  return text.remove(QLatin1Char(':'));
}

QPushButton* button(const QString& text, const QString& objectName, ButtonRole role) {
  auto* made = new QPushButton(text);
  made->setObjectName(objectName);
  made->setAccessibleName(withoutMnemonic(text));
  made->setAutoDefault(false);
  if (role != ButtonRole::Plain) {
    made->setProperty(
        "role", role == ButtonRole::Primary ? QStringLiteral("primary") : QStringLiteral("quiet"));
  }
  return made;
}

QPushButton* buttonFor(QAction* action, QWidget* parent) {
  auto* const button = new QPushButton(action->text(), parent);
  button->setToolTip(action->toolTip());
  button->setObjectName(action->objectName() + QStringLiteral("Button"));
  button->setEnabled(action->isEnabled());
  QObject::connect(button, &QPushButton::clicked, action, &QAction::trigger);
  QObject::connect(action, &QAction::enabledChanged, button, &QWidget::setEnabled);
  return button;
}

QLabel* label(const QString& text, const QString& textRole) {
  auto* made = new QLabel(text);
  made->setWordWrap(true);
  if (!textRole.isEmpty()) {
    made->setProperty("textRole", textRole);
  }
  return made;
}

void setTextRole(QLabel* label, const QString& textRole) {
  label->setProperty("textRole", textRole);
  label->style()->unpolish(label);
  label->style()->polish(label);
}

QLineEdit* lineEdit(const QString& objectName, const QString& text) {
  auto* made = new QLineEdit(text);
  made->setObjectName(objectName);
  return made;
}

QPlainTextEdit* textEdit(const QString& objectName, const QString& text) {
  auto* made = new QPlainTextEdit(text);
  made->setObjectName(objectName);
  made->setTabChangesFocus(true);
  made->setFixedHeight(look::forText(72));
  return made;
}

QDateEdit* dateEdit(const QString& objectName, const QDate& date) {
  auto* made = new QDateEdit(date);
  made->setObjectName(objectName);
  made->setDisplayFormat(QStringLiteral("yyyy-MM-dd"));
  made->setCalendarPopup(true);
  return made;
}

QComboBox* choice(const QString& objectName) {
  auto* made = new QComboBox;
  made->setObjectName(objectName);
  return made;
}

QTableView* rowTable(const QString& objectName,
                     const QString& accessibleName,
                     models::RowsModel* model) {
  auto* made = new QTableView;
  made->setObjectName(objectName);
  made->setAccessibleName(accessibleName);
  made->setModel(model);
  made->setSelectionBehavior(QAbstractItemView::SelectRows);
  made->setSelectionMode(QAbstractItemView::SingleSelection);
  made->setEditTriggers(QAbstractItemView::NoEditTriggers);
  made->setTabKeyNavigation(false);
  made->setShowGrid(false);
  made->setWordWrap(true);
  made->verticalHeader()->hide();
  made->verticalHeader()->setSectionResizeMode(QHeaderView::ResizeToContents);
  made->horizontalHeader()->setSectionResizeMode(QHeaderView::ResizeToContents);
  made->horizontalHeader()->setStretchLastSection(true);
  made->horizontalHeader()->setHighlightSections(false);
  made->horizontalHeader()->setDefaultAlignment(Qt::AlignLeft | Qt::AlignVCenter);
  return made;
}

int dialogWidth(int px) {
  constexpr int kAroundPx = 40;
  const int screenPx = QGuiApplication::primaryScreen()->availableSize().width();
  return std::max(px, std::min(look::forText(px), screenPx - kAroundPx));
}

std::filesystem::path usualFolder(QStandardPaths::StandardLocation kind) {
  const auto folder = models::pathOf(QStandardPaths::writableLocation(kind));
  std::error_code ignored;
  return !folder.empty() && std::filesystem::is_directory(folder, ignored)
             ? folder
             : models::pathOf(QStandardPaths::writableLocation(QStandardPaths::HomeLocation));
}

namespace {

class EnterPresses : public QObject {
 public:
  using QObject::QObject;

 protected:
  bool eventFilter(QObject* watched, QEvent* event) override {
    if (event->type() != QEvent::KeyPress && event->type() != QEvent::ShortcutOverride) {
      return false;
    }
    const auto* const key = static_cast<QKeyEvent*>(event);
    const bool isEnter = (key->key() == Qt::Key_Return || key->key() == Qt::Key_Enter) &&
                         (key->modifiers() & ~Qt::KeypadModifier) == Qt::NoModifier;
    const bool isButton = qobject_cast<QPushButton*>(watched) != nullptr ||
                          qobject_cast<QToolButton*>(watched) != nullptr;
    if (!isEnter || !isButton) {
      return false;
    }
    event->accept();  // a shortcut on Enter does not go before the button
    if (event->type() == QEvent::KeyPress) {
      static_cast<QAbstractButton*>(watched)->click();
    }
    return true;
  }
};

}  // namespace

void letEnterPressButtons() {
  constexpr const char* kDone = "edamoriEnterPresses";
  if (!qApp->property(kDone).toBool()) {
    qApp->installEventFilter(new EnterPresses(qApp));
    qApp->setProperty(kDone, true);
  }
}

void addPaneKeys(QWidget* page, std::function<std::vector<Pane>()> panes) {
  const std::initializer_list<std::tuple<QString, QKeySequence, int>> ways{
      {QObject::tr("To the next part of the page"), Qt::Key_F6, 1},
      {QObject::tr("To the previous part of the page"), Qt::SHIFT | Qt::Key_F6, -1}};
  for (const auto& [text, keys, step] : ways) {
    auto* action = new QAction(text, page);
    action->setShortcut(keys);
    action->setShortcutContext(Qt::WidgetWithChildrenShortcut);
    QObject::connect(
        action, &QAction::triggered, page, [panes, step = step] { focusNextPane(panes(), step); });
    page->addAction(action);
  }
}

void focusNextPane(const std::vector<Pane>& panes, int step) {
  std::vector<Pane> open;
  for (const Pane& pane : panes) {
    if (pane.whole != nullptr && pane.focus != nullptr && pane.focus->isVisible() &&
        pane.focus->isEnabled()) {
      open.push_back(pane);
    }
  }
  if (open.empty()) {
    return;
  }
  const QWidget* has = QApplication::focusWidget();
  const auto here = std::ranges::find_if(open, [has](const Pane& pane) {
    return has != nullptr && (pane.whole == has || pane.whole->isAncestorOf(has));
  });
  const auto count = static_cast<int>(open.size());
  const int at = here == open.end() ? (step > 0 ? -1 : 0) : static_cast<int>(here - open.begin());
  open[static_cast<std::size_t>((at + step + count) % count)].focus->setFocus(
      Qt::ShortcutFocusReason);
}

void addField(QFormLayout* form, const QString& labelText, QWidget* field) {
  auto* name = new QLabel(labelText);
  name->setBuddy(field->focusProxy() != nullptr ? field->focusProxy() : field);
  const QString words = withoutMnemonic(labelText);
  field->setAccessibleName(words);
  if (field->focusProxy() != nullptr) {
    field->focusProxy()->setAccessibleName(words);
  }
  form->addRow(name, field);
}

FormDialog::FormDialog(const QString& title, const QString& primaryText, QWidget* parent)
    : QDialog(parent),
      m_body(new QVBoxLayout),
      m_columns(new QHBoxLayout),
      m_form(new QFormLayout),
      m_problem(label({}, QStringLiteral("bad"))),
      m_cancel(button(tr("Cancel"), QStringLiteral("cancel"), ButtonRole::Plain)),
      m_primary(button(primaryText, QStringLiteral("primary"), ButtonRole::Primary)) {
  setAttribute(Qt::WA_DeleteOnClose);
  setWindowTitle(title);
  setMinimumWidth(dialogWidth(460));
  m_form->setFieldGrowthPolicy(QFormLayout::AllNonFixedFieldsGrow);
  m_form->setHorizontalSpacing(look::kGrid * 2);
  m_form->setVerticalSpacing(look::kGrid);
  m_problem->setObjectName(QStringLiteral("formProblem"));
  m_problem->setVisible(false);
  auto* buttons = new QHBoxLayout;
  buttons->addStretch(1);
  buttons->addWidget(m_cancel);
  buttons->addWidget(m_primary);
  m_primary->setDefault(true);
  auto* all = new QVBoxLayout(this);
  all->setContentsMargins(look::kGrid * 2, look::kGrid * 2, look::kGrid * 2, look::kGrid * 2);
  all->setSpacing(look::kGrid * 2);
  m_columns->setSpacing(look::kGrid * 3);
  // Spare height lies below the fields, never between them.
  auto* fields = new QVBoxLayout;
  fields->addLayout(m_form);
  fields->addStretch(1);
  m_columns->addLayout(fields, 1);
  m_body->addLayout(m_columns);
  if (look::isTextLarge()) {
    // Large letters need more height than a screen may have.
    auto* inside = new QWidget;
    m_body->setContentsMargins(0, 0, look::kGrid, 0);
    inside->setLayout(m_body);
    m_scroll = new QScrollArea;
    m_scroll->setWidgetResizable(true);
    m_scroll->setFocusPolicy(Qt::NoFocus);
    m_scroll->setWidget(inside);
    all->addWidget(m_scroll, 1);
  } else {
    all->addLayout(m_body, 1);
  }
  all->addWidget(m_problem);
  all->addLayout(buttons);
  connect(m_cancel, &QPushButton::clicked, this, &QDialog::reject);
  connect(m_primary, &QPushButton::clicked, this, &FormDialog::accept);
}

void FormDialog::accept() {
  const QString text = problem();
  showProblem(text);
  if (text.isEmpty()) {
    QDialog::accept();
  }
}

void FormDialog::fieldsBeside(QWidget* column) {
  m_columns->addWidget(column, 1, Qt::AlignTop);
}

void FormDialog::showProblem(const QString& text) {
  m_problem->setText(text);
  m_problem->setVisible(!text.isEmpty());
  growToFit();
}

// A line that appears takes room of its own, never that of the fields.
void FormDialog::growToFit() {
  // Wrapped text needs its width to know its height.
  layout()->invalidate();
  layout()->activate();
  const int wanted = layout()->hasHeightForWidth() ? layout()->totalHeightForWidth(width())
                                                   : layout()->totalSizeHint().height();
  if (height() < wanted) {
    resize(width(), wanted);
  }
}

void FormDialog::fitFields() {
  if (m_scroll == nullptr) {
    adjustSize();
    return;
  }
  m_scroll->widget()->layout()->activate();
  makeRoom();
}

// As large as its body asks for, as far as the screen goes.
void FormDialog::makeRoom() {
  constexpr int kAroundPx = 60;
  const QSize screen = QGuiApplication::primaryScreen()->availableSize() - QSize(kAroundPx, kAroundPx);
  QWidget* const inside = m_scroll->widget();
  const QMargins margins = layout()->contentsMargins();
  const int beside = margins.left() + margins.right() + m_scroll->verticalScrollBar()->sizeHint().width() +
                     2 * m_scroll->frameWidth();
  const int wide = std::max(minimumWidth(), inside->minimumSizeHint().width() + beside);
  const int insideWide = wide - beside;
  const int high = inside->layout()->hasHeightForWidth() ? inside->layout()->totalHeightForWidth(insideWide)
                                                         : inside->sizeHint().height();
  const int rest = layout()->totalSizeHint().height() - m_scroll->sizeHint().height();
  resize(std::max(minimumWidth(), std::min(wide, screen.width())), std::min(high + rest, screen.height()));
}

void FormDialog::showEvent(QShowEvent* event) {
  orderFocus();
  if (m_scroll != nullptr) {
    makeRoom();
  }
  QDialog::showEvent(event);
}

// Fields are added after the buttons; Tab goes through them first all the same.
void FormDialog::orderFocus() {
  QWidget* first = nullptr;
  QWidget* last = nullptr;
  for (QWidget* at = nextInFocusChain(); at != this; at = at->nextInFocusChain()) {
    const bool takesTab = (at->focusPolicy() & Qt::TabFocus) != 0 && at->focusProxy() == nullptr;
    if (takesTab && isAncestorOf(at) && at != m_primary && at != m_cancel) {
      first = first == nullptr ? at : first;
      last = at;
    }
  }
  if (last != nullptr) {
    // Whoever tabs on from the last field and presses Enter wants it kept, not thrown away.
    setTabOrder(last, m_primary);
    setTabOrder(m_primary, m_cancel);
    first->setFocus();
  }
}

void FormDialog::keyPressEvent(QKeyEvent* event) {
  // Ctrl+Enter takes the form from a field in which Enter alone starts a new line.
  if (event->modifiers().testFlag(Qt::ControlModifier) &&
      (event->key() == Qt::Key_Return || event->key() == Qt::Key_Enter)) {
    m_primary->click();
    return;
  }
  QDialog::keyPressEvent(event);
}

PathField::PathField(Kind kind, const QString& objectName, QWidget* parent)
    : QWidget(parent), m_kind(kind), m_edit(lineEdit(objectName, {})) {
  auto* choose = button(tr("Choose…"), objectName + QStringLiteral("Choose"), ButtonRole::Plain);
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(0, 0, 0, 0);
  row->addWidget(m_edit, 1);
  row->addWidget(choose);
  setFocusProxy(m_edit);
  connect(choose, &QPushButton::clicked, this, &PathField::choose);
}

std::filesystem::path PathField::path() const { return models::pathOf(m_edit->text()); }

void PathField::setPath(const std::filesystem::path& path) {
  m_edit->setText(models::pathText(path));
}

void PathField::choose() {
  auto* dialog = new QFileDialog(this);
  dialog->setAttribute(Qt::WA_DeleteOnClose);
  if (m_kind == Kind::ExistingFolder) {
    dialog->setFileMode(QFileDialog::Directory);
    dialog->setOption(QFileDialog::ShowDirsOnly);
  } else if (m_kind == Kind::ExistingFile) {
    dialog->setFileMode(QFileDialog::ExistingFile);
    dialog->setNameFilter(m_nameFilter);
  } else {
    dialog->setAcceptMode(QFileDialog::AcceptSave);
    dialog->setFileMode(QFileDialog::AnyFile);
    dialog->setNameFilter(m_nameFilter);
    // The form asks, for typed names too.
    dialog->setOption(QFileDialog::DontConfirmOverwrite);
  }
  dialog->selectFile(m_edit->text());
  connect(dialog, &QFileDialog::fileSelected, m_edit, &QLineEdit::setText);
  dialog->open();
}

}  // namespace edamori::pages
