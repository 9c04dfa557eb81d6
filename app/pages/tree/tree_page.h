// SPDX-License-Identifier: GPL-3.0-or-later
// Tree: all that is known of one tree, and what can be written down about it.
#pragma once

#include "app/models/figure_table_model.h"
#include "app/models/photo_model.h"
#include "app/models/rows_model.h"
#include "app/pages/page_services.h"

#include <QWidget>

class QComboBox;
class QHBoxLayout;
class QLabel;
class QPushButton;
class QTableView;
class QTabWidget;

namespace edamori::pages {

class ChartsPanel;
class PhotoStrip;

class TreePage : public QWidget {
  Q_OBJECT

 public:
  explicit TreePage(QWidget* parent = nullptr);

  // A session of nullptr lets go of the garden and of the tree.
  void setServices(const PageServices& services);
  // Errors: NotFound when the tree is gone; those of the store.
  Result<void> showTree(const store::TreeId& tree);
  [[nodiscard]] store::TreeId currentTree() const { return m_tree; }
  [[nodiscard]] QString title() const;  // "" without a tree
  // The chosen photo, else the newest one; empty when the tree has none.
  [[nodiscard]] store::PhotoId photoForBench() const;

  // Actions of the page's buttons and of the window's menus. Those that need a choice say so when
  // there is none.
  void editTree();
  void removeTree();
  void forgetLearned();  // what hints taught about the tree; can be undone
  void addBranch();
  void editBranch();
  void removeBranch();
  void moveBranch(int rows);  // −1 up, +1 down
  void openPhoto();
  void editPhoto();
  void removePhoto();
  void addTreatment();
  void editTreatment();
  void removeTreatment();
  void addRecheck();
  void markRecheckDone();
  void removeRecheck();
  void addNote();
  void editNote();
  void removeNote();
  void compare();
  void writeLetter();

 Q_SIGNALS:
  void photoActivated(const edamori::store::PhotoId& photo);
  // The chosen photo as the later one; empty when the newest is chosen, which may as well be none.
  void pairRequested(const edamori::store::PhotoId& after);
  void importRequested(const edamori::store::TreeId& tree);
  void treeChanged();  // another tree, or other words for it
  void treeGone();

 protected:
  void showEvent(QShowEvent* event) override;

 private:
  struct Section {
    models::RowsModel* model = nullptr;
    QTableView* table = nullptr;
  };
  struct Tool {
    QString text;
    QString objectName;
    void (TreePage::*act)();
  };

  QWidget* createFacts();
  QWidget* createBranches();
  QWidget* createPhotos();
  QWidget* createFigures();
  Section addSection(const QString& title,
                     const QString& objectName,
                     const QStringList& columns,
                     const std::vector<Tool>& tools);
  void addTools(QHBoxLayout* row, const std::vector<Tool>& tools);
  void connectActivation();

  void refresh();  // now when visible, else when shown next
  Result<void> reload();
  void fillFacts();
  void fillBranches();
  void fillFigures();
  void fillTreatments();
  void fillRechecks();
  void fillNotes();
  void showFigure();
  void showLatestFigures();
  [[nodiscard]] QString branchName(const store::BranchId& branch) const;
  [[nodiscard]] const store::Photo* chosenPhoto();  // nullptr: said so

  PageServices m_services;
  store::TreeId m_tree;
  work::TreeDetail m_detail;
  bool m_isStale = false;

  QLabel* m_title;
  QLabel* m_due;
  QLabel* m_facts;
  models::RowsModel* m_branchModel;
  QTableView* m_branches;
  models::PhotoModel* m_photoModel;
  PhotoStrip* m_photos;
  QLabel* m_photoTitle;
  QTabWidget* m_sections;
  QComboBox* m_figure;
  models::FigureTableModel* m_figureModel;
  QTableView* m_figures;
  QLabel* m_noFigures;
  QWidget* m_figureBar;
  ChartsPanel* m_charts;
  Section m_treatments, m_rechecks, m_notes;
};

}  // namespace edamori::pages
