// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/bench_page.h"

#include "app/look/theme.h"
#include "app/pages/bench/bench_parts_internal.h"

#include <QAction>
#include <QActionGroup>
#include <QFrame>
#include <QHBoxLayout>
#include <QLabel>
#include <QTabWidget>
#include <QToolBar>
#include <QToolButton>
#include <QVBoxLayout>
#include <utility>

namespace edamori::pages {

namespace {

constexpr int kPanelWidthPx = 400;  // a figure and its interval on one line

QToolButton* toolButton(QAction* action, Qt::ToolButtonStyle style, QWidget* parent) {
  auto* const button = new QToolButton(parent);
  button->setDefaultAction(action);
  button->setToolButtonStyle(style);
  button->setFocusPolicy(Qt::StrongFocus);
  button->setAccessibleName(action->text());
  button->setObjectName(action->objectName() + QStringLiteral("Button"));
  return button;
}

QLabel* label(const QString& name, const QString& role, QWidget* parent) {
  auto* const made = new QLabel(parent);
  made->setObjectName(name);
  made->setProperty("textRole", role);
  return made;
}

}  // namespace

BenchPage::BenchPage(QWidget* parent) : QWidget(parent), m_parts(std::make_unique<Parts>(*this)) {}

BenchPage::~BenchPage() {
  // Children talk to the desk while they live; they go before it.
  m_parts->setSession(nullptr);
  const auto children = findChildren<QWidget*>(QString(), Qt::FindDirectChildrenOnly);
  qDeleteAll(children);
}

void BenchPage::setSession(GardenSession* session) { m_parts->setSession(session); }

Result<void> BenchPage::openPhoto(const store::PhotoId& photo) { return m_parts->openPhoto(photo); }

store::PhotoId BenchPage::currentPhoto() const {
  return m_parts->desk.hasPhoto() ? m_parts->desk.photo().id : store::PhotoId{};
}

store::TreeId BenchPage::currentTree() const {
  return m_parts->desk.hasPhoto() ? m_parts->desk.photo().tree : store::TreeId{};
}

BenchPage::Parts::Parts(BenchPage& page)
    : m_page(page),
      m_live(&page),  // found from outside; goes before its parent does
      m_view(new PhotoView(desk, &page)),
      m_pan(desk, *m_view, nullptr),
      m_outline(desk, *m_view, nullptr),
      m_dot(desk, *m_view, nullptr),
      m_patch(desk, *m_view, nullptr),
      m_select(desk, *m_view, nullptr),
      m_hole(desk, *m_view, nullptr),
      m_ruler(desk, *m_view, nullptr),
      m_hintBrush(desk, *m_view, nullptr),
      m_candidates(desk),
      m_offer(m_candidates, desk, *m_view, nullptr) {
  createActions();
  m_keys.adopt(m_page.actions());
  createLayout();
  connectDesk();
  connectView();
  connectMeasuring();
  connectLive();
  connectBars();
  connectOffers();
  useTool(m_pan);
  showPhoto();
}

void BenchPage::Parts::createLayout() {
  auto* const column = new QVBoxLayout(&m_page);
  column->setContentsMargins(0, 0, 0, 0);
  column->setSpacing(0);
  column->addWidget(createHeader());
  auto* const body = new QHBoxLayout;
  body->setSpacing(0);
  body->addWidget(createToolColumn());
  auto* const middle = new QVBoxLayout;
  middle->setSpacing(0);
  m_view->setObjectName(QStringLiteral("photo"));
  middle->addWidget(m_view, 1);
  // Over the photo, so that the photo does not jump when it comes and goes.
  auto* const over = new QVBoxLayout(m_view);
  over->setContentsMargins(2 * look::kGrid, 2 * look::kGrid, 2 * look::kGrid, 2 * look::kGrid);
  over->addStretch(1);
  m_lightBar = new LightBar(m_view);
  m_rulerBar = new RulerBar(m_view);
  m_hintBar = new HintBar(m_view);
  m_candidateBar = new CandidateBar(m_candidates, m_acceptAll, m_rejectAll, m_view);
  for (QWidget* const bar : {static_cast<QWidget*>(m_lightBar),
                             static_cast<QWidget*>(m_rulerBar),
                             static_cast<QWidget*>(m_hintBar),
                             static_cast<QWidget*>(m_candidateBar)}) {
    over->addWidget(bar);
  }
  m_chooser = new BranchChooser(desk, m_view);
  over->addWidget(m_chooser);
  auto* const foot = new QHBoxLayout;
  foot->setContentsMargins(look::kGrid, look::kGrid / 2, look::kGrid, look::kGrid / 2);
  m_hint = label(QStringLiteral("hint"), QStringLiteral("quiet"), &m_page);
  m_hint->setWordWrap(true);
  // Two lines for every hint: a height of its own would move the photo with each tool.
  m_hint->setFixedHeight(2 * QFontMetrics(look::screenFont(look::TextSize::Small)).lineSpacing());
  m_hint->setAlignment(Qt::AlignLeft | Qt::AlignVCenter);
  m_place = label(QStringLiteral("place"), QStringLiteral("quiet"), &m_page);
  m_place->setMinimumWidth(look::forText(14 * look::kGrid));
  m_place->setAlignment(Qt::AlignRight | Qt::AlignVCenter);
  m_size = label(QStringLiteral("size"), QStringLiteral("quiet"), &m_page);
  m_size->setAccessibleName(tr("Size of what is chosen"));
  m_size->setToolTip(
      tr("By the ruler, in its plane. ± is the 95 % interval of its two clicks alone."));
  foot->addWidget(m_hint, 1);
  foot->addSpacing(look::kGrid);
  // One above the other: the hint needs the width.
  auto* const told = new QVBoxLayout;
  told->setSpacing(0);
  m_size->setAlignment(Qt::AlignRight | Qt::AlignVCenter);
  told->addWidget(m_size);
  told->addWidget(m_place);
  foot->addLayout(told);
  middle->addLayout(foot);
  body->addLayout(middle, 1);
  body->addWidget(createPanel());
  column->addLayout(body, 1);
}

QWidget* BenchPage::Parts::createHeader() {
  auto* const header = new QWidget(&m_page);
  auto* const row = new QHBoxLayout(header);
  row->setContentsMargins(look::kGrid, look::kGrid / 2, look::kGrid, look::kGrid / 2);
  row->addWidget(toolButton(m_tree, Qt::ToolButtonTextBesideIcon, header));
  row->addWidget(toolButton(m_previous, Qt::ToolButtonIconOnly, header));
  row->addWidget(toolButton(m_next, Qt::ToolButtonIconOnly, header));
  row->addSpacing(look::kGrid);
  m_title = label(QStringLiteral("title"), QStringLiteral("heading"), header);
  m_title->setTextFormat(Qt::PlainText);
  m_date = label(QStringLiteral("date"), QString(), header);
  m_uncertain = label(QStringLiteral("uncertain"), QStringLiteral("warning"), header);
  m_uncertain->setText(tr("⚠ date uncertain"));
  m_uncertain->setToolTip(
      tr("The camera wrote no date; this is the time of the file. It can be edited on the Tree "
         "page."));
  row->addWidget(m_title);
  row->addSpacing(look::kGrid);
  row->addWidget(m_date);
  row->addWidget(m_uncertain);
  row->addStretch(1);
  m_zoom = label(QStringLiteral("zoom"), QString(), header);
  m_zoom->setAccessibleName(tr("Zoom"));
  m_zoom->setMinimumWidth(look::forText(6 * look::kGrid));
  m_zoom->setAlignment(Qt::AlignRight | Qt::AlignVCenter);
  row->addWidget(m_zoom);
  for (auto* const action :
       {m_zoomOut, m_zoomIn, m_fit, m_pixels, m_loupe, m_light, m_actionList}) {
    row->addWidget(toolButton(action, Qt::ToolButtonIconOnly, header));
  }
  return header;
}

QToolBar* BenchPage::Parts::createToolColumn() {
  auto* const column = new QToolBar(tr("Tools"), &m_page);
  column->setOrientation(Qt::Vertical);
  column->setMovable(false);
  column->setIconSize({24, 24});
  column->setAccessibleName(tr("Tools"));
  column->setObjectName(QStringLiteral("toolColumn"));
  const auto add = [column](QAction* action) {
    auto* const button = toolButton(action, Qt::ToolButtonTextUnderIcon, column);
    button->setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Fixed);
    column->addWidget(button);
  };
  for (auto* const tool : m_tools->actions()) {
    add(tool);
  }
  column->addSeparator();
  // Side by side: a low screen has no room for eleven below each other.
  auto* const row = new QWidget(column);
  auto* const side = new QHBoxLayout(row);
  side->setContentsMargins(0, 0, 0, 0);
  side->setSpacing(0);
  for (auto* const action : {m_undo, m_redo, m_remove}) {
    auto* const button = toolButton(action, Qt::ToolButtonIconOnly, row);
    button->setIconSize({18, 18});
    button->setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Fixed);
    side->addWidget(button);
  }
  column->addWidget(row);
  return column;
}

