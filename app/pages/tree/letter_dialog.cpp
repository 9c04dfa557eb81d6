// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/tree/letter_dialog.h"

#include "app/models/text.h"

#include <QCheckBox>
#include <QDateEdit>
#include <QFormLayout>
#include <QLabel>
#include <QLineEdit>
#include <QProgressBar>
#include <QPushButton>
#include <QVBoxLayout>

namespace edamori::pages {

using models::pathText;
using models::qText;

namespace {

std::filesystem::path proposedFile(const store::Tree& tree) {
  QString name =
      QObject::tr("%1 letter %2.pdf").arg(qText(tree.tag), qText(store::toText(models::today())));
  name.replace(QLatin1Char('/'), QLatin1Char('-'));
  return usualFolder(QStandardPaths::DocumentsLocation) / models::pathOf(name);
}

}  // namespace

LetterDialog::LetterDialog(const PageServices& services,
                           const work::TreeDetail& detail,
                           QWidget* parent)
    : FormDialog(tr("Write a letter for %1").arg(models::treeWords(detail.summary.tree)),
                 tr("&Write the letter"),
                 parent),
      m_services(services),
      m_tree(detail.summary.tree.id),
      m_file(new PathField(PathField::Kind::NewFile, QStringLiteral("letterFile"))),
      m_limited(new QCheckBox(tr("&Only photos and treatments of this time:"))),
      m_from(dateEdit(QStringLiteral("letterFrom"),
                      detail.photos.empty() ? models::qDate(models::today())
                                            : models::qDate(detail.photos.front().takenAt.date))),
      m_to(dateEdit(QStringLiteral("letterTo"), models::qDate(models::today()))),
      m_busy(new QProgressBar) {
  setObjectName(QStringLiteral("letterDialog"));
  setMinimumWidth(dialogWidth(620));
  m_file->setPath(proposedFile(detail.summary.tree));
  m_file->setNameFilter(tr("Letters (*.pdf *.html)"));
  m_limited->setObjectName(QStringLiteral("letterLimited"));
  m_busy->setRange(0, 0);
  m_busy->setVisible(false);
  m_busy->setAccessibleName(tr("Writing the letter"));
  addField(form(), tr("&File:"), m_file);
  form()->addRow(QString(),
                 label(tr("A name that ends in .pdf gives a printable letter, one that ends in "
                          ".html a page for the browser or e-mail."),
                       QStringLiteral("quiet")));
  form()->addRow(QString(), m_limited);
  addField(form(), tr("F&rom:"), m_from);
  addField(form(), tr("&To:"), m_to);
  body()->addWidget(m_busy);
  connect(m_file->edit(), &QLineEdit::textChanged, this, [this] {
    m_mayReplace = false;
    primaryButton()->setText(tr("&Write the letter"));
  });
  for (QDateEdit* each : {m_from, m_to}) {
    each->setEnabled(false);
    connect(m_limited, &QCheckBox::toggled, each, &QWidget::setEnabled);
  }
}

QString LetterDialog::problem() {
  if (m_file->edit()->text().trimmed().isEmpty()) {
    m_file->edit()->setFocus();
    return tr("Enter the file to write.");
  }
  if (m_limited->isChecked() && m_from->date() > m_to->date()) {
    m_from->setFocus();
    return tr("The first day lies after the last; change one of them.");
  }
  return {};
}

letter::LetterRequest LetterDialog::request() const {
  letter::LetterRequest request;
  request.tree = m_tree;
  if (m_limited->isChecked()) {
    request.from = models::dateOf(m_from->date());
    request.to = models::dateOf(m_to->date());
  }
  request.today = models::today();
  return request;
}

void LetterDialog::accept() {
  const QString text = problem();
  showProblem(text);
  if (!text.isEmpty()) {
    return;
  }
  std::error_code ignored;
  if (!m_mayReplace && std::filesystem::exists(m_file->path(), ignored)) {
    askToReplace();
    return;
  }
  primaryButton()->setEnabled(false);
  m_busy->setVisible(true);
  m_services.jobs->start<std::filesystem::path>(
      this,
      [request = request(), file = m_file->path(), folder = m_services.session->garden().folder()](
          const JobControl&) -> Result<std::filesystem::path> {
        const auto garden = store::Garden::open(folder);
        if (!garden) {
          return garden.error();
        }
        EDAMORI_RETURN_IF_ERROR(letter::writeLetter(*garden, request, file));
        return file;
      },
      [this](Result<std::filesystem::path> written) { finish(written); });
}

void LetterDialog::askToReplace() {
  m_mayReplace = true;
  primaryButton()->setText(tr("Replace the &old letter"));
  showProblem(tr("%1 is there already. Replace it, or enter another name.")
                  .arg(pathText(m_file->path().filename())));
}

void LetterDialog::finish(const Result<std::filesystem::path>& written) {
  primaryButton()->setEnabled(true);
  m_busy->setVisible(false);
  if (!written) {
    showProblem(qText(written.error().message));
    return;
  }
  m_services.messages->offerOpen(tr("Letter written: %1").arg(pathText(*written)),
                                 pathText(*written));
  QDialog::accept();
}

}  // namespace edamori::pages
