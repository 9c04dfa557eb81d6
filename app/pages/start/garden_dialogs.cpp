// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/start/garden_dialogs.h"

#include "app/models/text.h"

#include <QFormLayout>
#include <QLabel>
#include <QLineEdit>
#include <QStandardPaths>

namespace edamori::pages {

using models::pathText;

NewGardenDialog::NewGardenDialog(QWidget* parent)
    : FormDialog(tr("New garden"), tr("&Make the garden"), parent),
      m_name(lineEdit(QStringLiteral("gardenName"), {})),
      m_folder(new PathField(PathField::Kind::ExistingFolder, QStringLiteral("gardenFolder"))),
      m_photos(new PathField(PathField::Kind::ExistingFolder, QStringLiteral("gardenPhotos"))) {
  setObjectName(QStringLiteral("newGardenDialog"));
  setMinimumWidth(dialogWidth(600));
  const QString documents = QStandardPaths::writableLocation(QStandardPaths::DocumentsLocation);
  m_folder->setPath(models::pathOf(documents) / "garden");
  m_name->setPlaceholderText(tr("shown in the window and in letters"));
  m_photos->edit()->setPlaceholderText(tr("may stay empty"));
  addField(form(), tr("&Name:"), m_name);
  addField(form(), tr("&Folder:"), m_folder);
  form()->addRow(QString(),
                 label(tr("A new or an empty folder. Photos, records and backups are kept in "
                          "it; back it up as a whole."),
                       QStringLiteral("quiet")));
  addField(form(), tr("&Photos to take in:"), m_photos);
}

QString NewGardenDialog::name() const { return m_name->text().trimmed(); }

QString NewGardenDialog::problem() {
  if (name().isEmpty()) {
    m_name->setFocus();
    return tr("Enter a name for the garden.");
  }
  if (folder().empty() || !folder().is_absolute()) {
    m_folder->edit()->setFocus();
    return tr("Enter the whole path of the folder, from “/” or “~/”.");
  }
  std::error_code ignored;
  if (std::filesystem::exists(folder(), ignored) && !std::filesystem::is_empty(folder(), ignored)) {
    m_folder->edit()->setFocus();
    return tr("The folder %1 has files in it; choose a new or an empty one.")
        .arg(pathText(folder()));
  }
  if (!photos().empty() && !std::filesystem::exists(photos(), ignored)) {
    m_photos->edit()->setFocus();
    return tr("There is no folder %1; check the path or leave it empty.").arg(pathText(photos()));
  }
  return {};
}

OpenGardenDialog::OpenGardenDialog(const QString& proposed, QWidget* parent)
    : FormDialog(tr("Open a garden"), tr("&Open"), parent),
      m_folder(new PathField(PathField::Kind::ExistingFolder, QStringLiteral("gardenFolder"))) {
  setObjectName(QStringLiteral("openGardenDialog"));
  setMinimumWidth(dialogWidth(600));
  m_folder->edit()->setText(proposed);
  addField(form(), tr("&Folder:"), m_folder);
  form()->addRow(QString(),
                 label(tr("The folder that holds garden.sqlite."), QStringLiteral("quiet")));
}

QString OpenGardenDialog::problem() {
  std::error_code ignored;
  if (std::filesystem::exists(folder() / "garden.sqlite", ignored)) {
    return {};
  }
  m_folder->edit()->setFocus();
  return tr("%1 is no garden: garden.sqlite is not in it. Choose the garden's folder.")
      .arg(pathText(folder()));
}

}  // namespace edamori::pages
