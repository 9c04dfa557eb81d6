// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/models/photo_model.h"

#include "app/models/text.h"
#include "app/work/photos.h"

#include <QIcon>
#include <algorithm>

namespace edamori::models {

namespace {

QString sizeWords(const store::Photo& photo) {
  return QObject::tr("%1 × %2 px").arg(photo.widthPx).arg(photo.heightPx);
}

// Short enough for the width of a small picture.
QString twoLines(const store::Photo& photo) {
  QString second = viewWords(photo.view);
  if (photo.dateSource == store::DateSource::FileTime) {
    second = photo.view == store::View::Unknown
                 ? QObject::tr("date uncertain")
                 : QObject::tr("uncertain, %1").arg(second.toLower());
  }
  return dateWords(photo.takenAt.date) + QLatin1Char('\n') + second;
}

QString wholeText(const store::Photo& photo, QLatin1String separator) {
  QStringList parts{photoDateWords(photo.takenAt, photo.dateSource),
                    viewWords(photo.view),
                    sizeWords(photo),
                    qText(photo.originalName),
                    qText(photo.cameraModel),
                    qText(photo.note)};
  if (photo.dateSource == store::DateSource::Edited) {
    parts << QObject::tr("date edited by hand");
  }
  parts.removeAll(QString());
  return parts.join(separator);
}

// A quiet plate of the photo's proportions until its picture is there.
QIcon placeholder() {
  static const QIcon icon = [] {
    QPixmap plate(4, 3);
    plate.fill(QColor(0x80, 0x80, 0x78, 0x40));
    return QIcon(plate.scaled(512, 384));
  }();
  return icon;
}

// Colours of a photo are what people look for: a chosen one is framed, never tinted.
QIcon untinted(const QPixmap& picture) {
  QIcon icon(picture);
  icon.addPixmap(picture, QIcon::Selected);
  return icon;
}

}  // namespace

PhotoModel::PhotoModel(QObject* parent) : QAbstractListModel(parent) {}

void PhotoModel::setPhotos(std::vector<store::Photo> photos) {
  beginResetModel();
  m_photos = std::move(photos);
  endResetModel();
}

void PhotoModel::setPreviews(PreviewLoader* previews) {
  if (m_previews != nullptr) {
    m_previews->disconnect(this);
  }
  m_previews = previews;
  if (previews != nullptr) {
    connect(previews, &PreviewLoader::ready, this, [this] {
      if (!m_photos.empty()) {
        Q_EMIT dataChanged(index(0), index(rowCount() - 1), {Qt::DecorationRole});
      }
    });
  }
}

const store::Photo* PhotoModel::photoAt(int row) const {
  return row >= 0 && row < rowCount() ? &m_photos[static_cast<std::size_t>(row)] : nullptr;
}

int PhotoModel::rowOf(const store::PhotoId& photo) const {
  const auto at =
      std::ranges::find_if(m_photos, [&](const store::Photo& other) { return other.id == photo; });
  return at == m_photos.end() ? -1 : static_cast<int>(at - m_photos.begin());
}

int PhotoModel::rowCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : static_cast<int>(m_photos.size());
}

QVariant PhotoModel::data(const QModelIndex& index, int role) const {
  if (!checkIndex(index, CheckIndexOption::IndexIsValid)) {
    return {};
  }
  const store::Photo& photo = m_photos[static_cast<std::size_t>(index.row())];
  switch (role) {
    case Qt::DisplayRole:
      return twoLines(photo);
    case Qt::ToolTipRole:
      return wholeText(photo, QLatin1String("\n"));
    case Qt::AccessibleTextRole:
      return wholeText(photo, QLatin1String(", "));
    case Qt::DecorationRole: {
      const auto picture =
          m_previews == nullptr ? std::nullopt : m_previews->preview(photo, work::kSmallPreviewPx);
      return picture ? untinted(*picture) : placeholder();
    }
    default:
      return {};
  }
}

}  // namespace edamori::models
