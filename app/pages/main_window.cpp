// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/main_window.h"

#include "app/models/text.h"
#include "app/pages/controls.h"
#include "app/pages/head_row.h"
#include "app/pages/import_photos/import_dialog.h"
#include "app/pages/main_window_parts_internal.h"
#include "app/pages/page_area.h"
#include "app/pages/start/garden_dialogs.h"

#include <QActionGroup>
#include <QApplication>
#include <QDragEnterEvent>
#include <QFrame>
#include <QHBoxLayout>
#include <QLabel>
#include <QMimeData>
#include <QScreen>
#include <QSettings>
#include <QStackedWidget>
#include <QStatusBar>
#include <QToolButton>
#include <QUrl>
#include <QVBoxLayout>

namespace edamori::pages {

using models::pathOf;
using models::pathText;
using models::qText;

namespace {

constexpr auto kLastGarden = "lastGarden";
constexpr auto kTheme = "look/theme";
constexpr auto kTextPercent = "look/textPercent";
constexpr auto kGeometry = "windowGeometry";

QSettings settings() { return QSettings(QStringLiteral("edamori"), QStringLiteral("edamori")); }

// An "&" in a name is no mnemonic.
QString literal(QString name) { return name.replace(QLatin1Char('&'), QLatin1String("&&")); }

std::vector<std::filesystem::path> localFiles(const QMimeData* data) {
  std::vector<std::filesystem::path> files;
  for (const QUrl& url : data->urls()) {
    if (url.isLocalFile()) {
      files.push_back(pathOf(url.toLocalFile()));
    }
  }
  return files;
}

}  // namespace

MainWindow::Parts::Parts(MainWindow& window) : m_window(window) {
  const QString theme = settings().value(QLatin1String(kTheme)).toString();
  look::setTextScale(settings().value(QLatin1String(kTextPercent), 100).toInt() / 100.0);
  look::apply(*qApp, theme == QLatin1String("dark") ? look::Theme::Dark : look::Theme::Light);
  m_window.setObjectName(QStringLiteral("mainWindow"));
  m_window.setAcceptDrops(true);
  letEnterPressButtons();
  createPages();
  createMenus();
  connectPages();
  // With room for the frame that a desktop puts around it.
  const QSize room = QGuiApplication::primaryScreen()->availableSize() - QSize(0, 40);
  m_window.resize(QSize(1280, 800).boundedTo(room));
  m_window.restoreGeometry(settings().value(QLatin1String(kGeometry)).toByteArray());
  showPage(m_welcome);
}

MainWindow::Parts::~Parts() { letGo(); }

void MainWindow::Parts::createPages() {
  m_messages = new MessageBar;
  m_welcome = new WelcomePanel;
  m_gardenPage = new GardenPage;
  m_treePage = new TreePage;
  m_bench = new BenchPage;
  m_pair = new BeforeAfterPage;
  m_stack = new QStackedWidget;
  for (QWidget* page :
       std::initializer_list<QWidget*>{m_welcome, m_gardenPage, m_treePage, m_bench, m_pair}) {
    m_stack->addWidget(page);
  }
  auto* centre = new QWidget;
  auto* all = new QVBoxLayout(centre);
  all->setContentsMargins(0, 0, 0, 0);
  all->setSpacing(0);
  all->addWidget(new HeadRow(createTrail(), m_messages));
  all->addWidget(new PageArea(m_stack), 1);
  m_window.setCentralWidget(centre);
  m_place = new QLabel;
  m_place->setContentsMargins(look::kGrid, 0, 0, 0);
  m_busy = new QLabel;
  m_window.statusBar()->addWidget(m_place, 1);
  m_window.statusBar()->addPermanentWidget(m_busy);
}

// Garden › tree › photo or pair of photos: where the person is, and the way back.
QWidget* MainWindow::Parts::createTrail() {
  auto* trail = new QFrame;
  trail->setObjectName(QStringLiteral("trail"));
  m_gardenName = label({}, QStringLiteral("heading"));
  m_gardenName->setWordWrap(false);
  auto* group = new QActionGroup(&m_window);
  auto* row = new QHBoxLayout(trail);
  row->setContentsMargins(look::kGrid * 2, look::kGrid / 2, look::kGrid * 2, look::kGrid / 2);
  row->addWidget(m_gardenName);
  row->addSpacing(look::kGrid * 2);
  const auto step = [&](look::Glyph glyph, const char* name, QKeySequence keys, QWidget* page) {
    auto* action = new QAction(look::icon(glyph), {}, group);
    action->setCheckable(true);
    action->setShortcut(keys);
    QObject::connect(action, &QAction::triggered, &m_window, [this, page] {
      page == m_bench  ? showBench()
      : page == m_pair ? showBeforeAfter({})
                       : showPage(page);
    });
    auto* made = new QToolButton;
    made->setObjectName(QLatin1String(name));
    made->setDefaultAction(action);
    // The words of large letters fill the row alone.
    made->setToolButtonStyle(look::textScale() > 1.5 ? Qt::ToolButtonTextOnly : Qt::ToolButtonTextBesideIcon);
    made->setFocusPolicy(Qt::StrongFocus);
    row->addWidget(made);
    return action;
  };
  const auto arrow = [row] { row->addWidget(label(QStringLiteral("›"), QStringLiteral("quiet"))); };
  m_toGarden = step(look::Glyph::Garden, "toGarden", Qt::CTRL | Qt::Key_1, m_gardenPage);
  arrow();
  m_toTree = step(look::Glyph::Tree, "toTree", Qt::CTRL | Qt::Key_2, m_treePage);
  arrow();
  m_toBench = step(look::Glyph::Bench, "toBench", Qt::CTRL | Qt::Key_3, m_bench);
  m_toPair = step(look::Glyph::Pair, "toBeforeAfter", Qt::CTRL | Qt::Key_4, m_pair);
  row->addStretch(1);
  return trail;
}

PageServices MainWindow::Parts::services() const {
  auto& self = const_cast<Parts&>(*this);
  return {m_session.get(), m_previews.get(), &self.m_undo, m_messages, &self.m_jobs};
}

void MainWindow::Parts::connectPages() {
  QObject* context = &m_window;
  m_welcome->setServices(services());
  QObject::connect(m_welcome, &WelcomePanel::newRequested, context, [this] { newGarden(); });
  QObject::connect(m_welcome, &WelcomePanel::openRequested, context, [this] { askForGarden(); });
  QObject::connect(m_welcome, &WelcomePanel::demoReady, context, [this](const QString& folder) {
    (void)openGarden(pathOf(folder));  // Says itself what went wrong.
  });
  QObject::connect(
      m_gardenPage, &GardenPage::treeActivated, context, [this](const store::TreeId& tree) {
        showTree(tree);
      });
  QObject::connect(
      m_gardenPage, &GardenPage::photoActivated, context, [this](const store::PhotoId& photo) {
        showPhoto(photo);
      });
  QObject::connect(
      m_treePage, &TreePage::photoActivated, context, [this](const store::PhotoId& photo) {
        showPhoto(photo);
      });
  QObject::connect(
      m_treePage, &TreePage::importRequested, context, [this](const store::TreeId& tree) {
        showImport({}, tree);
      });
  QObject::connect(
      m_treePage, &TreePage::pairRequested, context, [this](const store::PhotoId& after) {
        showBeforeAfter(after);
      });
  QObject::connect(m_gardenPage, &GardenPage::choiceChanged, context, [this] { updateTrail(); });
  QObject::connect(m_treePage, &TreePage::treeChanged, context, [this] { updateTrail(); });
  QObject::connect(m_treePage, &TreePage::treeGone, context, [this] { showPage(m_gardenPage); });
  QObject::connect(m_bench, &BenchPage::treeRequested, context, [this](const store::TreeId& tree) {
    showTree(tree);
  });
  QObject::connect(m_messages, &MessageBar::undoRequested, context, [this] { undo(); });
  QObject::connect(&m_undo, &models::UndoList::changed, context, [this] { updateTrail(); });
  QObject::connect(&m_jobs, &Jobs::runningChanged, context, [this] {
    m_busy->setText(m_jobs.isIdle() ? QString() : tr("Working…"));
  });
}

void MainWindow::Parts::letGo() {
  // Forms point at the session; running work belongs to the garden that goes.
  for (QDialog* dialog : m_window.findChildren<QDialog*>()) {
    delete dialog;
  }
  m_jobs.cancelAll();
  m_bench->setSession(nullptr);
  m_undo.clear();
  PageServices none = services();
  none.session = nullptr;
  none.previews = nullptr;
  m_gardenPage->setServices(none);
  m_treePage->setServices(none);
  m_pair->setServices(none);
  m_previews.reset();
  m_session.reset();
}

Result<void> MainWindow::Parts::openGarden(const std::filesystem::path& folder) {
  auto opened = store::Garden::open(folder);
  if (!opened) {
    m_messages->sayError(opened.error());
    return opened.error();
  }
  letGo();
  m_session = std::make_unique<GardenSession>(std::move(opened).value());
  m_previews = std::make_unique<models::PreviewLoader>(folder, &m_window);
  m_gardenPage->setServices(services());
  m_treePage->setServices(services());
  m_pair->setServices(services());
  m_bench->setSession(m_session.get());
  // A photo on the Bench may have been filed under another tree.
  QObject::connect(m_session.get(), &GardenSession::changed, &m_window, [this] { updateTrail(); });
  settings().setValue(QLatin1String(kLastGarden), pathText(std::filesystem::absolute(folder)));
  m_place->setText(pathText(folder));
  m_messages->hide();
  showPage(m_gardenPage);
  m_gardenPage->focusTrees();
  return {};
}

void MainWindow::Parts::openLastGarden() {
  const QString last = settings().value(QLatin1String(kLastGarden)).toString();
  if (last.isEmpty()) {
    return;
  }
  if (const auto opened = openGarden(pathOf(last)); !opened) {
    m_messages->sayError(
        tr("The garden of last time could not be opened. %1").arg(qText(opened.error().message)));
  }
}

void MainWindow::Parts::showPage(QWidget* page) {
  if (page != m_stack->currentWidget()) {
    m_messages->hide();  // what was said was about the other page
  }
  m_stack->setCurrentWidget(page);
  updateTrail();
}

void MainWindow::Parts::showTree(const store::TreeId& tree) {
  // Shown first: the page reads its tree only when it is seen.
  const auto shown = m_treePage->showTree(tree);
  if (!shown) {
    m_messages->sayError(shown.error());
    return;
  }
  showPage(m_treePage);
}

bool MainWindow::Parts::takeUpTree(Needs needs) {
  if (m_stack->currentWidget() == m_gardenPage && !m_gardenPage->chosenTree().isEmpty()) {
    showTree(m_gardenPage->chosenTree());
  } else if (needs == Needs::TreeAtHand && isTreeAtHand()) {
    showTree(treeAtHand());
  }
  return m_stack->currentWidget() == m_treePage;
}

void MainWindow::Parts::showPhoto(const store::PhotoId& photo) {
  const auto opened = m_bench->openPhoto(photo);
  if (!opened) {
    m_messages->sayError(opened.error());
    return;
  }
  if (const auto tree = m_bench->currentTree();
      !tree.isEmpty() && tree != m_treePage->currentTree()) {
    if (const auto shown = m_treePage->showTree(tree); !shown) {
      m_messages->sayError(shown.error());
    }
  }
  showPage(m_bench);
  m_bench->setFocus();
}

// The Bench belongs to the tree before it in the trail; dots must never go to another one.
bool MainWindow::Parts::isBenchOfTree() const {
  return !m_bench->currentPhoto().isEmpty() && m_bench->currentTree() == m_treePage->currentTree();
}

void MainWindow::Parts::showBench() {
  const store::PhotoId photo = m_treePage->photoForBench();
  if (m_stack->currentWidget() == m_bench || isBenchOfTree() || photo.isEmpty()) {
    showPage(m_bench);
  } else {
    showPhoto(photo);
  }
}

// The tree in the trail; on the Bench that of its photo.
bool MainWindow::Parts::isTreeAtHand() const {
  const QWidget* const page = m_stack->currentWidget();
  return (page == m_bench || page == m_pair) && !treeAtHand().isEmpty();
}

store::TreeId MainWindow::Parts::treeAtHand() const {
  return m_stack->currentWidget() == m_bench ? m_bench->currentTree() : m_treePage->currentTree();
}

void MainWindow::Parts::showBeforeAfter(const store::PhotoId& after) {
  const auto shown = m_pair->showTree(treeAtHand(), after);
  if (!shown) {
    m_messages->sayError(shown.error());
    updateTrail();
    return;
  }
  showPage(m_pair);
  m_pair->setFocus();
}

void MainWindow::Parts::updateTrail() {
  const QWidget* page = m_stack->currentWidget();
  const bool isOpen = hasGarden();
  QString name = isOpen ? qText(m_session->garden().name()) : tr("No garden open");
  if (name.isEmpty()) {
    name = pathText(m_session->garden().folder().filename());
  }
  m_gardenName->setText(name);
  m_window.setWindowTitle(isOpen ? tr("%1 — Edamori").arg(name) : tr("Edamori"));
  updateSteps();
  const bool hasTree = (page == m_treePage && !m_treePage->title().isEmpty()) ||
                       (page == m_gardenPage && !m_gardenPage->chosenTree().isEmpty());
  for (const auto& [action, needs] : m_conditional) {
    action->setEnabled(needs == Needs::Nothing || (needs == Needs::Garden && isOpen) ||
                       (needs == Needs::Tree && hasTree) ||
                       (needs == Needs::TreeAtHand && (hasTree || (isOpen && isTreeAtHand()))));
  }
  if (m_undoAction != nullptr) {
    m_undoAction->setEnabled(!m_undo.isEmpty() && page != m_bench);
    m_undoAction->setText(m_undo.isEmpty() ? tr("&Undo")
                                           : tr("&Undo: %1").arg(literal(m_undo.latest())));
    m_redoAction->setEnabled(m_undo.canRedo() && page != m_bench);
    m_redoAction->setText(m_undo.canRedo() ? tr("R&edo: %1").arg(literal(m_undo.latestUndone()))
                                           : tr("R&edo"));
  }
  if (m_undo.isEmpty()) {
    m_messages->withdrawUndo();
  }
}

void MainWindow::Parts::updateSteps() {
  const QWidget* page = m_stack->currentWidget();
  const QString tree = m_treePage->title();
  const bool isOpen = hasGarden();
  const bool isLoose = page == m_bench && m_bench->currentTree().isEmpty();
  m_toGarden->setText(tr("Garden"));
  m_toTree->setText(isLoose ? tr("not filed") : tree.isEmpty() ? tr("Tree") : literal(tree));
  m_toBench->setText(tr("Bench"));
  m_toPair->setText(tr("Before && After"));
  m_toGarden->setEnabled(isOpen);
  m_toTree->setEnabled(isOpen && !isLoose && !tree.isEmpty());
  const bool hasPhoto =
      !m_bench->currentPhoto().isEmpty() || !m_treePage->photoForBench().isEmpty();
  m_toBench->setEnabled(isOpen && hasPhoto);
  m_toPair->setEnabled(isOpen && !treeAtHand().isEmpty());
  m_toGarden->setChecked(page == m_gardenPage);
  m_toTree->setChecked(page == m_treePage);
  m_toBench->setChecked(page == m_bench);
  m_toPair->setChecked(page == m_pair);
}

void MainWindow::Parts::newGarden() {
  auto* dialog = new NewGardenDialog(&m_window);
  QObject::connect(dialog, &QDialog::accepted, &m_window, [this, dialog] {
    // Copied first: opening the garden deletes every form, this one too.
    const std::filesystem::path folder = dialog->folder();
    const std::filesystem::path photos = dialog->photos();
    const QString name = dialog->name();
    dialog->setParent(nullptr);
    auto made = store::Garden::create(folder);
    const auto named = made ? made->setName(models::stdText(name)) : Result<void>(made.error());
    const auto opened = named ? openGarden(folder) : named;
    if (!opened) {
      m_messages->sayError(opened.error());
      return;
    }
    m_messages->say(tr("Garden %1 made").arg(name));
    if (!photos.empty()) {
      showImport({photos}, {});
    }
  });
  dialog->open();
}

void MainWindow::Parts::askForGarden() {
  auto* dialog =
      new OpenGardenDialog(settings().value(QLatin1String(kLastGarden)).toString(), &m_window);
  QObject::connect(dialog, &QDialog::accepted, &m_window, [this, dialog] {
    const std::filesystem::path folder = dialog->folder();
    dialog->setParent(nullptr);
    (void)openGarden(folder);  // Says itself what went wrong.
  });
  dialog->open();
}

void MainWindow::Parts::importHere() {
  showImport({},
             m_stack->currentWidget() == m_treePage ? m_treePage->currentTree() : store::TreeId{});
}

void MainWindow::Parts::showImport(const std::vector<std::filesystem::path>& paths,
                                   const store::TreeId& tree) {
  if (!hasGarden()) {
    return;
  }
  auto* dialog = new ImportDialog(services(), tree, &m_window);
  dialog->addPaths(paths);
  dialog->open();
}

std::optional<QString> MainWindow::Parts::stepped(Result<QString> (models::UndoList::*step)(store::Garden&)) {
  const auto what = (m_undo.*step)(m_session->garden());
  if (!what) {
    m_messages->sayError(what.error());
    return std::nullopt;
  }
  m_session->announceChange();
  return *what;
}

void MainWindow::Parts::undo() {
  if (!hasGarden() || m_undo.isEmpty()) {
    return;
  }
  if (const auto undone = stepped(&models::UndoList::undoLatest)) {
    m_messages->say(tr("Taken back: %1").arg(*undone));
  }
}

void MainWindow::Parts::redo() {
  if (!hasGarden() || !m_undo.canRedo()) {
    return;
  }
  if (const auto redone = stepped(&models::UndoList::redoLatest)) {
    m_messages->offerUndo(tr("Redone: %1").arg(*redone));
  }
}

void MainWindow::Parts::setTheme(look::Theme theme) {
  look::apply(*qApp, theme);
  settings().setValue(
      QLatin1String(kTheme),
      theme == look::Theme::Dark ? QStringLiteral("dark") : QStringLiteral("light"));
  m_window.update();
}

void MainWindow::Parts::setTextPercent(int percent) {
  look::setTextScale(percent / 100.0);
  look::apply(*qApp, look::currentTheme());
  settings().setValue(QLatin1String(kTextPercent), percent);
  m_messages->say(tr("Text at %1 %. The panels get the width that goes with it when the window "
                     "opens next.")
                      .arg(percent));
}

void MainWindow::Parts::rememberWindow() {
  settings().setValue(QLatin1String(kGeometry), m_window.saveGeometry());
}

MainWindow::MainWindow(StartWith start, QWidget* parent)
    : QMainWindow(parent), m_parts(std::make_unique<Parts>(*this)) {
  if (start == StartWith::LastGarden) {
    m_parts->openLastGarden();
  }
}

MainWindow::~MainWindow() = default;

Result<void> MainWindow::openGarden(const std::filesystem::path& folder) {
  return m_parts->openGarden(folder);
}

void MainWindow::closeEvent(QCloseEvent* event) {
  m_parts->rememberWindow();
  QMainWindow::closeEvent(event);
}

void MainWindow::dragEnterEvent(QDragEnterEvent* event) {
  if (m_parts->hasGarden() && event->mimeData()->hasUrls()) {
    event->acceptProposedAction();
  }
}

void MainWindow::dropEvent(QDropEvent* event) {
  const auto files = localFiles(event->mimeData());
  if (!files.empty()) {
    m_parts->showImport(files, {});
    event->acceptProposedAction();
  }
}

}  // namespace edamori::pages
