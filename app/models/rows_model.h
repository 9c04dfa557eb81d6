// SPDX-License-Identifier: GPL-3.0-or-later
// Plain rows of words with an id: branches, treatments, rechecks, notes, owners, import results.
#pragma once

#include <QAbstractTableModel>
#include <QStringList>
#include <string>
#include <vector>

namespace edamori::models {

struct WordRow {
  std::string id;     // of the record; may be empty
  QStringList cells;  // as many as there are titles
  QString details;    // tooltip and end of the accessible text; may be empty
};

class RowsModel : public QAbstractTableModel {
  Q_OBJECT

 public:
  explicit RowsModel(QStringList titles, QObject* parent = nullptr);

  void setRows(std::vector<WordRow> rows);
  [[nodiscard]] std::string idAt(const QModelIndex& index) const;  // "" when invalid
  [[nodiscard]] QModelIndex indexOf(const std::string& id) const;  // invalid when absent

  [[nodiscard]] int rowCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] int columnCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;
  [[nodiscard]] QVariant headerData(int section,
                                    Qt::Orientation orientation,
                                    int role) const override;

 private:
  QStringList m_titles;
  std::vector<WordRow> m_rows;
};

}  // namespace edamori::models
