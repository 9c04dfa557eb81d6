// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/models/rows_model.h"

namespace edamori::models {

RowsModel::RowsModel(QStringList titles, QObject* parent)
    : QAbstractTableModel(parent), m_titles(std::move(titles)) {}

void RowsModel::setRows(std::vector<WordRow> rows) {
  beginResetModel();
  m_rows = std::move(rows);
  endResetModel();
}

std::string RowsModel::idAt(const QModelIndex& index) const {
  return index.isValid() && index.row() < rowCount()
             ? m_rows[static_cast<std::size_t>(index.row())].id
             : std::string();
}

QModelIndex RowsModel::indexOf(const std::string& id) const {
  for (int row = 0; row < rowCount(); ++row) {
    if (m_rows[static_cast<std::size_t>(row)].id == id) {
      return index(row, 0);
    }
  }
  return {};
}

int RowsModel::rowCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : static_cast<int>(m_rows.size());
}

int RowsModel::columnCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : static_cast<int>(m_titles.size());
}

QVariant RowsModel::data(const QModelIndex& index, int role) const {
  if (!checkIndex(index, CheckIndexOption::IndexIsValid)) {
    return {};
  }
  const WordRow& row = m_rows[static_cast<std::size_t>(index.row())];
  const QString cell = row.cells.value(index.column());
  switch (role) {
    case Qt::DisplayRole:
      return cell;
    case Qt::ToolTipRole:
      return row.details.isEmpty() ? cell : row.details;
    case Qt::AccessibleTextRole:
      return QStringLiteral("%1: %2").arg(m_titles.value(index.column()), cell);
    default:
      return {};
  }
}

QVariant RowsModel::headerData(int section, Qt::Orientation orientation, int role) const {
  if (role != Qt::DisplayRole || orientation != Qt::Horizontal) {
    return {};
  }
  return m_titles.value(section);
}

}  // namespace edamori::models