QWidget* BenchPage::Parts::createPanel() {
  auto* const panel = new QWidget(&m_page);
  auto* const column = new QVBoxLayout(panel);
  column->setContentsMargins(look::kGrid, look::kGrid, look::kGrid, look::kGrid);
  column->setSpacing(look::kGrid);
  m_branchPanel = new BranchPanel(desk, {.confirm = m_confirm, .carry = m_carryOutlines}, panel);
  column->addWidget(m_branchPanel, 2);
  m_tabs = new QTabWidget(panel);
  m_tabs->setObjectName(QStringLiteral("tabs"));
  m_tabs->setAccessibleName(tr("Figures and marks"));
  m_marks = new MarksList(desk, m_tabs);
  m_markPage = new QWidget(m_tabs);
  auto* const marks = new QVBoxLayout(m_markPage);
  marks->setContentsMargins(0, look::kGrid, 0, 0);
  marks->addWidget(new MarkPanel(desk, m_markPage));
  m_marks->setMinimumHeight(48);  // a low screen with a message has no more
  marks->addWidget(m_marks, 1);
  m_figures = new FiguresPanel(desk, m_measure, m_measureAll, m_tint, m_tabs);
  m_tabs->addTab(m_figures, tr("Figures"));
  m_tabs->addTab(m_markPage, tr("Marks"));
  m_offers = new CandidatesPanel(m_candidates, desk, m_accept, m_reject, m_tabs);
  m_tabs->addTab(m_offers, tr("Offers"));
  column->addWidget(m_tabs, 5);
  panel->setFixedWidth(look::forText(kPanelWidthPx));
  return panel;
}

