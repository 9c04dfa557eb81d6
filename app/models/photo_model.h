// SPDX-License-Identifier: GPL-3.0-or-later
// Photos by date, with their pictures.
#pragma once

#include "app/models/previews.h"

#include <QAbstractListModel>
#include <vector>

namespace edamori::models {

// One row a photo, in the order given. DisplayRole is date and view in two lines, DecorationRole an
// icon that fits into 512 px; the accessible text and the tooltip say all.
class PhotoModel : public QAbstractListModel {
  Q_OBJECT

 public:
  explicit PhotoModel(QObject* parent = nullptr);

  void setPhotos(std::vector<store::Photo> photos);
  // nullptr: no pictures. The loader must outlive its use here.
  void setPreviews(PreviewLoader* previews);

  // nullptr for a row that does not exist; valid until setPhotos().
  [[nodiscard]] const store::Photo* photoAt(int row) const;
  [[nodiscard]] int rowOf(const store::PhotoId& photo) const;  // −1 when absent
  [[nodiscard]] const std::vector<store::Photo>& photos() const { return m_photos; }

  [[nodiscard]] int rowCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;

 private:
  std::vector<store::Photo> m_photos;
  PreviewLoader* m_previews = nullptr;
};

}  // namespace edamori::models
