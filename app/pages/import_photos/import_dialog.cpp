// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/import_photos/import_dialog.h"

#include "app/look/theme.h"
#include "app/models/text.h"
#include "app/pages/controls.h"
#include "app/pages/filing.h"

#include <QComboBox>
#include <QFileDialog>
#include <QHBoxLayout>
#include <QKeyEvent>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QProgressBar>
#include <QPushButton>
#include <QStackedWidget>
#include <QTableView>
#include <QVBoxLayout>
#include <algorithm>

namespace edamori::pages {

using models::pathOf;
using models::pathText;
using models::qText;
using models::stdText;

ImportDialog::ImportDialog(const PageServices& services, const store::TreeId& tree, QWidget* parent)
    : QDialog(parent),
      m_services(services),
      m_steps(new QStackedWidget),
      m_outcomes(new models::RowsModel({tr("File"), tr("Outcome"), tr("Details")}, this)),
      m_start(button(tr("&Take in"), QStringLiteral("importStart"), ButtonRole::Primary)),
      m_close(button(tr("Cancel"), QStringLiteral("importClose"), ButtonRole::Plain)) {
  setObjectName(QStringLiteral("importDialog"));
  setAttribute(Qt::WA_DeleteOnClose);
  setWindowTitle(tr("Import photos"));
  resize(dialogWidth(720), 520);
  m_steps->addWidget(createChoice());
  m_steps->addWidget(createResult());
  fillTrees(tree);
  auto* buttons = new QHBoxLayout;
  buttons->addStretch(1);
  buttons->addWidget(m_close);
  buttons->addWidget(m_start);
  auto* all = new QVBoxLayout(this);
  all->setContentsMargins(look::kGrid * 2, look::kGrid * 2, look::kGrid * 2, look::kGrid * 2);
  all->addWidget(m_steps, 1);
  all->addLayout(buttons);
  connect(m_start, &QPushButton::clicked, this, &ImportDialog::start);
  connect(m_close, &QPushButton::clicked, this, &QDialog::reject);
}

QWidget* ImportDialog::createChoice() {
  auto* page = new QWidget;
  m_typed = lineEdit(QStringLiteral("importPath"), {});
  m_typed->setPlaceholderText(tr("type or paste a path, then Add"));
  m_typed->setAccessibleName(tr("File or folder"));
  auto* typedLabel = new QLabel(tr("File or &folder:"));
  typedLabel->setBuddy(m_typed);
  auto* add = button(tr("&Add"), QStringLiteral("importAdd"), ButtonRole::Plain);
  auto* files = button(tr("F&iles…"), QStringLiteral("importFiles"), ButtonRole::Plain);
  auto* folder = button(tr("F&older…"), QStringLiteral("importFolder"), ButtonRole::Plain);
  auto* drop = button(tr("&Leave out"), QStringLiteral("importDrop"), ButtonRole::Quiet);
  m_list = new QListWidget;
  m_list->setObjectName(QStringLiteral("importList"));
  m_list->setAccessibleName(tr("Files and folders to take in"));
  m_tree = choice(QStringLiteral("importTree"));
  m_tree->setAccessibleName(tr("Tree to file the photos under"));
  auto* treeLabel = new QLabel(tr("File &under:"));
  treeLabel->setBuddy(m_tree);
  m_problem = label({}, QStringLiteral("bad"));
  m_problem->setObjectName(QStringLiteral("importProblem"));
  auto* pathRow = new QHBoxLayout;
  for (QWidget* each : std::initializer_list<QWidget*>{typedLabel, m_typed, add, files, folder}) {
    pathRow->addWidget(each);
  }
  auto* treeRow = new QHBoxLayout;
  treeRow->addWidget(treeLabel);
  treeRow->addWidget(m_tree, 1);
  treeRow->addWidget(drop);
  auto* all = new QVBoxLayout(page);
  all->setContentsMargins(0, 0, 0, 0);
  all->addWidget(
      label(tr("The originals are copied into the garden and never changed. A photo that is "
               "there already is not stored twice. Files can also be dropped onto the window."),
            QStringLiteral("quiet")));
  all->addLayout(pathRow);
  all->addWidget(m_list, 1);
  all->addLayout(treeRow);
  all->addWidget(m_problem);
  connect(add, &QPushButton::clicked, this, &ImportDialog::addTypedPath);
  connect(m_typed, &QLineEdit::textChanged, m_problem, &QLabel::clear);
  connect(files, &QPushButton::clicked, this, &ImportDialog::chooseFiles);
  connect(folder, &QPushButton::clicked, this, &ImportDialog::chooseFolder);
  connect(drop, &QPushButton::clicked, this, &ImportDialog::removeChosenPath);
  return page;
}

QWidget* ImportDialog::createResult() {
  auto* page = new QWidget;
  m_progress = new QProgressBar;
  m_progress->setObjectName(QStringLiteral("importProgress"));
  m_progress->setAccessibleName(tr("Files taken in so far"));
  m_doing = label({}, QStringLiteral("quiet"));
  m_summary = label({}, QStringLiteral("heading"));
  m_summary->setObjectName(QStringLiteral("importSummary"));
  auto* table =
      rowTable(QStringLiteral("importOutcomes"), tr("What became of each file"), m_outcomes);
  auto* all = new QVBoxLayout(page);
  all->setContentsMargins(0, 0, 0, 0);
  all->addWidget(m_summary);
  all->addWidget(m_progress);
  all->addWidget(m_doing);
  all->addWidget(table, 1);
  return page;
}

void ImportDialog::fillTrees(const store::TreeId& tree) {
  m_tree->addItem(tr("No tree yet; file them later"), QString());
  const auto trees = m_services.session->garden().trees();
  for (const store::Tree& each : trees ? *trees : std::vector<store::Tree>{}) {
    m_tree->addItem(models::treeWords(each), qText(each.id.text));
  }
  m_tree->setCurrentIndex(std::max(0, m_tree->findData(qText(tree.text))));
}

void ImportDialog::addPaths(const std::vector<std::filesystem::path>& paths) {
  for (const std::filesystem::path& path : paths) {
    if (std::ranges::find(m_paths, path) == m_paths.end()) {
      m_paths.push_back(path);
      m_list->addItem(pathText(path));
    }
  }
  m_problem->clear();
  m_start->setDefault(!m_paths.empty());
}

void ImportDialog::keyPressEvent(QKeyEvent* event) {
  const bool isEnter = event->key() == Qt::Key_Return || event->key() == Qt::Key_Enter;
  if (isEnter && m_typed->hasFocus() && !m_typed->text().trimmed().isEmpty()) {
    addTypedPath();
    return;
  }
  QDialog::keyPressEvent(event);
}

void ImportDialog::addTypedPath() {
  const std::filesystem::path path = pathOf(m_typed->text());
  std::error_code ignored;
  if (path.empty() || !std::filesystem::exists(path, ignored)) {
    m_problem->setText(
        path.empty() ? tr("Enter the path of a photo or of a folder with photos.")
                     : tr("There is no file or folder %1; check the path.").arg(pathText(path)));
    m_typed->setFocus();
    return;
  }
  addPaths({path});
  m_typed->clear();
}

void ImportDialog::chooseFiles() {
  auto* dialog = new QFileDialog(this, tr("Choose photos"));
  dialog->setAttribute(Qt::WA_DeleteOnClose);
  dialog->setFileMode(QFileDialog::ExistingFiles);
  dialog->setNameFilters({tr("Photos (*.jpg *.jpeg *.png *.tif *.tiff *.heic *.JPG *.JPEG *.HEIC)"),
                          tr("All files (*)")});
  connect(dialog, &QFileDialog::filesSelected, this, [this](const QStringList& files) {
    for (const QString& file : files) {
      addPaths({pathOf(file)});
    }
  });
  dialog->open();
}

void ImportDialog::chooseFolder() {
  auto* dialog = new QFileDialog(this, tr("Choose a folder of photos"));
  dialog->setAttribute(Qt::WA_DeleteOnClose);
  dialog->setFileMode(QFileDialog::Directory);
  connect(dialog, &QFileDialog::fileSelected, this, [this](const QString& folder) {
    addPaths({pathOf(folder)});
  });
  dialog->open();
}

void ImportDialog::removeChosenPath() {
  const int row = m_list->currentRow();
  if (row >= 0) {
    m_paths.erase(m_paths.begin() + row);
    delete m_list->takeItem(row);
  }
}

void ImportDialog::start() {
  if (!m_typed->text().trimmed().isEmpty()) {
    addTypedPath();
    if (!m_typed->text().isEmpty()) {
      return;  // The typed path is wrong, and said so.
    }
  }
  if (m_paths.empty()) {
    m_problem->setText(tr("Add at least one photo or folder first."));
    m_typed->setFocus();
    return;
  }
  const work::ImportRequest request{m_paths, {stdText(m_tree->currentData().toString())}};
  m_steps->setCurrentIndex(1);
  m_summary->setText(tr("Taking photos in…"));
  m_progress->setRange(0, 0);
  m_start->setVisible(false);
  m_close->setText(tr("&Stop"));
  m_close->setAccessibleName(tr("Stop"));
  m_close->setFocus();
  m_job = m_services.jobs->start<work::ImportReport>(
      this,
      [request, folder = m_services.session->garden().folder()](
          const JobControl& control) -> Result<work::ImportReport> {
        auto garden = store::Garden::open(folder);
        if (!garden) {
          return garden.error();
        }
        return work::importPhotos(*garden, request, [&control](const work::ImportProgress& at) {
          control.report(at.done, at.total, pathText(at.current.filename()));
          return !control.isCancelled();
        });
      },
      [this](Result<work::ImportReport> report) { finish(std::move(report)); });
  connect(m_job, &Job::progressed, this, &ImportDialog::showProgress);
}

void ImportDialog::showProgress(int done, int total, const QString& doing) {
  m_progress->setRange(0, total);
  m_progress->setValue(done);
  m_doing->setText(tr("%1 of %2: %3").arg(done).arg(total).arg(doing));
}

void ImportDialog::finish(Result<work::ImportReport> report) {
  m_job = nullptr;
  m_progress->setVisible(false);
  m_doing->setVisible(false);
  m_close->setText(tr("&Close"));
  m_close->setAccessibleName(tr("Close"));
  m_services.session->announceChange();
  if (!report) {
    m_summary->setText(qText(report.error().message));
    setTextRole(m_summary, QStringLiteral("bad"));
    m_services.messages->sayError(report.error());
    return;
  }
  showReport(*report);
}

void ImportDialog::showReport(const work::ImportReport& report) {
  std::vector<models::WordRow> rows;
  const auto name = [](const std::filesystem::path& file) { return pathText(file.filename()); };
  for (const work::RefusedFile& file : report.refused) {
    rows.push_back({{}, {name(file.file), tr("Refused"), qText(file.reason).replace(pathText(file.file), name(file.file))}, pathText(file.file)});
  }
  for (const work::ImportedPhoto& each : report.takenIn) {
    rows.push_back({each.photo.id.text,
                    {name(each.file),
                     tr("Taken in"),
                     models::photoDateWords(each.photo.takenAt, each.photo.dateSource)},
                    pathText(each.file)});
  }
  for (const work::ImportedPhoto& each : report.alreadyThere) {
    rows.push_back(
        {each.photo.id.text,
         {name(each.file), tr("Already there"), tr("as %1").arg(qText(each.photo.originalName))},
         pathText(each.file)});
  }
  QString summary = tr("%1 taken in, %2 already there, %3 refused")
                        .arg(report.takenIn.size())
                        .arg(report.alreadyThere.size())
                        .arg(report.refused.size());
  if (const QString carried = carriedWords(report.carried); !carried.isEmpty()) {
    summary += tr("; %1").arg(carried);
  }
  if (report.cancelled) {
    summary += tr("; stopped before the end");
  }
  m_summary->setText(summary);
  m_outcomes->setRows(std::move(rows));
  m_services.messages->say(summary);
}

void ImportDialog::done(int result) {
  if (m_job != nullptr) {
    // Stays open until the work has ended, to say what was taken in.
    m_job->cancel();
    m_doing->setText(tr("Stopping after the photo that is being read…"));
    return;
  }
  QDialog::done(result);
}

}  // namespace edamori::pages
