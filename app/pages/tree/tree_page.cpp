// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/tree/tree_page.h"

#include "app/look/theme.h"
#include "app/models/text.h"
#include "app/pages/controls.h"
#include "app/pages/photo_strip.h"
#include "app/pages/tree/charts_panel.h"

#include <QComboBox>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QPushButton>
#include <QScrollBar>
#include <QTabBar>
#include <QTabWidget>
#include <QTableView>
#include <QTimer>
#include <QVBoxLayout>
#include <algorithm>

namespace edamori::pages {

using models::qText;
using models::stdText;
using models::WordRow;

namespace {

constexpr int kSideWidthPx = 296;

QFrame* panel() {
  auto* made = new QFrame;
  made->setProperty("role", QStringLiteral("panel"));
  return made;
}

}  // namespace

TreePage::TreePage(QWidget* parent)
    : QWidget(parent),
      m_branchModel(new models::RowsModel({tr("Branch"), tr("Kind")}, this)),
      m_photoModel(new models::PhotoModel(this)),
      m_figureModel(new models::FigureTableModel(this)),
      m_charts(new ChartsPanel) {
  setObjectName(QStringLiteral("treePage"));
  auto* side = new QWidget;
  side->setFixedWidth(look::forText(kSideWidthPx));
  auto* sideColumn = new QVBoxLayout(side);
  sideColumn->setContentsMargins(0, 0, 0, 0);
  sideColumn->setSpacing(look::kGrid);
  sideColumn->addWidget(createFacts());
  sideColumn->addWidget(createBranches(), 1);
  m_sections = new QTabWidget;
  m_sections->setObjectName(QStringLiteral("treeSections"));
  m_sections->setAccessibleName(tr("Records of the tree"));
  m_sections->setDocumentMode(true);
  auto* main = new QVBoxLayout;
  main->setSpacing(look::kGrid);
  main->addWidget(createPhotos());
  main->addWidget(m_sections, 1);
  auto* all = new QHBoxLayout(this);
  all->setContentsMargins(look::kGrid * 2, look::kGrid, look::kGrid * 2, look::kGrid);
  all->setSpacing(look::kGrid * 2);
  all->addWidget(side);
  all->addLayout(main, 1);
  m_sections->addTab(createFigures(), tr("Figures"));
  m_sections->addTab(m_charts, tr("Charts"));
  m_treatments = addSection(
      tr("Treatments"),
      QStringLiteral("treatments"),
      {tr("Date"), tr("What"), tr("Branch"), tr("Product, dose"), tr("Who"), tr("Record")},
      {{tr("Add treatment…"), QStringLiteral("addTreatment"), &TreePage::addTreatment},
       {tr("Edit…"), QStringLiteral("editTreatment"), &TreePage::editTreatment},
       {tr("Remove"), QStringLiteral("removeTreatment"), &TreePage::removeTreatment}});
  m_rechecks =
      addSection(tr("Checks"),
                 QStringLiteral("rechecks"),
                 {tr("Due"), tr("State"), tr("Branch"), tr("Look for")},
                 {{tr("Plan a check…"), QStringLiteral("addRecheck"), &TreePage::addRecheck},
                  {tr("Mark as done"), QStringLiteral("recheckDone"), &TreePage::markRecheckDone},
                  {tr("Remove"), QStringLiteral("removeRecheck"), &TreePage::removeRecheck}});
  m_notes = addSection(tr("Notes"),
                       QStringLiteral("notes"),
                       {tr("Written"), tr("Note")},
                       {{tr("Add note…"), QStringLiteral("addNote"), &TreePage::addNote},
                        {tr("Edit…"), QStringLiteral("editNote"), &TreePage::editNote},
                        {tr("Remove"), QStringLiteral("removeNote"), &TreePage::removeNote}});
  connectActivation();
  addPaneKeys(this, [this]() -> std::vector<Pane> {
    return {{m_branches, m_branches},
            {m_photos, m_photos},
            {m_sections, m_sections->tabBar()}};
  });
}

QWidget* TreePage::createFacts() {
  QFrame* frame = panel();
  m_title = label({}, QStringLiteral("heading"));
  m_title->setObjectName(QStringLiteral("treeTitle"));
  m_due = label({}, QStringLiteral("quiet"));
  m_facts = label({}, {});
  m_facts->setTextFormat(Qt::PlainText);
  auto* edit = button(tr("&Edit…"), QStringLiteral("editTree"), ButtonRole::Plain);
  auto* letter = button(tr("&Write letter…"), QStringLiteral("writeLetter"), ButtonRole::Primary);
  edit->setIcon(look::icon(look::Glyph::Edit));
  connect(edit, &QPushButton::clicked, this, &TreePage::editTree);
  connect(letter, &QPushButton::clicked, this, &TreePage::writeLetter);
  auto* buttons = new QHBoxLayout;
  buttons->addWidget(edit);
  buttons->addWidget(letter);
  auto* all = new QVBoxLayout(frame);
  all->setSpacing(look::kGrid / 2);
  all->addWidget(m_title);
  all->addWidget(m_due);
  all->addWidget(m_facts);
  all->addLayout(buttons);
  return frame;
}

QWidget* TreePage::createBranches() {
  QFrame* frame = panel();
  m_branches = rowTable(QStringLiteral("branches"), tr("Branches of the tree"), m_branchModel);
  // A long name is cut, with the whole of it under the pointer; its kind stays in sight.
  m_branches->horizontalHeader()->setStretchLastSection(false);
  m_branches->horizontalHeader()->setSectionResizeMode(0, QHeaderView::Stretch);
  auto* first = new QHBoxLayout;
  auto* second = new QHBoxLayout;
  addTools(first,
           {{tr("Add branch…"), QStringLiteral("addBranch"), &TreePage::addBranch},
            {tr("Edit…"), QStringLiteral("editBranch"), &TreePage::editBranch}});
  auto* up = button(tr("Up"), QStringLiteral("branchUp"), ButtonRole::Plain);
  auto* down = button(tr("Down"), QStringLiteral("branchDown"), ButtonRole::Plain);
  up->setAccessibleName(tr("Move the branch up"));
  down->setAccessibleName(tr("Move the branch down"));
  connect(up, &QPushButton::clicked, this, [this] { moveBranch(-1); });
  connect(down, &QPushButton::clicked, this, [this] { moveBranch(+1); });
  second->addWidget(up);
  second->addWidget(down);
  addTools(second, {{tr("Remove"), QStringLiteral("removeBranch"), &TreePage::removeBranch}});
  auto* all = new QVBoxLayout(frame);
  all->addWidget(label(tr("Branches"), QStringLiteral("heading")));
  all->addWidget(m_branches, 1);
  all->addLayout(first);
  all->addLayout(second);
  return frame;
}

QWidget* TreePage::createPhotos() {
  QFrame* frame = panel();
  m_photoTitle = label({}, QStringLiteral("heading"));
  m_photoTitle->setWordWrap(false);
  m_photos = new PhotoStrip(m_photoModel);
  m_photos->setObjectName(QStringLiteral("treePhotos"));
  m_photos->setAccessibleName(tr("Photos of the tree, oldest first"));
  auto* row = new QHBoxLayout;
  row->addWidget(m_photoTitle, 1);
  auto* import = button(tr("&Import…"), QStringLiteral("treeImport"), ButtonRole::Plain);
  import->setIcon(look::icon(look::Glyph::Import));
  connect(import, &QPushButton::clicked, this, [this] { Q_EMIT importRequested(m_tree); });
  row->addWidget(import);
  addTools(row,
           {{tr("&Compare"), QStringLiteral("compare"), &TreePage::compare},
            {tr("On the &Bench"), QStringLiteral("openPhoto"), &TreePage::openPhoto},
            {tr("Date an&d view…"), QStringLiteral("editPhoto"), &TreePage::editPhoto},
            {tr("Remove &photo"), QStringLiteral("removePhoto"), &TreePage::removePhoto}});
  auto* all = new QVBoxLayout(frame);
  all->addLayout(row);
  all->addWidget(m_photos);
  return frame;
}

QWidget* TreePage::createFigures() {
  auto* page = new QWidget;
  m_figure = choice(QStringLiteral("figureChoice"));
  m_figure->setAccessibleName(tr("Figure shown in the table"));
  m_figure->setMinimumWidth(look::forText(220));
  auto* name = new QLabel(tr("&Figure:"));
  name->setBuddy(m_figure);
  m_noFigures =
      label(tr("No figures yet. Open a photo on the Bench, outline a branch and measure it."),
            QStringLiteral("quiet"));
  m_noFigures->setAlignment(Qt::AlignLeft | Qt::AlignTop);
  m_figures = new QTableView;
  m_figures->setObjectName(QStringLiteral("figureTable"));
  m_figures->setAccessibleName(tr("Figures: rows are branches, columns are dates, newest first"));
  m_figures->setModel(m_figureModel);
  m_figures->setIconSize({72, 54});  // four dates side by side at 1280 px
  m_figures->setTabKeyNavigation(false);
  m_figures->setSelectionMode(QAbstractItemView::SingleSelection);
  m_figures->setEditTriggers(QAbstractItemView::NoEditTriggers);
  m_figures->verticalHeader()->setSectionResizeMode(QHeaderView::ResizeToContents);
  m_figures->verticalHeader()->setMinimumSectionSize(72);
  m_figures->verticalHeader()->setDefaultAlignment(Qt::AlignLeft | Qt::AlignVCenter);
  m_figures->horizontalHeader()->setSectionResizeMode(QHeaderView::ResizeToContents);
  m_figures->setHorizontalScrollMode(QAbstractItemView::ScrollPerPixel);
  m_figures->setVerticalScrollMode(QAbstractItemView::ScrollPerPixel);
  m_figureBar = new QWidget;
  auto* row = new QHBoxLayout(m_figureBar);
  row->setContentsMargins(0, 0, 0, 0);
  row->addWidget(name);
  row->addWidget(m_figure);
  row->addWidget(label(tr("Value with its 95 % interval; rest the pointer on a cell for method and "
                          "cautions."),
                       QStringLiteral("quiet")),
                 1);
  auto* all = new QVBoxLayout(page);
  all->setContentsMargins(0, look::kGrid, 0, 0);
  all->addWidget(m_figureBar);
  all->addWidget(m_noFigures, 1);
  all->addWidget(m_figures, 1);
  connect(m_figure, &QComboBox::currentIndexChanged, this, [this] {
    showFigure();
    showLatestFigures();
  });
  return page;
}

void TreePage::addTools(QHBoxLayout* row, const std::vector<Tool>& tools) {
  for (const Tool& tool : tools) {
    auto* made = button(tool.text, tool.objectName, ButtonRole::Plain);
    connect(made, &QPushButton::clicked, this, tool.act);
    row->addWidget(made);
  }
}

TreePage::Section TreePage::addSection(const QString& title,
                                       const QString& objectName,
                                       const QStringList& columns,
                                       const std::vector<Tool>& tools) {
  auto* page = new QWidget;
  Section section;
  section.model = new models::RowsModel(columns, this);
  section.table = rowTable(objectName, title, section.model);
  auto* row = new QHBoxLayout;
  addTools(row, tools);
  row->addStretch(1);
  auto* all = new QVBoxLayout(page);
  all->setContentsMargins(0, look::kGrid, 0, 0);
  all->addLayout(row);
  all->addWidget(section.table, 1);
  m_sections->addTab(page, title);
  return section;
}

void TreePage::connectActivation() {
  connect(m_photos, &QListView::activated, this, &TreePage::openPhoto);
  connect(m_branches, &QTableView::activated, this, &TreePage::editBranch);
  connect(m_treatments.table, &QTableView::activated, this, &TreePage::editTreatment);
  connect(m_notes.table, &QTableView::activated, this, &TreePage::editNote);
  connect(m_figures, &QTableView::activated, this, [this](const QModelIndex& index) {
    if (const store::PhotoId photo = m_figureModel->photoAt(index); !photo.isEmpty()) {
      Q_EMIT photoActivated(photo);
    }
  });
  connect(m_charts, &ChartsPanel::photoActivated, this, &TreePage::photoActivated);
}

void TreePage::setServices(const PageServices& services) {
  m_services = services;
  m_photoModel->setPreviews(services.previews);
  m_figureModel->setPreviews(services.previews);
  m_tree = {};
  m_detail = {};
  m_photoModel->setPhotos({});
  if (services.session != nullptr) {
    connect(services.session, &GardenSession::changed, this, &TreePage::refresh);
  }
}

Result<void> TreePage::showTree(const store::TreeId& tree) {
  const store::TreeId before = m_tree;
  m_tree = tree;
  auto result = reload();
  if (!result) {
    m_tree = before;
    return result;
  }
  if (before != tree && m_photoModel->rowCount() > 0) {
    // The newest photo is what a person comes for.
    const QModelIndex last = m_photoModel->index(m_photoModel->rowCount() - 1);
    m_photos->setCurrentIndex(last);
    m_photos->scrollTo(last);
    // Columns have their widths only after the page has been laid out.
    QTimer::singleShot(0, this, &TreePage::showLatestFigures);
  }
  m_photos->setFocus();
  return {};
}

QString TreePage::title() const {
  return m_tree.isEmpty() ? QString() : models::treeWords(m_detail.summary.tree);
}

store::PhotoId TreePage::photoForBench() const {
  if (m_tree.isEmpty() || m_detail.photos.empty()) {
    return {};
  }
  const store::Photo* chosen = m_photoModel->photoAt(m_photos->currentIndex().row());
  return chosen == nullptr ? m_detail.photos.back().id : chosen->id;
}

void TreePage::showEvent(QShowEvent* event) {
  QWidget::showEvent(event);
  if (m_isStale) {
    refresh();
  }
}

void TreePage::refresh() {
  if (m_tree.isEmpty() || m_services.session == nullptr) {
    return;
  }
  if (!isVisible()) {
    m_isStale = true;
    return;
  }
  if (const auto result = reload(); !result) {
    m_tree = {};
    Q_EMIT treeGone();
  }
}

Result<void> TreePage::reload() {
  m_isStale = false;
  auto detail = work::treeDetail(m_services.session->garden(), m_tree, models::today());
  if (!detail) {
    return detail.error();
  }
  m_detail = std::move(detail).value();
  fillFacts();
  fillBranches();
  const store::Photo* chosen = m_photoModel->photoAt(m_photos->currentIndex().row());
  const store::PhotoId kept = chosen == nullptr ? store::PhotoId{} : chosen->id;
  m_photoModel->setPhotos(m_detail.photos);
  if (const int row = m_photoModel->rowOf(kept); row >= 0) {
    m_photos->setCurrentIndex(m_photoModel->index(row));
  }
  m_photoTitle->setText(models::countWords(m_photoModel->rowCount(), tr("photo"), tr("photos")));
  fillFigures();
  m_charts->setCharts(m_detail.charts);
  fillTreatments();
  fillRechecks();
  fillNotes();
  Q_EMIT treeChanged();
  return {};
}

QString TreePage::branchName(const store::BranchId& branch) const {
  const auto at = std::ranges::find(m_detail.branches, branch, &store::Branch::id);
  return at == m_detail.branches.end() ? tr("whole tree") : qText(at->name);
}

void TreePage::fillFacts() {
  const store::Tree& tree = m_detail.summary.tree;
  m_title->setText(QStringLiteral("%1\n%2").arg(qText(tree.tag), models::speciesWords(tree)));
  const models::DueWords due = models::dueWords(m_detail.summary.nextRecheck, models::today());
  m_due->setText(due.text);
  setTextRole(m_due,
              due.state == models::DueState::Overdue    ? QStringLiteral("bad")
              : due.state == models::DueState::DueToday ? QStringLiteral("warning")
                                                        : QStringLiteral("quiet"));
  QStringList lines{
      tr("Owner: %1").arg(m_detail.owner ? qText(m_detail.owner->name) : tr("the keeper's own"))};
  if (!tree.place.empty()) {
    lines << tr("Place: %1").arg(qText(tree.place));
  }
  lines << tr("Foliage: %1").arg(tree.subject == Subject::Leaf ? tr("leaves") : tr("needles"));
  if (m_detail.summary.livePests > 0) {
    lines << tr("On the latest marked photo: %1")
                 .arg(models::countWords(
                     m_detail.summary.livePests, tr("live insect"), tr("live insects")));
  }
  if (m_detail.photosThatTaught > 0) {
    lines << tr("Hints on %1 taught the program how this tree looks")
                 .arg(models::countWords(m_detail.photosThatTaught, tr("photo"), tr("photos")));
  }
  if (!tree.note.empty()) {
    lines << qText(tree.note);
  }
  m_facts->setText(lines.join(QLatin1Char('\n')));
}

void TreePage::fillBranches() {
  const std::string kept = m_branchModel->idAt(m_branches->currentIndex());
  std::vector<WordRow> rows;
  for (const store::Branch& branch : m_detail.branches) {
    rows.push_back({branch.id.text, {qText(branch.name), qText(store::toText(branch.kind))}, qText(branch.name)});
  }
  m_branchModel->setRows(std::move(rows));
  if (const QModelIndex index = m_branchModel->indexOf(kept); index.isValid()) {
    m_branches->setCurrentIndex(index);
  }
}

void TreePage::fillFigures() {
  const QVariant kept = m_figure->currentData();
  const QSignalBlocker quiet(m_figure);
  m_figure->clear();
  for (const std::string& figure : models::FigureTableModel::figuresOf(m_detail)) {
    m_figure->addItem(qText(work::figureTitle(figure)), qText(figure));
  }
  m_figure->setCurrentIndex(std::max(m_figure->count() > 0 ? 0 : -1, m_figure->findData(kept)));
  m_noFigures->setVisible(m_figure->count() == 0);
  m_figures->setVisible(m_figure->count() > 0);
  m_figureBar->setVisible(m_figure->count() > 0);
  showFigure();
}

void TreePage::showFigure() {
  // The model starts anew; the person stays where they looked.
  const int across = m_figures->horizontalScrollBar()->value();
  const int down = m_figures->verticalScrollBar()->value();
  m_figureModel->setFigure(m_detail, stdText(m_figure->currentData().toString()));
  m_figures->horizontalScrollBar()->setValue(across);
  m_figures->verticalScrollBar()->setValue(down);
}

void TreePage::showLatestFigures() {
  m_figures->scrollTo(m_figureModel->index(0, 0));
}

void TreePage::fillTreatments() {
  std::vector<WordRow> rows;
  for (const store::Treatment& t : m_detail.treatments) {
    QStringList product{qText(t.product), qText(t.dose)};
    product.removeAll(QString());
    QStringList missing;
    for (const std::string& field : store::missingFields(t)) {
      missing << qText(field);
    }
    QStringList details{qText(t.note)};
    if (t.reentryHours) {
      details << tr("Re-entry after %1 h, from the label").arg(*t.reentryHours);
    }
    details.removeAll(QString());
    rows.push_back({t.id.text,
                    {models::dateWords(t.doneAt.date),
                     models::capitalised(qText(store::toText(t.kind))),
                     branchName(t.branch),
                     product.join(QStringLiteral(", ")),
                     qText(t.who),
                     missing.isEmpty() ? tr("complete") : tr("lacks %1").arg(missing.join(QStringLiteral(", ")))},
                    details.join(QLatin1Char('\n'))});
  }
  m_treatments.model->setRows(std::move(rows));
}

void TreePage::fillRechecks() {
  std::vector<WordRow> rows;
  for (const store::Recheck& r : m_detail.rechecks) {
    const QString state = r.doneAt ? tr("Done on %1").arg(models::dateWords(r.doneAt->date))
                                   : models::dueWords(r, models::today()).text;
    rows.push_back(
        {r.id.text, {models::dateWords(r.due), state, branchName(r.branch), qText(r.reason)}, {}});
  }
  m_rechecks.model->setRows(std::move(rows));
}

void TreePage::fillNotes() {
  std::vector<WordRow> rows;
  for (const store::Note& note : m_detail.notes) {
    rows.push_back({note.id.text, {models::dateWords(note.writtenAt.date), qText(note.text)}, {}});
  }
  m_notes.model->setRows(std::move(rows));
}

}  // namespace edamori::pages
