// SPDX-License-Identifier: GPL-3.0-or-later
// Before & After: the same branch on two dates, laid on each other, and what changed.
#pragma once

#include "app/pages/before_after/pair_view.h"
#include "app/pages/page_services.h"
#include "app/work/overview.h"
#include "app/work/pair_proposals.h"

#include <QPointer>
#include <QWidget>

class QAction;
class QActionGroup;
class QCheckBox;
class QComboBox;
class QDoubleSpinBox;
class QHBoxLayout;
class QLabel;
class QListWidget;
class QProgressBar;
class QPushButton;
class QScrollArea;
class QSpinBox;
class QVBoxLayout;

namespace edamori::pages {

class BeforeAfterPage : public QWidget {
  Q_OBJECT

 public:
  explicit BeforeAfterPage(QWidget* parent = nullptr);

  // A session of nullptr lets go of the garden and of the pair.
  void setServices(const PageServices& services);
  // Shows the tree with `after` as the later photo; an empty one leaves the choice to the page: the
  // first pair it proposes. The same tree without a photo keeps what is shown.
  // Errors: NotFound when the tree is gone; those of the store.
  Result<void> showTree(const store::TreeId& tree, const store::PhotoId& after);
  [[nodiscard]] store::TreeId currentTree() const { return m_tree; }
  // The page's own actions with their keys, for the list of keys.
  [[nodiscard]] QList<QAction*> keyActions() const;

 protected:
  void showEvent(QShowEvent* event) override;
  void hideEvent(QHideEvent* event) override;

 private:
  QWidget* createSide();
  QWidget* createChoice();
  QWidget* createProposals();
  QWidget* createResult();
  void addResultButtons(QVBoxLayout* all);
  QWidget* createMain();
  QWidget* createModes();
  QWidget* createTaskBar();
  QWidget* createLegend();
  QAction* addMode(PairMode mode, const QString& text, const QString& hint, const QKeySequence& key);
  QAction* addViewAction(const QString& text, const QString& hint, const QKeySequence& key);
  void connectAll();

  void refresh();  // now when visible, else when shown next
  Result<void> reload();
  void takeUpChange();
  void fillBranches();
  void fillPhotos(const store::PhotoId& after);
  void fillProposals();
  void chooseFirst(const store::PhotoId& after);
  void markProposal();
  void takeUpProposal();
  [[nodiscard]] QString proposalWords(const work::PairProposal& proposal) const;
  [[nodiscard]] store::BranchId chosenBranch() const;
  [[nodiscard]] const store::Photo* photoOf(const QComboBox* box) const;
  [[nodiscard]] const store::Photo* photoOf(const store::PhotoId& id) const;
  [[nodiscard]] std::optional<PairAsked> asked() const;
  [[nodiscard]] bool isOutlinedBefore() const;

  // What the garden holds of the chosen pair, to see whether what is shown still holds.
  struct Held {
    work::BranchPair pair;
    std::optional<store::PairHelp> help;
    std::vector<store::OutlineRecord> outlines;
    friend bool operator==(const Held&, const Held&) = default;
  };
  [[nodiscard]] Held held() const;
  void takeUpChoice();
  enum class Then { Look, Compare };
  void read(Then then);
  void compare();
  void cancelWork();
  void stop();
  enum class Busy { No, Reading, Comparing };
  void setBusy(Busy busy);
  void present(const Result<ComparisonShown>& shown);
  void say(const QString& verdict, const QString& role);
  void updateControls();
  void updateTaskBar();
  void updateTurn();

  void setPlaces();
  void moveOutline();
  void takeTask();
  void leaveTask();
  void forgetHelp();
  void kept(const Result<work::PairHelpBefore>& before, const QString& said);
  void keepPair();
  void savePicture();

  PageServices m_services;
  store::TreeId m_tree;
  work::TreeDetail m_detail;
  bool m_isStale = false;
  std::vector<work::PairProposal> m_proposed;
  PairPictures m_pictures;
  bool m_hasPictures = false;
  std::optional<ComparisonShown> m_shown;
  Held m_held;
  QPointer<Job> m_job;
  int m_run = 0;  // counts up with every piece of work, so that late ends are known
  Busy m_busyWith = Busy::No;

  QLabel* m_title;
  QComboBox* m_branch;
  QComboBox* m_before;
  QComboBox* m_after;
  QSpinBox* m_window;
  QListWidget* m_proposals;
  QLabel* m_noProposals;
  QPushButton* m_compare;
  QPushButton* m_stop;
  QProgressBar* m_busy;
  QLabel* m_verdict;
  QLabel* m_figures;
  QLabel* m_cautions;
  QScrollArea* m_result;
  QPushButton* m_places;
  QPushButton* m_outline;
  QPushButton* m_forget;
  QPushButton* m_keep;
  QPushButton* m_save;
  PairView* m_view;
  QActionGroup* m_modes;
  std::vector<QAction*> m_viewActions;
  QWidget* m_turnBar;
  QCheckBox* m_turnItself;
  QDoubleSpinBox* m_turnSeconds;
  QWidget* m_legend;
  QWidget* m_taskBar;
  QLabel* m_taskWords;
  QPushButton* m_taskUse;
  QPushButton* m_taskBack;
  QPushButton* m_taskLeave;
};

}  // namespace edamori::pages
