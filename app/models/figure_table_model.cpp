// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/models/figure_table_model.h"

#include "app/models/text.h"
#include "app/work/learning.h"

#include <QIcon>
#include <algorithm>
#include <array>
#include <ranges>

namespace edamori::models {

namespace {

constexpr int kCropPx = 320;

}  // namespace

FigureTableModel::FigureTableModel(QObject* parent) : QAbstractTableModel(parent) {}

std::vector<std::string> FigureTableModel::figuresOf(const work::TreeDetail& detail) {
  static const std::array<std::string, 5> kKnown{
      "foliage", "spot", "loss-by-cover", "loss-by-light", "spot-change"};
  std::vector<std::string> found;
  const auto has = [&detail](const std::string& figure) {
    return std::ranges::any_of(detail.figures, [&](const work::FigureRow& row) {
      return row.isOfFoliage && row.figure == figure;
    });
  };
  std::ranges::copy_if(kKnown, std::back_inserter(found), has);
  for (const work::FigureRow& row : detail.figures) {
    if (row.isOfFoliage && std::ranges::find(found, row.figure) == found.end()) {
      found.push_back(row.figure);
    }
  }
  return found;
}

void FigureTableModel::setFigure(const work::TreeDetail& detail, const std::string& figure) {
  beginResetModel();
  m_rows.clear();
  m_columns.clear();
  m_cells.clear();
  std::vector<store::BranchId> branches;
  for (const store::Branch& branch : detail.branches) {
    if (store::carriesFoliage(branch.kind)) {
      branches.push_back(branch.id);
      m_rows.push_back(qText(branch.name));
    }
  }
  const auto wanted = [&figure](const work::FigureRow& row) {
    return row.isOfFoliage && row.figure == figure;
  };
  // Newest first: that is what a person comes for.
  for (const store::Photo& photo : std::views::reverse(detail.photos)) {
    const bool carries = std::ranges::any_of(detail.figures, [&](const work::FigureRow& row) {
      return wanted(row) && row.measurement.photo == photo.id;
    });
    if (carries) {
      m_columns.push_back(photo);
    }
  }
  for (const work::FigureRow& row : detail.figures) {
    const auto branch = std::ranges::find(branches, row.measurement.branch);
    const auto photo = std::ranges::find(m_columns, row.measurement.photo, &store::Photo::id);
    if (!wanted(row) || photo == m_columns.end()) {
      continue;
    }
    int at = static_cast<int>(branch - branches.begin());
    if (branch == branches.end()) {  // measured on the whole photo
      branches.push_back(row.measurement.branch);
      m_rows.push_back(row.branchName.empty() ? tr("Whole photo") : qText(row.branchName));
      at = static_cast<int>(branches.size()) - 1;
    }
    m_cells.insert_or_assign({at, static_cast<int>(photo - m_columns.begin())}, row);
  }
  endResetModel();
}

void FigureTableModel::setPreviews(PreviewLoader* previews) {
  if (m_previews != nullptr) {
    m_previews->disconnect(this);
  }
  m_previews = previews;
  if (previews != nullptr) {
    connect(previews, &PreviewLoader::ready, this, [this] {
      if (!m_cells.empty()) {
        Q_EMIT dataChanged(
            index(0, 0), index(rowCount() - 1, columnCount() - 1), {Qt::DecorationRole});
      }
    });
  }
}

store::PhotoId FigureTableModel::photoAt(const QModelIndex& index) const {
  const work::FigureRow* row = rowAt(index);
  return row == nullptr ? store::PhotoId{} : row->measurement.photo;
}

int FigureTableModel::rowCount(const QModelIndex& parent) const {
  return parent.isValid() || m_columns.empty() ? 0 : static_cast<int>(m_rows.size());
}

int FigureTableModel::columnCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : static_cast<int>(m_columns.size());
}

const work::FigureRow* FigureTableModel::rowAt(const QModelIndex& index) const {
  const auto at = m_cells.find({index.row(), index.column()});
  return at == m_cells.end() ? nullptr : &at->second;
}

QString FigureTableModel::cellText(const work::FigureRow& row) const {
  QString text = qText(work::figureText(row.figure, row.measurement.estimate));
  // The interval goes on a line of its own, so that columns stay narrow.
  text.replace(QLatin1String(" ("), QLatin1String("\n("));
  if (!row.verdict.empty()) {
    text += QLatin1Char('\n') + qText(row.verdict);
  }
  if (!row.measurement.cautions.empty()) {
    text += QLatin1Char('\n') + tr("with caution");
  }
  return text;
}

QString FigureTableModel::cellWords(const work::FigureRow& row) const {
  QStringList lines{tr("%1, %2: %3")
                        .arg(qText(row.branchName),
                             photoDateWords(row.takenAt, row.dateSource),
                             qText(work::figureText(row.figure, row.measurement.estimate)))};
  if (!row.verdict.empty()) {
    lines << qText(row.verdict);
  }
  if (const std::string taught = work::taughtWords(row.measurement.method); !taught.empty()) {
    lines << tr("Measured %1").arg(qText(taught));
  }
  for (const Caution& caution : row.measurement.cautions) {
    lines << qText(caution.text);
  }
  lines << tr("Method %1, version %2")
               .arg(qText(row.measurement.method.name))
               .arg(row.measurement.method.version);
  return lines.join(QLatin1Char('\n'));
}

QVariant FigureTableModel::data(const QModelIndex& index, int role) const {
  if (!checkIndex(index, CheckIndexOption::IndexIsValid)) {
    return {};
  }
  const work::FigureRow* row = rowAt(index);
  if (row == nullptr) {
    return role == Qt::AccessibleTextRole ? QVariant(tr("not measured")) : QVariant();
  }
  switch (role) {
    case Qt::DisplayRole:
      return cellText(*row);
    case Qt::ToolTipRole:
    case Qt::AccessibleTextRole:
      return cellWords(*row);
    case PhotoIdRole:
      return qText(row->measurement.photo.text);
    case Qt::DecorationRole: {
      if (m_previews == nullptr || row->measurement.outline.isEmpty()) {
        return {};
      }
      const store::Photo& photo = m_columns[static_cast<std::size_t>(index.column())];
      const auto crop = m_previews->crop(photo, row->measurement, kCropPx);
      if (!crop) {
        return {};
      }
      QIcon icon(*crop);
      icon.addPixmap(*crop, QIcon::Selected);  // never tinted
      return icon;
    }
    default:
      return {};
  }
}

QVariant FigureTableModel::headerData(int section, Qt::Orientation orientation, int role) const {
  if (role != Qt::DisplayRole || section < 0) {
    return {};
  }
  const auto at = static_cast<std::size_t>(section);
  if (orientation == Qt::Vertical) {
    return at < m_rows.size() ? QVariant(m_rows[at]) : QVariant();
  }
  return at < m_columns.size()
             ? QVariant(photoDateWords(m_columns[at].takenAt, m_columns[at].dateSource))
             : QVariant();
}

}  // namespace edamori::models
