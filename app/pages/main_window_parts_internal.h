// SPDX-License-Identifier: GPL-3.0-or-later
// The inside of the window: its pages, actions and the open garden.
#pragma once

#include "app/look/theme.h"
#include "app/pages/before_after/before_after_page.h"
#include "app/pages/bench/bench_page.h"
#include "app/pages/garden/garden_page.h"
#include "app/pages/main_window.h"
#include "app/pages/page_services.h"
#include "app/pages/start/welcome_panel.h"
#include "app/pages/tree/tree_page.h"

#include <QAction>
#include <QKeySequence>
#include <functional>
#include <memory>
#include <vector>

class QActionGroup;
class QLabel;
class QMenu;
class QStackedWidget;
class QToolButton;

namespace edamori::pages {

class MainWindow::Parts {
 public:
  explicit Parts(MainWindow& window);
  ~Parts();

  Result<void> openGarden(const std::filesystem::path& folder);
  void openLastGarden();
  void showImport(const std::vector<std::filesystem::path>& paths, const store::TreeId& tree);
  void rememberWindow();
  [[nodiscard]] bool hasGarden() const { return m_session != nullptr; }

 private:
  // When an action can be chosen.
  // TreeAtHand: also the tree of the photo on the Bench, or of the pair; its page is shown first.
  enum class Needs { Nothing, Garden, Tree, TreeAtHand };
  struct Entry {
    QString text;
    QKeySequence keys;
    Needs needs;
    std::function<void()> act;
  };

  void createPages();
  QWidget* createTrail();
  void createMenus();
  void createGardenMenu();
  void createTreeMenu();
  void createRecordsMenu();
  void createViewMenu();
  void addTextSizes(QMenu* menu);
  void createHelpMenu();
  void connectPages();
  QAction* add(QMenu* menu, const Entry& entry);

  void letGo();
  void showPage(QWidget* page);
  void showBench();
  void showBeforeAfter(const store::PhotoId& after);
  [[nodiscard]] bool isTreeAtHand() const;
  [[nodiscard]] store::TreeId treeAtHand() const;
  [[nodiscard]] bool isBenchOfTree() const;
  void showTree(const store::TreeId& tree);
  // Shows the tree of the chosen card; whether a tree is at hand.
  bool takeUpTree(Needs needs);
  void showPhoto(const store::PhotoId& photo);
  void updateTrail();
  void updateSteps();
  void newGarden();
  void askForGarden();
  void importHere();
  void editName();
  void bringBackTree();
  void checkGarden();
  void backUpGarden();
  void restoreBackup();
  // One step through what was done, told to the pages; what it was, or nullopt once the error is said.
  std::optional<QString> stepped(Result<QString> (models::UndoList::*step)(store::Garden&));
  void undo();
  void redo();
  void setTheme(look::Theme theme);
  void setTextPercent(int percent);
  void showShortcuts();
  [[nodiscard]] QString keysHtml() const;
  void showAbout();
  [[nodiscard]] PageServices services() const;

  MainWindow& m_window;
  models::UndoList m_undo;
  std::unique_ptr<GardenSession> m_session;
  std::unique_ptr<models::PreviewLoader> m_previews;
  MessageBar* m_messages;
  QStackedWidget* m_stack;
  WelcomePanel* m_welcome;
  GardenPage* m_gardenPage;
  TreePage* m_treePage;
  BenchPage* m_bench;
  BeforeAfterPage* m_pair;
  QLabel* m_gardenName;
  QLabel* m_place;  // folder, in the status bar
  QLabel* m_busy;
  QAction* m_toGarden;
  QAction* m_toTree;
  QAction* m_toBench;
  QAction* m_toPair;
  QAction* m_undoAction = nullptr;
  QAction* m_redoAction = nullptr;
  QAction* m_themeAction = nullptr;
  std::vector<std::pair<QAction*, Needs>> m_conditional;
  // Last, so that it is destroyed first: running work ends while the rest still stands.
  Jobs m_jobs;
};

}  // namespace edamori::pages
