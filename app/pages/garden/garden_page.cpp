// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/garden/garden_page.h"

#include "app/look/theme.h"
#include "app/pages/controls.h"
#include "app/pages/filing.h"
#include "app/pages/garden/card_view.h"
#include "app/pages/garden/owners_dialog.h"
#include "app/pages/garden/tree_dialog.h"
#include "app/pages/photo_strip.h"

#include <QComboBox>
#include <QFrame>
#include <QHBoxLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QVBoxLayout>
#include <algorithm>

namespace edamori::pages {

using models::qText;
using models::stdText;

GardenPage::GardenPage(QWidget* parent)
    : QWidget(parent),
      m_cards(new models::TreeCardModel(this)),
      m_filter(new models::TreeFilter(this)),
      m_unfiled(new models::PhotoModel(this)),
      m_search(lineEdit(QStringLiteral("treeFilter"), {})),
      m_counts(label({}, QStringLiteral("quiet"))),
      m_nothing(label({}, QStringLiteral("quiet"))),
      m_view(new CardView) {
  setObjectName(QStringLiteral("gardenPage"));
  m_filter->setSourceModel(m_cards);
  createLayout();
  addPaneKeys(this, [this]() -> std::vector<Pane> {
    return {{m_search, m_search}, {m_view, m_view}, {m_shelf, m_shelfPhotos}};
  });
  connect(m_search, &QLineEdit::textChanged, this, [this](const QString& text) {
    m_filter->setText(text);
    showCounts();
  });
  connect(m_search, &QLineEdit::returnPressed, this, [this] { m_view->setFocus(); });
  connect(m_view->selectionModel(),
          &QItemSelectionModel::currentChanged,
          this,
          &GardenPage::choiceChanged);
  connect(m_view, &QListView::activated, this, [this](const QModelIndex& index) {
    Q_EMIT treeActivated({stdText(index.data(models::TreeCardModel::TreeIdRole).toString())});
  });
}

void GardenPage::createLayout() {
  m_view->setObjectName(QStringLiteral("treeCards"));
  m_view->setAccessibleName(tr("Trees, due ones first"));
  m_view->setModel(m_filter);
  m_nothing->setAlignment(Qt::AlignCenter);
  m_nothing->setVisible(false);
  auto* all = new QVBoxLayout(this);
  all->setContentsMargins(look::kGrid * 2, look::kGrid, look::kGrid * 2, look::kGrid);
  all->setSpacing(look::kGrid);
  all->addWidget(createBar());
  all->addWidget(m_nothing, 1);
  all->addWidget(m_view, 1);
  all->addWidget(createShelf());
}

QWidget* GardenPage::createBar() {
  auto* bar = new QWidget;
  auto* name = new QLabel(tr("&Find:"));
  name->setBuddy(m_search);
  m_search->setAccessibleName(tr("Find trees by tag, species, owner or place"));
  m_search->setPlaceholderText(tr("tag, species, owner or place"));
  m_search->setClearButtonEnabled(true);
  m_search->setMinimumWidth(look::forText(280));
  auto* add = button(tr("&Add tree…"), QStringLiteral("addTree"), ButtonRole::Primary);
  auto* owners = button(tr("&Owners…"), QStringLiteral("owners"), ButtonRole::Plain);
  connect(add, &QPushButton::clicked, this, &GardenPage::addTree);
  connect(owners, &QPushButton::clicked, this, &GardenPage::openOwners);
  m_counts->setWordWrap(false);
  auto* row = new QHBoxLayout(bar);
  row->setContentsMargins(0, 0, 0, 0);
  row->addWidget(name);
  row->addWidget(m_search, 1);
  row->addWidget(m_counts);
  row->addStretch(1);
  row->addWidget(owners);
  row->addWidget(add);
  return bar;
}

QWidget* GardenPage::createShelf() {
  m_shelf = new QFrame;
  m_shelf->setProperty("role", QStringLiteral("panel"));
  m_shelf->setObjectName(QStringLiteral("shelf"));
  m_shelfTitle = label({}, QStringLiteral("heading"));
  m_shelfPhotos = new PhotoStrip(m_unfiled);
  m_shelfPhotos->setObjectName(QStringLiteral("unfiledPhotos"));
  m_shelfPhotos->setAccessibleName(tr("Photos not yet filed under a tree"));
  m_shelfPhotos->setSelectionMode(QAbstractItemView::ExtendedSelection);
  m_shelfTree = choice(QStringLiteral("shelfTree"));
  m_shelfTree->setSizeAdjustPolicy(QComboBox::AdjustToContents);
  m_shelfTree->setMaximumWidth(360);
  auto* under = new QLabel(tr("File the chosen photos u&nder:"));
  under->setBuddy(m_shelfTree);
  m_shelfTree->setAccessibleName(tr("Tree to file the chosen photos under"));
  m_shelfFile = button(tr("F&ile"), QStringLiteral("filePhotos"), ButtonRole::Primary);
  connect(m_shelfFile, &QPushButton::clicked, this, &GardenPage::fileChosenPhotos);
  connect(m_shelfPhotos, &QListView::activated, this, [this](const QModelIndex& index) {
    if (const store::Photo* photo = m_unfiled->photoAt(index.row())) {
      Q_EMIT photoActivated(photo->id);
    }
  });
  auto* row = new QHBoxLayout;
  row->addWidget(m_shelfTitle, 1);
  row->addWidget(under);
  row->addWidget(m_shelfTree);
  row->addWidget(m_shelfFile);
  auto* all = new QVBoxLayout(m_shelf);
  all->addLayout(row);
  all->addWidget(m_shelfPhotos);
  m_shelf->setVisible(false);
  return m_shelf;
}

void GardenPage::setServices(const PageServices& services) {
  m_services = services;
  m_cards->setPreviews(services.previews);
  m_unfiled->setPreviews(services.previews);
  if (services.session == nullptr) {
    m_cards->setTrees({}, models::today());
    m_unfiled->setPhotos({});
    return;
  }
  connect(services.session, &GardenSession::changed, this, &GardenPage::refresh);
  m_search->clear();
  reload();
}

void GardenPage::focusTrees() {
  if (m_filter->rowCount() == 0) {
    return;
  }
  if (!m_view->currentIndex().isValid()) {
    m_view->setCurrentIndex(m_filter->index(0, 0));
  }
  m_view->setFocus();
}

void GardenPage::focusFilter() {
  m_search->setFocus(Qt::ShortcutFocusReason);
  m_search->selectAll();
}

// Every mark set on the Bench is a change: the whole garden is not read again for each.
void GardenPage::refresh() {
  if (isVisible()) {
    reload();
  } else {
    m_isStale = true;
  }
}

void GardenPage::showEvent(QShowEvent* event) {
  QWidget::showEvent(event);
  if (m_isStale && m_services.session != nullptr) {
    reload();
  }
}

void GardenPage::reload() {
  m_isStale = false;
  const QString chosen = m_view->currentIndex().data(models::TreeCardModel::TreeIdRole).toString();
  const auto today = models::today();
  auto trees = work::treeSummaries(m_services.session->garden(), today);
  if (!trees) {
    m_services.messages->sayError(trees.error());
    return;
  }
  m_cards->setTrees(std::move(trees).value(), today);
  if (const int row = m_cards->rowOf({stdText(chosen)}); row >= 0) {
    m_view->setCurrentIndex(m_filter->mapFromSource(m_cards->index(row)));
  }
  showCounts();
  reloadShelf();
}

void GardenPage::reloadShelf() {
  auto photos = m_services.session->garden().unfiledPhotos();
  if (!photos) {
    m_services.messages->sayError(photos.error());
    return;
  }
  const int count = static_cast<int>(photos->size());
  // The model starts anew; what was chosen stays chosen.
  std::vector<store::PhotoId> chosen;
  for (const QModelIndex& index : m_shelfPhotos->selectionModel()->selectedIndexes()) {
    chosen.push_back(m_unfiled->photoAt(index.row())->id);
  }
  m_unfiled->setPhotos(std::move(photos).value());
  for (const store::PhotoId& photo : chosen) {
    if (const int row = m_unfiled->rowOf(photo); row >= 0) {
      const QModelIndex index = m_unfiled->index(row);
      m_shelfPhotos->selectionModel()->setCurrentIndex(index, QItemSelectionModel::Select);
    }
  }
  m_shelf->setVisible(count > 0);
  m_shelfTitle->setText(
      tr("%1 not yet filed").arg(models::countWords(count, tr("photo"), tr("photos"))));
  const QVariant kept = m_shelfTree->currentData();
  m_shelfTree->clear();
  auto trees = m_services.session->garden().trees();
  for (const store::Tree& tree : trees ? *trees : std::vector<store::Tree>{}) {
    m_shelfTree->addItem(models::treeWords(tree), qText(tree.id.text));
  }
  const bool hasTree = m_shelfTree->count() > 0;
  if (!hasTree) {
    m_shelfTree->addItem(tr("no tree yet"));
  }
  m_shelfTree->setEnabled(hasTree);
  m_shelfFile->setEnabled(hasTree);
  m_shelfTree->setCurrentIndex(std::max(0, m_shelfTree->findData(kept)));
}

void GardenPage::showCounts() {
  const auto isUrgent = [](const work::TreeSummary& tree) { return tree.isDue; };
  const int all = m_cards->rowCount();
  const int due = static_cast<int>(std::ranges::count_if(m_cards->trees(), isUrgent));
  QString text = tr("%1, %2 due").arg(models::countWords(all, tr("tree"), tr("trees"))).arg(due);
  if (m_filter->rowCount() != all) {
    text = tr("%1 of %2").arg(m_filter->rowCount()).arg(text);
  }
  m_counts->setText(text);
  m_nothing->setText(all == 0 ? tr("No tree yet. “Add tree…” enters the first one; photos can be "
                                   "imported before or after.")
                              : tr("No tree matches “%1”.").arg(m_search->text()));
  m_nothing->setVisible(m_filter->rowCount() == 0);
  m_view->setVisible(m_filter->rowCount() > 0);
}

void GardenPage::addTree() {
  if (m_services.session == nullptr) {
    return;
  }
  const auto owners = m_services.session->garden().owners();
  if (!owners) {
    m_services.messages->sayError(owners.error());
    return;
  }
  QStringList tags;
  for (const work::TreeSummary& tree : m_cards->trees()) {
    tags << qText(tree.tree.tag);
  }
  auto* dialog = new TreeDialog({}, *owners, tags, this);
  connect(dialog, &QDialog::accepted, this, [this, dialog] {
    const store::Tree tree = dialog->tree();
    if (write(m_services, tr("Tree %1 added").arg(qText(tree.tag)), [&tree](store::Garden& garden) {
          return garden.put(tree);
        })) {
      m_view->setCurrentIndex(m_filter->mapFromSource(m_cards->index(m_cards->rowOf(tree.id))));
      m_view->setFocus();
    }
  });
  dialog->open();
}

void GardenPage::openOwners() {
  if (m_services.session != nullptr) {
    (new OwnersDialog(m_services, this))->open();
  }
}

store::TreeId GardenPage::chosenTree() const {
  const QModelIndex card = m_view->currentIndex();
  return {card.isValid() ? stdText(card.data(models::TreeCardModel::TreeIdRole).toString()) : std::string()};
}

void GardenPage::fileChosenPhotos() {
  const store::TreeId tree{stdText(m_shelfTree->currentData().toString())};
  std::vector<store::Photo> chosen;
  for (const QModelIndex& index : m_shelfPhotos->selectionModel()->selectedIndexes()) {
    chosen.push_back(*m_unfiled->photoAt(index.row()));
  }
  if (tree.isEmpty() || chosen.empty()) {
    m_services.messages->sayError(tree.isEmpty() ? tr("Add a tree first, then file the photos.")
                                                 : tr("Choose the photos to file first."));
    return;
  }
  std::vector<store::Photo> filed = chosen;
  std::ranges::for_each(filed, [&tree](store::Photo& photo) { photo.tree = tree; });
  const QString said =
      tr("%1 filed under %2")
          .arg(models::countWords(static_cast<int>(filed.size()), tr("photo"), tr("photos")),
               m_shelfTree->currentText());
  filePhotos(m_services, this, chosen, filed, said);
  if (!m_shelf->isVisible()) {
    m_view->setFocus();  // keys must not end in nothing with the shelf
  }
}

}  // namespace edamori::pages
