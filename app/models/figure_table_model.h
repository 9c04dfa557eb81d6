// SPDX-License-Identifier: GPL-3.0-or-later
// One figure of one tree: rows are branches, columns are dates.
#pragma once

#include "app/models/previews.h"
#include "app/work/overview.h"

#include <QAbstractTableModel>
#include <map>
#include <string>
#include <utility>
#include <vector>

namespace edamori::models {

// A cell is the crop of the branch on that photo with the figure and its interval; a cell without a
// measurement is empty, never 0. Columns are the photos that carry the figure, oldest first.
// Branches that carry no foliage are left out, with what was once measured on them.
class FigureTableModel : public QAbstractTableModel {
  Q_OBJECT

 public:
  enum Role { PhotoIdRole = Qt::UserRole };  // QString of a cell or column

  explicit FigureTableModel(QObject* parent = nullptr);

  // Figures that the tree has, as stored ("foliage", …), in the order of the chapters of a letter.
  [[nodiscard]] static std::vector<std::string> figuresOf(const work::TreeDetail& detail);

  void setFigure(const work::TreeDetail& detail, const std::string& figure);
  // nullptr: no crops. The loader must outlive its use here.
  void setPreviews(PreviewLoader* previews);
  [[nodiscard]] store::PhotoId photoAt(const QModelIndex& index) const;

  [[nodiscard]] int rowCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] int columnCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;
  [[nodiscard]] QVariant headerData(int section,
                                    Qt::Orientation orientation,
                                    int role) const override;

 private:
  [[nodiscard]] QString cellText(const work::FigureRow& row) const;
  [[nodiscard]] QString cellWords(const work::FigureRow& row) const;
  [[nodiscard]] const work::FigureRow* rowAt(const QModelIndex& index) const;

  std::vector<QString> m_rows;          // branch names, in order
  std::vector<store::Photo> m_columns;  // photos
  std::map<std::pair<int, int>, work::FigureRow> m_cells;
  PreviewLoader* m_previews = nullptr;
};

}  // namespace edamori::models
