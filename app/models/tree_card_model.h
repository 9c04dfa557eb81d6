// SPDX-License-Identifier: GPL-3.0-or-later
// The trees of a garden as cards, and the filter over them.
#pragma once

#include "app/models/previews.h"
#include "app/models/text.h"
#include "app/work/overview.h"

#include <QAbstractListModel>
#include <QSortFilterProxyModel>
#include <chrono>
#include <vector>

namespace edamori::models {

// One row a tree, in the order given. DisplayRole is the tag with the species; the accessible text
// says all.
class TreeCardModel : public QAbstractListModel {
  Q_OBJECT

 public:
  enum Role {
    TreeIdRole = Qt::UserRole,  // QString
    SearchRole,                 // QString: tag, species, cultivar, owner, place
    TagRole,
    SpeciesRole,
    OwnerRole,
    PlaceRole,       // QString
    DueTextRole,     // QString
    DueStateRole,    // int of DueState
    FiguresRole,     // QStringList
    PestsRole,       // int, live insects
    PhotoCountRole,  // int
    PictureRole,     // QPixmap; null while it is being read
  };

  explicit TreeCardModel(QObject* parent = nullptr);

  void setTrees(std::vector<work::TreeSummary> trees, std::chrono::year_month_day today);
  // nullptr: cards without pictures. The loader must outlive its use here.
  void setPreviews(PreviewLoader* previews);

  [[nodiscard]] store::TreeId treeAt(int row) const;
  [[nodiscard]] int rowOf(const store::TreeId& tree) const;  // −1 when absent
  [[nodiscard]] const std::vector<work::TreeSummary>& trees() const { return m_trees; }

  [[nodiscard]] int rowCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;

 private:
  [[nodiscard]] QVariant wordsOf(const work::TreeSummary& tree, int role) const;
  [[nodiscard]] QString accessibleText(const work::TreeSummary& tree) const;
  [[nodiscard]] QPixmap picture(const work::TreeSummary& tree) const;

  std::vector<work::TreeSummary> m_trees;
  std::chrono::year_month_day m_today{};
  PreviewLoader* m_previews = nullptr;
};

// Keeps the trees in which every word of the text occurs, in any case, in any searched field.
class TreeFilter : public QSortFilterProxyModel {
  Q_OBJECT

 public:
  explicit TreeFilter(QObject* parent = nullptr);
  void setText(const QString& text);

 protected:
  [[nodiscard]] bool filterAcceptsRow(int row, const QModelIndex& parent) const override;

 private:
  QStringList m_words;
};

}  // namespace edamori::models
