// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/start/restore_dialog.h"

#include "app/models/text.h"
#include "store/safety/safety.h"

#include <QFormLayout>
#include <QLabel>
#include <QLineEdit>
#include <QProgressBar>
#include <QPushButton>
#include <QStandardPaths>
#include <QVBoxLayout>

namespace edamori::pages {

using models::pathText;

RestoreDialog::RestoreDialog(const PageServices& services, QWidget* parent)
    : FormDialog(tr("Restore a backup"), tr("&Restore and open"), parent),
      m_services(services),
      m_file(new PathField(PathField::Kind::ExistingFile, QStringLiteral("restoreFile"))),
      m_folder(new PathField(PathField::Kind::ExistingFolder, QStringLiteral("restoreFolder"))),
      m_busy(new QProgressBar) {
  setObjectName(QStringLiteral("restoreDialog"));
  setMinimumWidth(dialogWidth(620));
  m_file->setNameFilter(tr("Backups (*.tar)"));
  if (services.session != nullptr) {
    m_file->setPath(services.session->garden().backupsFolder());
  }
  const QString documents = QStandardPaths::writableLocation(QStandardPaths::DocumentsLocation);
  m_folder->setPath(models::pathOf(documents) / "restored garden");
  m_busy->setRange(0, 0);
  m_busy->setVisible(false);
  m_busy->setAccessibleName(tr("Restoring"));
  addField(form(), tr("&Backup:"), m_file);
  addField(form(), tr("&Into the folder:"), m_folder);
  form()->addRow(QString(),
                 label(tr("A new or an empty folder. The garden that is open stays as it is."),
                       QStringLiteral("quiet")));
  body()->addWidget(m_busy);
}

QString RestoreDialog::problem() {
  std::error_code ignored;
  if (!std::filesystem::is_regular_file(m_file->path(), ignored)) {
    m_file->edit()->setFocus();
    return tr("Choose the backup file; its name ends in .tar.");
  }
  if (folder().empty() || !folder().is_absolute()) {
    m_folder->edit()->setFocus();
    return tr("Enter the whole path of the folder, from “/” or “~/”.");
  }
  if (std::filesystem::exists(folder(), ignored) && !std::filesystem::is_empty(folder(), ignored)) {
    m_folder->edit()->setFocus();
    return tr("The folder %1 has files in it; choose a new or an empty one.")
        .arg(pathText(folder()));
  }
  return {};
}

void RestoreDialog::accept() {
  const QString text = problem();
  showProblem(text);
  if (!text.isEmpty()) {
    return;
  }
  primaryButton()->setEnabled(false);
  m_busy->setVisible(true);
  m_services.jobs->start<std::filesystem::path>(
      this,
      [file = m_file->path(),
       folder = folder()](const JobControl&) -> Result<std::filesystem::path> {
        EDAMORI_RETURN_IF_ERROR(store::restoreGarden(file, folder));
        return folder;
      },
      [this](Result<std::filesystem::path> restored) { finish(restored); });
}

void RestoreDialog::finish(const Result<std::filesystem::path>& restored) {
  primaryButton()->setEnabled(true);
  m_busy->setVisible(false);
  if (!restored) {
    showProblem(models::qText(restored.error().message));
    return;
  }
  QDialog::accept();
}

}  // namespace edamori::pages