void BenchPage::Parts::connectDesk() {
  QObject::connect(&desk, &PhotoDesk::photoChanged, &m_page, [this] { showPhoto(); });
  QObject::connect(&desk, &PhotoDesk::recordsChanged, &m_page, [this] {
    if (m_hint->property("textRole") == QStringLiteral("bad")) {
      say(m_view->tool()->hint());  // what was refused is over
    }
    showHeader();
    updateLive();
    showTints();
    showSize();
    updateActions();
    m_figures->clearReport();  // it told of the records as they were
    m_tabs->setTabText(1,
                       desk.marks().empty() ? BenchPage::tr("Marks")
                                            : BenchPage::tr("Marks (%1)").arg(desk.marks().size()));
  });
  QObject::connect(&desk, &PhotoDesk::choiceChanged, &m_page, [this] {
    updateLive();
    showTints();
    showSize();
    updateActions();
  });
  QObject::connect(
      &desk, &PhotoDesk::refused, &m_page, [this](const QString& line) { refuse(line); });
  QObject::connect(m_marks, &MarksList::showWanted, m_view, &PhotoView::reveal);
}

void BenchPage::Parts::connectView() {
  QObject::connect(
      &m_loader, &PictureLoader::pictureReady, &m_page, [this](const Picture& picture) {
        showPicture(picture);
      });
  QObject::connect(&m_loader, &PictureLoader::failed, &m_page, [this](const QString& message) {
    showFailure(message);
  });
  QObject::connect(&m_loader, &PictureLoader::tintsReady, m_view, &PhotoView::setTints);
  QObject::connect(m_view, &PhotoView::zoomChanged, &m_page, [this] {
    m_zoom->setText(desk.hasPhoto() ? QStringLiteral("%1 %").arg(m_view->zoom() * 100, 0, 'f', 0)
                                    : QString());
  });
  QObject::connect(m_view, &PhotoView::pointedAt, &m_page, [this](const PointPx& at) {
    m_place->setText(desk.isInside(at)
                         ? BenchPage::tr("%1, %2 px").arg(at.x, 0, 'f', 0).arg(at.y, 0, 'f', 0)
                         : QString());
  });
  QObject::connect(&m_outline, &OutlineTool::completed, &m_page, [this] { askForBranch(); });
  QObject::connect(&m_outline, &OutlineTool::dropped, &m_page, [this] {
    leaveChooser();
    say(m_view->tool()->hint());  // what was refused of it is over
  });
  QObject::connect(
      &m_outline, &OutlineTool::refused, &m_page, [this](const QString& line) { refuse(line); });
  QObject::connect(m_chooser, &BranchChooser::dismissed, &m_page, [this] { m_outline.cancel(); });
  QObject::connect(
      m_chooser, &BranchChooser::branchChosen, &m_page, [this](const store::BranchId& branch) {
        if (desk.setOutline(branch, m_outline.corners())) {
          m_outline.cancel();
        }
      });
  QObject::connect(m_chooser,
                   &BranchChooser::newBranchNamed,
                   &m_page,
                   [this](const QString& name, store::BranchKind kind) {
                     if (desk.setOutlineOfNewBranch(name, kind, m_outline.corners())) {
                       m_outline.cancel();
                     }
                   });
}

