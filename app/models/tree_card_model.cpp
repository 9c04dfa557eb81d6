// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/models/tree_card_model.h"

#include "app/work/photos.h"

#include <algorithm>

namespace edamori::models {

namespace {

constexpr int kCardFigures = 2;

}  // namespace

TreeCardModel::TreeCardModel(QObject* parent) : QAbstractListModel(parent) {}

void TreeCardModel::setTrees(std::vector<work::TreeSummary> trees,
                             std::chrono::year_month_day today) {
  beginResetModel();
  m_trees = std::move(trees);
  m_today = today;
  endResetModel();
}

void TreeCardModel::setPreviews(PreviewLoader* previews) {
  if (m_previews != nullptr) {
    m_previews->disconnect(this);
  }
  m_previews = previews;
  if (previews != nullptr) {
    connect(previews, &PreviewLoader::ready, this, [this] {
      if (!m_trees.empty()) {
        Q_EMIT dataChanged(index(0), index(rowCount() - 1), {PictureRole});
      }
    });
  }
}

store::TreeId TreeCardModel::treeAt(int row) const {
  return row >= 0 && row < rowCount() ? m_trees[static_cast<std::size_t>(row)].tree.id
                                      : store::TreeId{};
}

int TreeCardModel::rowOf(const store::TreeId& tree) const {
  const auto at = std::ranges::find_if(
      m_trees, [&tree](const work::TreeSummary& summary) { return summary.tree.id == tree; });
  return at == m_trees.end() ? -1 : static_cast<int>(at - m_trees.begin());
}

int TreeCardModel::rowCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : static_cast<int>(m_trees.size());
}

QVariant TreeCardModel::data(const QModelIndex& index, int role) const {
  if (!checkIndex(index, CheckIndexOption::IndexIsValid)) {
    return {};
  }
  const work::TreeSummary& tree = m_trees[static_cast<std::size_t>(index.row())];
  switch (role) {
    case DueStateRole:
      return static_cast<int>(dueWords(tree.nextRecheck, m_today).state);
    case FiguresRole:
      return cardFigures(tree.latestFigures, kCardFigures);
    case PestsRole:
      return tree.livePests;
    case PhotoCountRole:
      return tree.photoCount;
    case PictureRole:
      return picture(tree);
    default:
      return wordsOf(tree, role);
  }
}

QVariant TreeCardModel::wordsOf(const work::TreeSummary& tree, int role) const {
  switch (role) {
    case Qt::DisplayRole:
      return treeWords(tree.tree);
    case Qt::AccessibleTextRole:
      return accessibleText(tree);
    case Qt::ToolTipRole:
      return qText(tree.tree.note);
    case TreeIdRole:
      return qText(tree.tree.id.text);
    case TagRole:
      return qText(tree.tree.tag);
    case SpeciesRole:
      return speciesWords(tree.tree);
    case OwnerRole:
      return tree.ownerName.empty() ? tr("The keeper's own") : qText(tree.ownerName);
    case PlaceRole:
      return qText(tree.tree.place);
    case DueTextRole:
      return dueWords(tree.nextRecheck, m_today).text;
    case SearchRole:
      return QStringList({qText(tree.tree.tag),
                          qText(tree.tree.species),
                          qText(tree.tree.cultivar),
                          qText(tree.ownerName),
                          qText(tree.tree.place)})
          .join(QLatin1Char('\n'));
    default:
      return {};
  }
}

QString TreeCardModel::accessibleText(const work::TreeSummary& tree) const {
  QStringList parts{qText(tree.tree.tag),
                    speciesWords(tree.tree),
                    wordsOf(tree, OwnerRole).toString(),
                    qText(tree.tree.place),
                    dueWords(tree.nextRecheck, m_today).text};
  parts += cardFigures(tree.latestFigures, kCardFigures)
               .replaceInStrings(QStringLiteral("\n"), QStringLiteral(" "));
  parts << pestWords(tree.livePests)
        << countWords(tree.photoCount, tr("photo"), tr("photos"));
  parts.removeAll(QString());
  return parts.join(QStringLiteral(", "));
}

QPixmap TreeCardModel::picture(const work::TreeSummary& tree) const {
  if (m_previews == nullptr || !tree.latestPhoto) {
    return {};
  }
  return m_previews->preview(*tree.latestPhoto, work::kSmallPreviewPx).value_or(QPixmap());
}

TreeFilter::TreeFilter(QObject* parent) : QSortFilterProxyModel(parent) {}

void TreeFilter::setText(const QString& text) {
  m_words = text.split(QLatin1Char(' '), Qt::SkipEmptyParts);
  invalidateFilter();
}

bool TreeFilter::filterAcceptsRow(int row, const QModelIndex& parent) const {
  const QString searched =
      sourceModel()->index(row, 0, parent).data(TreeCardModel::SearchRole).toString();
  return std::ranges::all_of(m_words, [&searched](const QString& word) {
    return searched.contains(word, Qt::CaseInsensitive);
  });
}

}  // namespace edamori::models
