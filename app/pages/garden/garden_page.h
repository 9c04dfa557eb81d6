// SPDX-License-Identifier: GPL-3.0-or-later
// Garden: all trees as cards, due ones first, and the photos that wait to be filed.
#pragma once

#include "app/models/photo_model.h"
#include "app/models/tree_card_model.h"
#include "app/pages/page_services.h"

#include <QWidget>

class QComboBox;
class QFrame;
class QLabel;
class QLineEdit;
class QListView;
class QPushButton;

namespace edamori::pages {

class CardView;

class GardenPage : public QWidget {
  Q_OBJECT

 public:
  explicit GardenPage(QWidget* parent = nullptr);

  // A session of nullptr lets go of the garden.
  void setServices(const PageServices& services);
  void focusFilter();
  void focusTrees();  // the first card, when none is chosen; nothing happens without trees
  // Opens a form; the tree is stored when the person takes it.
  void addTree();
  void openOwners();
  // Files the chosen photos of the shelf under the chosen tree.
  void fileChosenPhotos();
  [[nodiscard]] store::TreeId chosenTree() const;  // empty: no card is chosen

 Q_SIGNALS:
  void treeActivated(const edamori::store::TreeId& tree);
  void choiceChanged();
  void photoActivated(const edamori::store::PhotoId& photo);
  void importRequested();

 protected:
  void showEvent(QShowEvent* event) override;

 private:
  void createLayout();
  QWidget* createBar();
  QWidget* createShelf();
  void refresh();  // reload(), put off until the page is seen
  void reload();
  void reloadShelf();
  void showCounts();

  PageServices m_services;
  bool m_isStale = false;  // changed while another page was seen
  models::TreeCardModel* m_cards;
  models::TreeFilter* m_filter;
  models::PhotoModel* m_unfiled;
  QLineEdit* m_search;
  QLabel* m_counts;
  QLabel* m_nothing;
  CardView* m_view;
  QFrame* m_shelf;
  QLabel* m_shelfTitle;
  QListView* m_shelfPhotos;
  QComboBox* m_shelfTree;
  QPushButton* m_shelfFile;
};

}  // namespace edamori::pages