void BenchPage::Parts::connectBars() {
  QObject::connect(m_lightBar, &LightBar::liftChanged, m_view, [this](int percent) {
    auto light = m_view->light();
    light.liftPercent = percent;
    m_view->setLight(light);
  });
  QObject::connect(m_lightBar, &LightBar::contrastChanged, m_view, [this](int percent) {
    auto light = m_view->light();
    light.contrastPercent = percent;
    m_view->setLight(light);
  });
  QObject::connect(m_lightBar, &LightBar::overlayChanged, m_view, &PhotoView::setOverlayPercent);
  QObject::connect(m_lightBar, &LightBar::contourChanged, m_view, [this](bool isContour) {
    m_view->setTintLook(isContour ? PhotoView::TintLook::Contour : PhotoView::TintLook::Area);
  });
  QObject::connect(&m_ruler, &RulerTool::completed, &m_page, [this] {
    m_rulerBar->ask();
    say(tr("Type the length between the two points."));
  });
  QObject::connect(&m_ruler, &RulerTool::dropped, &m_page, [this] { leaveRuler(); });
  QObject::connect(m_rulerBar, &RulerBar::lengthGiven, &m_page, [this](double mm) {
    keepRuler(mm);
  });
  QObject::connect(m_rulerBar, &RulerBar::dismissed, &m_page, [this] { m_ruler.cancel(); });
  QObject::connect(m_hintBar, &HintBar::kindChosen, &m_hintBrush, &HintTool::setKind);
  QObject::connect(m_hintBar, &HintBar::widthChosen, &m_hintBrush, &HintTool::setWidthPx);
  QObject::connect(m_hintBar, &HintBar::pressureUsed, &m_hintBrush, [this](bool isUsed) {
    m_hintBrush.setPressure(isUsed ? HintTool::Pressure::Used : HintTool::Pressure::Ignored);
  });
  QObject::connect(m_hintBar, &HintBar::removeAllWanted, &desk, &PhotoDesk::removeHints);
  QObject::connect(
      m_view, &PhotoView::menuWanted, &m_page, [this](const QPoint& global, const PointPx& at) {
        showMenu(global, at);
      });
  QObject::connect(
      &m_copying, &QFutureWatcherBase::finished, &m_page, [this] { finishCopying(); });
  QObject::connect(
      &m_carrying, &QFutureWatcherBase::finished, &m_page, [this] { finishCarrying(); });
}

void BenchPage::Parts::connectMeasuring() {
  QObject::connect(&m_run, &MeasureRun::progressed, m_figures, &FiguresPanel::showProgress);
  QObject::connect(&m_run, &MeasureRun::finished, &m_page, [this](const MeasureReport& report) {
    finishMeasuring(report);
  });
  QObject::connect(m_figures, &FiguresPanel::cancelRequested, &m_page, [this] { m_run.cancel(); });
}

}  // namespace edamori::pages
