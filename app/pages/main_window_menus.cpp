// SPDX-License-Identifier: GPL-3.0-or-later
// The window's menus: every action that a button has, and a few that only live here.
#include "app/models/text.h"
#include "app/pages/controls.h"
#include "app/pages/main_window_parts_internal.h"
#include "app/pages/start/restore_dialog.h"
#include "store/safety/safety.h"

#include <QActionGroup>
#include <QComboBox>
#include <QFormLayout>
#include <QLabel>
#include <QLineEdit>
#include <QMenu>
#include <QMenuBar>
#include <QPushButton>
#include <QStackedWidget>
#include <QTextBrowser>
#include <QVBoxLayout>
#include <cmath>

namespace edamori::pages {

using models::qText;
using models::stdText;

QAction* MainWindow::Parts::add(QMenu* menu, const Entry& entry) {
  auto* action = new QAction(entry.text, &m_window);
  action->setShortcut(entry.keys);
  QObject::connect(action, &QAction::triggered, &m_window, [this, needs = entry.needs, act = entry.act] {
    if ((needs != Needs::Tree && needs != Needs::TreeAtHand) || takeUpTree(needs)) {
      act();
    }
  });
  menu->addAction(action);
  m_conditional.emplace_back(action, entry.needs);
  return action;
}

void MainWindow::Parts::createMenus() {
  createGardenMenu();
  createTreeMenu();
  createRecordsMenu();
  createViewMenu();
  createHelpMenu();
}

void MainWindow::Parts::createGardenMenu() {
  QMenu* menu = m_window.menuBar()->addMenu(tr("&Garden"));
  add(menu, {tr("&New garden…"), QKeySequence::New, Needs::Nothing, [this] { newGarden(); }});
  add(menu,
      {tr("&Open a garden…"), QKeySequence::Open, Needs::Nothing, [this] { askForGarden(); }});
  add(menu, {tr("Open the &demo garden"), {}, Needs::Nothing, [this] {
               showPage(m_welcome);
               m_welcome->openDemo();
             }});
  menu->addSeparator();
  add(menu, {tr("&Import photos…"), Qt::CTRL | Qt::Key_I, Needs::Garden, [this] { importHere(); }})
      ->setIcon(look::icon(look::Glyph::Import));
  add(menu,
      {tr("&Add tree…"),
       Qt::CTRL | Qt::Key_T,
       Needs::Garden,
       [this] {
         showPage(m_gardenPage);
         m_gardenPage->addTree();
       }})
      ->setIcon(look::icon(look::Glyph::Add));
  add(menu, {tr("O&wners…"), {}, Needs::Garden, [this] {
               showPage(m_gardenPage);
               m_gardenPage->openOwners();
             }});
  add(menu, {tr("&File the chosen photos"), {}, Needs::Garden, [this] {
               showPage(m_gardenPage);
               m_gardenPage->fileChosenPhotos();
             }});
  add(menu, {tr("Bring back a re&moved tree…"), {}, Needs::Garden, [this] { bringBackTree(); }});
  add(menu, {tr("&Rename the garden…"), {}, Needs::Garden, [this] { editName(); }});
  menu->addSeparator();
  add(menu, {tr("&Check everything"), {}, Needs::Garden, [this] { checkGarden(); }});
  add(menu, {tr("&Back up…"), {}, Needs::Garden, [this] { backUpGarden(); }});
  add(menu, {tr("Re&store a backup…"), {}, Needs::Nothing, [this] { restoreBackup(); }});
  menu->addSeparator();
  m_undoAction = new QAction(look::icon(look::Glyph::Undo), tr("&Undo"), &m_window);
  m_undoAction->setObjectName(QStringLiteral("undoAction"));
  m_undoAction->setShortcut(QKeySequence::Undo);
  // Heard wherever the focus lies, but for the Bench, which takes its own steps back: there both are off.
  QObject::connect(m_undoAction, &QAction::triggered, &m_window, [this] { undo(); });
  menu->addAction(m_undoAction);
  m_redoAction = new QAction(look::icon(look::Glyph::Redo), tr("R&edo"), &m_window);
  m_redoAction->setObjectName(QStringLiteral("redoAction"));
  m_redoAction->setShortcut(QKeySequence::Redo);
  QObject::connect(m_redoAction, &QAction::triggered, &m_window, [this] { redo(); });
  menu->addAction(m_redoAction);
  menu->addSeparator();
  add(menu, {tr("&Quit"), QKeySequence::Quit, Needs::Nothing, [this] { m_window.close(); }});
}

void MainWindow::Parts::createTreeMenu() {
  QMenu* menu = m_window.menuBar()->addMenu(tr("&Tree"));
  const auto on = [this, menu](const QString& text, const QKeySequence& keys, void (TreePage::*act)(),
                               Needs needs = Needs::Tree) {
    return add(menu, {text, keys, needs, [this, act] { (m_treePage->*act)(); }});
  };
  on(tr("&Edit tree…"), Qt::CTRL | Qt::Key_E, &TreePage::editTree)
      ->setIcon(look::icon(look::Glyph::Edit));
  on(tr("&Remove tree"), {}, &TreePage::removeTree)->setIcon(look::icon(look::Glyph::Remove));
  on(tr("&Forget what hints taught about this tree"), {}, &TreePage::forgetLearned)
      ->setObjectName(QStringLiteral("forgetLearned"));
  menu->addSeparator();
  on(tr("Open photo on the &Bench"), {}, &TreePage::openPhoto)
      ->setIcon(look::icon(look::Glyph::Bench));
  on(tr("&Date, view and tree of the photo…"), Qt::CTRL | Qt::Key_D, &TreePage::editPhoto);
  on(tr("Remove &photo"), {}, &TreePage::removePhoto);
  menu->addSeparator();
  on(tr("&Compare two photos"), Qt::CTRL | Qt::Key_K, &TreePage::compare);
  on(tr("&Write letter…"), Qt::CTRL | Qt::Key_L, &TreePage::writeLetter, Needs::TreeAtHand)
      ->setIcon(look::icon(look::Glyph::Letter));
}

void MainWindow::Parts::createRecordsMenu() {
  QMenu* menu = m_window.menuBar()->addMenu(tr("&Records"));
  const auto on = [this, menu](
                      const QString& text, const QKeySequence& keys, void (TreePage::*act)()) {
    add(menu, {text, keys, Needs::Tree, [this, act] { (m_treePage->*act)(); }});
  };
  on(tr("Add &branch…"), Qt::CTRL | Qt::Key_B, &TreePage::addBranch);
  on(tr("Edit b&ranch…"), {}, &TreePage::editBranch);
  add(menu, {tr("Move branch &up"), {}, Needs::Tree, [this] { m_treePage->moveBranch(-1); }});
  add(menu, {tr("Move branch &down"), {}, Needs::Tree, [this] { m_treePage->moveBranch(+1); }});
  on(tr("Re&move branch"), {}, &TreePage::removeBranch);
  menu->addSeparator();
  on(tr("Add &treatment…"), Qt::CTRL | Qt::SHIFT | Qt::Key_T, &TreePage::addTreatment);
  on(tr("&Edit treatment…"), {}, &TreePage::editTreatment);
  on(tr("Remove treatme&nt"), {}, &TreePage::removeTreatment);
  menu->addSeparator();
  on(tr("Plan a &check…"), Qt::CTRL | Qt::SHIFT | Qt::Key_C, &TreePage::addRecheck);
  on(tr("Mark check as d&one"), {}, &TreePage::markRecheckDone);
  on(tr("Remove chec&k"), {}, &TreePage::removeRecheck);
  menu->addSeparator();
  on(tr("&Add note…"), Qt::CTRL | Qt::SHIFT | Qt::Key_N, &TreePage::addNote);
  on(tr("Ed&it note…"), {}, &TreePage::editNote);
  on(tr("Remo&ve note"), {}, &TreePage::removeNote);
}

void MainWindow::Parts::createViewMenu() {
  QMenu* menu = m_window.menuBar()->addMenu(tr("&View"));
  menu->addAction(m_toGarden);
  menu->addAction(m_toTree);
  menu->addAction(m_toBench);
  menu->addAction(m_toPair);
  menu->addSeparator();
  add(menu, {tr("&Find a tree"), QKeySequence::Find, Needs::Garden, [this] {
               showPage(m_gardenPage);
               m_gardenPage->focusFilter();
             }});
  m_themeAction = new QAction(look::icon(look::Glyph::Theme), tr("&Dark colours"), &m_window);
  m_themeAction->setObjectName(QStringLiteral("themeAction"));
  m_themeAction->setCheckable(true);
  m_themeAction->setShortcut(Qt::CTRL | Qt::SHIFT | Qt::Key_D);
  m_themeAction->setChecked(look::currentTheme() == look::Theme::Dark);
  QObject::connect(m_themeAction, &QAction::toggled, &m_window, [this](bool isDark) {
    setTheme(isDark ? look::Theme::Dark : look::Theme::Light);
  });
  menu->addAction(m_themeAction);
  addTextSizes(menu->addMenu(tr("&Text size")));
}

void MainWindow::Parts::addTextSizes(QMenu* menu) {
  auto* group = new QActionGroup(menu);
  const long now = std::lround(100.0 * look::textScale());
  for (const auto& [percent, text] : {std::pair{100, tr("&100 %")},
                                      std::pair{125, tr("12&5 %")},
                                      std::pair{150, tr("15&0 %")},
                                      std::pair{200, tr("&200 %")}}) {
    auto* size = new QAction(text, group);
    size->setObjectName(QStringLiteral("text%1").arg(percent));
    size->setCheckable(true);
    size->setChecked(percent == now);
    QObject::connect(size, &QAction::triggered, &m_window, [this, percent = percent] {
      setTextPercent(percent);
    });
    menu->addAction(size);
  }
}

void MainWindow::Parts::createHelpMenu() {
  QMenu* menu = m_window.menuBar()->addMenu(tr("&Help"));
  add(menu,
      {tr("&Keys…"), QKeySequence::HelpContents, Needs::Nothing, [this] { showShortcuts(); }});
  add(menu, {tr("&About Edamori…"), {}, Needs::Nothing, [this] { showAbout(); }});
}

namespace {

// One line to enter, in a form of its own.
class NameDialog : public FormDialog {
 public:
  NameDialog(const QString& title,
             const QString& doIt,
             const QString& labelText,
             QWidget* field,
             QWidget* parent)
      : FormDialog(title, doIt, parent) {
    setObjectName(QStringLiteral("nameDialog"));
    addField(form(), labelText, field);
  }
};

class WordsDialog : public FormDialog {
 public:
  WordsDialog(const QString& title, const QString& words, QWidget* parent)
      : FormDialog(title, QObject::tr("&Close"), parent) {
    setObjectName(QStringLiteral("wordsDialog"));
    body()->addWidget(label(words, {}));
    findChild<QPushButton*>(QStringLiteral("cancel"))->setVisible(false);
  }
};

// Longer than a low screen: it scrolls.
class KeysDialog : public FormDialog {
 public:
  KeysDialog(const QString& html, QWidget* parent)
      : FormDialog(QObject::tr("Keys"), QObject::tr("&Close"), parent) {
    setObjectName(QStringLiteral("keysDialog"));
    auto* words = new QTextBrowser;
    words->setObjectName(QStringLiteral("keys"));
    words->setAccessibleName(QObject::tr("Keys and what they do"));
    words->setHtml(html);
    setMinimumWidth(dialogWidth(800));
    words->setMinimumHeight(480);
    body()->addWidget(words, 1);
    findChild<QPushButton*>(QStringLiteral("cancel"))->setVisible(false);
  }
};

}  // namespace

void MainWindow::Parts::editName() {
  auto* name = lineEdit(QStringLiteral("gardenName"), qText(m_session->garden().name()));
  auto* dialog = new NameDialog(tr("Rename the garden"), tr("&Save"), tr("&Name:"), name, &m_window);
  QObject::connect(dialog, &QDialog::accepted, &m_window, [this, name] {
    write(services(), tr("Garden renamed"), [name](store::Garden& garden) {
      return garden.setName(stdText(name->text().trimmed()));
    });
    updateTrail();
  });
  dialog->open();
}

// Undo ends with the session; the bin does not.
void MainWindow::Parts::bringBackTree() {
  const auto trees = m_session->garden().removedTrees();
  if (!trees) {
    m_messages->sayError(trees.error());
    return;
  }
  if (trees->empty()) {
    m_messages->say(tr("No tree of this garden was removed."));
    return;
  }
  auto* choice = new QComboBox;
  choice->setObjectName(QStringLiteral("removedTree"));
  for (const store::Tree& tree : *trees) {
    choice->addItem(models::treeWords(tree), qText(tree.id.text));
  }
  auto* dialog = new NameDialog(tr("Bring back a removed tree"), tr("&Bring it back"), tr("&Tree:"), choice, &m_window);
  QObject::connect(dialog, &QDialog::accepted, &m_window, [this, choice] {
    const store::TreeId tree{stdText(choice->currentData().toString())};
    if (write(services(), tr("%1 is back, with its photos and records").arg(choice->currentText()),
              [&tree](store::Garden& garden) { return garden.restore(tree); })) {
      showPage(m_gardenPage);
    }
  });
  dialog->open();
}

void MainWindow::Parts::checkGarden() {
  m_messages->say(tr("Checking every record and every original…"));
  m_jobs.start<store::CheckReport>(
      &m_window,
      [folder =
           m_session->garden().folder()](const JobControl& control) -> Result<store::CheckReport> {
        const auto garden = store::Garden::open(folder);
        if (!garden) {
          return garden.error();
        }
        return store::checkGarden(*garden, [&control](int, int) { return !control.isCancelled(); });
      },
      [this](Result<store::CheckReport> report) {
        if (!report) {
          m_messages->sayError(report.error());
        } else if (report->problems.empty()) {
          m_messages->say(
              tr("The garden is sound: %1 and %2 checked.")
                  .arg(models::countWords(report->photosChecked, tr("photo"), tr("photos")),
                       models::countWords(report->recordsChecked, tr("record"), tr("records"))));
        } else {
          QStringList lines;
          for (const std::string& problem : report->problems) {
            lines << qText(problem);
          }
          (new WordsDialog(
               tr("The check found problems"), lines.join(QLatin1Char('\n')), &m_window))
              ->open();
        }
      });
}

void MainWindow::Parts::backUpGarden() {
  auto* file = new PathField(PathField::Kind::NewFile, QStringLiteral("backupFile"));
  file->setPath(m_session->garden().backupsFolder() /
                ("garden-" + store::toText(models::today()) + ".tar"));
  auto* dialog = new NameDialog(tr("Back up the garden"), tr("&Back up"), tr("&File:"), file, &m_window);
  dialog->setMinimumWidth(dialogWidth(620));
  QObject::connect(dialog, &QDialog::accepted, &m_window, [this, file] {
    m_jobs.start<std::filesystem::path>(
        &m_window,
        [folder = m_session->garden().folder(),
         path = file->path()](const JobControl&) -> Result<std::filesystem::path> {
          const auto garden = store::Garden::open(folder);
          if (!garden) {
            return garden.error();
          }
          EDAMORI_RETURN_IF_ERROR(store::backupGarden(*garden, path));
          return path;
        },
        [this](Result<std::filesystem::path> written) {
          if (written) {
            m_messages->say(tr("Backup written: %1").arg(models::pathText(*written)));
          } else {
            m_messages->sayError(written.error());
          }
        });
  });
  dialog->open();
}

void MainWindow::Parts::restoreBackup() {
  auto* dialog = new RestoreDialog(services(), &m_window);
  QObject::connect(dialog, &QDialog::accepted, &m_window, [this, dialog] {
    // Copied first: opening the garden deletes every form, this one too.
    const std::filesystem::path folder = dialog->folder();
    dialog->setParent(nullptr);
    if (openGarden(folder)) {
      m_messages->say(tr("Restored and opened: %1").arg(models::pathText(folder)));
    }
  });
  dialog->open();
}

// Two keys side by side, those of the pages after those of the window; each key once.
QString MainWindow::Parts::keysHtml() const {
  const auto table = [](QStringList& known, const QString& title, const QList<QAction*>& actions) {
    QStringList cells;
    for (const QAction* action : actions) {
      const QString keys = action->shortcut().toString(QKeySequence::NativeText);
      if (!keys.isEmpty() && !known.contains(keys)) {
        known << keys;
        cells << QStringLiteral("<td width='18%'><b>%1</b></td><td width='32%'>%2</td>")
                     .arg(keys.toHtmlEscaped(), withoutMnemonic(action->text()).toHtmlEscaped());
      }
    }
    QString html = QStringLiteral("<h4>%1</h4><table width='100%' cellspacing='4'>").arg(title);
    for (qsizetype i = 0; i < cells.size(); ++i) {
      html += i % 2 == 0 ? QStringLiteral("<tr>") + cells[i]
                         : cells[i] + QStringLiteral("</tr>");
    }
    return html + (cells.size() % 2 == 1 ? QStringLiteral("<td></td><td></td></tr></table>")
                                         : QStringLiteral("</table>"));
  };
  QList<QAction*> everywhere;
  for (QAction* action : m_window.findChildren<QAction*>()) {
    if (!m_bench->actions().contains(action) && !m_pair->keyActions().contains(action)) {
      everywhere << action;
    }
  }
  QStringList said;
  // One after the other: a key that both have is said of the whole window.
  const QString inWindow = table(said, tr("In the whole window"), everywhere);
  QStringList saidOfPair = said;  // a page may give a key of another page its own meaning
  const QString onBench = table(said, tr("On the Bench"), m_bench->actions());
  const QString onPair =
      table(saidOfPair, tr("On the photos of Before &amp; After"), m_pair->keyActions());
  return inWindow + onBench + onPair +
         QStringLiteral("<p>%1</p>")
             .arg(tr("Arrow keys move between cards and photos, Enter opens what is chosen. Tab goes "
                     "on to the next control; Alt with an underlined letter goes straight to it. "
                     "Ctrl+Enter takes a form from any of its fields."));
}

void MainWindow::Parts::showShortcuts() {
  (new KeysDialog(keysHtml(), &m_window))->open();
}

void MainWindow::Parts::showAbout() {
  (new WordsDialog(
       tr("About Edamori"),
       tr("Edamori keeps dated photos of container-trained trees and measures what can be seen on "
          "them. Every figure comes with the interval that covers what a photo cannot tell.\n\n"
          "It does not diagnose and does not advise on products: the label, local rules and a "
          "licensed person decide on sprays.\n\nLicence: GPL-3.0-or-later."),
       &m_window))
      ->open();
}

}  // namespace edamori::pages
