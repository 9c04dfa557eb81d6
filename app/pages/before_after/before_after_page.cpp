// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/before_after/before_after_page.h"

#include "app/look/theme.h"
#include "app/models/text.h"
#include "app/pages/controls.h"

#include <QAction>
#include <QActionGroup>
#include <QCheckBox>
#include <QComboBox>
#include <QDoubleSpinBox>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QLabel>
#include <QListWidget>
#include <QProgressBar>
#include <QPushButton>
#include <QScrollArea>
#include <QSignalBlocker>
#include <QSpinBox>
#include <QToolButton>
#include <QVBoxLayout>
#include <algorithm>

namespace edamori::pages {

namespace {

constexpr int kLeastSideWidthPx = 340;
constexpr int kSideWidthLetters = 42;  // so that larger text has room too
constexpr int kGreatestWindowDays = 90;
// Below three flashes a second (WCAG 2.1, SC 2.3.1): a change at most every half second.
constexpr double kLeastTurnSeconds = 0.5;
constexpr double kGreatestTurnSeconds = 5.0;

QFrame* panel() {
  auto* made = new QFrame;
  made->setProperty("role", QStringLiteral("panel"));
  return made;
}

// A button that has to fit beside others: it takes the words of its action.
QToolButton* toolButton(QAction* action, const QString& objectName) {
  auto* made = new QToolButton;
  made->setObjectName(objectName);
  made->setDefaultAction(action);
  made->setToolButtonStyle(Qt::ToolButtonTextOnly);
  made->setFocusPolicy(Qt::StrongFocus);
  made->setAccessibleName(withoutMnemonic(action->text()));
  return made;
}

}  // namespace

BeforeAfterPage::BeforeAfterPage(QWidget* parent) : QWidget(parent) {
  setObjectName(QStringLiteral("beforeAfterPage"));
  auto* all = new QHBoxLayout(this);
  all->setContentsMargins(look::kGrid * 2, look::kGrid, look::kGrid * 2, look::kGrid);
  all->setSpacing(look::kGrid * 2);
  QWidget* side = createSide();
  all->addWidget(side);
  all->addWidget(createMain(), 1);
  connectAll();
  setFocusProxy(m_branch);
  addPaneKeys(this, [this]() -> std::vector<Pane> {
    return {{m_branch->parentWidget(), m_branch},
            {m_proposals, m_proposals},
            {m_result, m_result},
            {m_view, m_view}};
  });
  updateControls();
}

QWidget* BeforeAfterPage::createSide() {
  auto* side = new QWidget;
  side->setFixedWidth(
      std::max(kLeastSideWidthPx, kSideWidthLetters * fontMetrics().averageCharWidth()));
  auto* column = new QVBoxLayout(side);
  column->setContentsMargins(0, 0, 0, 0);
  column->setSpacing(look::kGrid);
  column->addWidget(createChoice());
  column->addWidget(createProposals());
  column->addWidget(createResult(), 1);
  return side;
}

QWidget* BeforeAfterPage::createChoice() {
  QFrame* frame = panel();
  m_title = label(tr("Before & After"), QStringLiteral("heading"));
  m_title->setObjectName(QStringLiteral("pairTitle"));
  m_title->setTextFormat(Qt::PlainText);
  m_branch = choice(QStringLiteral("compareBranch"));
  m_before = choice(QStringLiteral("compareBefore"));
  m_after = choice(QStringLiteral("compareAfter"));
  auto* form = new QFormLayout;
  form->setFieldGrowthPolicy(QFormLayout::AllNonFixedFieldsGrow);
  addField(form, tr("Bra&nch:"), m_branch);
  addField(form, tr("Be&fore:"), m_before);
  addField(form, tr("&After:"), m_after);
  m_compare = button(tr("&Compare"), QStringLiteral("compareStart"), ButtonRole::Primary);
  m_stop = button(tr("&Stop"), QStringLiteral("compareStop"), ButtonRole::Plain);
  m_busy = new QProgressBar;
  m_busy->setObjectName(QStringLiteral("compareBusy"));
  m_busy->setTextVisible(false);
  auto* row = new QHBoxLayout;
  row->addWidget(m_compare);
  row->addWidget(m_busy, 1);
  row->addWidget(m_stop);
  row->addStretch(0);
  auto* all = new QVBoxLayout(frame);
  all->setSpacing(look::kGrid / 2);
  all->addWidget(m_title);
  all->addLayout(form);
  all->addLayout(row);
  return frame;
}

QWidget* BeforeAfterPage::createProposals() {
  QFrame* frame = panel();
  m_proposals = new QListWidget;
  m_proposals->setObjectName(QStringLiteral("pairProposals"));
  m_proposals->setAccessibleName(tr("Pairs worth comparing"));
  m_proposals->setWordWrap(true);
  m_proposals->setAlternatingRowColors(true);
  m_proposals->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  m_noProposals = label({}, QStringLiteral("quiet"));
  m_window = new QSpinBox;
  m_window->setObjectName(QStringLiteral("seasonWindow"));
  m_window->setRange(0, kGreatestWindowDays);
  m_window->setValue(work::kDefaultSeasonWindowDays);
  m_window->setSuffix(tr(" days"));
  m_window->setAccessibleName(tr("Same season: most days of the year apart"));
  auto* name = new QLabel(tr("Same season &within"));
  name->setBuddy(m_window);
  auto* row = new QHBoxLayout;
  row->addWidget(name);
  row->addWidget(m_window);
  row->addStretch(1);
  auto* all = new QVBoxLayout(frame);
  all->setSpacing(look::kGrid / 2);
  all->addWidget(label(tr("Pairs worth comparing"), QStringLiteral("heading")));
  all->addWidget(m_proposals, 1);
  all->addWidget(m_noProposals);
  all->addLayout(row);
  return frame;
}

QWidget* BeforeAfterPage::createResult() {
  QFrame* frame = panel();
  m_verdict = label({}, QStringLiteral("heading"));
  m_figures = label({}, {});
  m_cautions = label({}, QStringLiteral("quiet"));
  m_verdict->setObjectName(QStringLiteral("compareVerdict"));
  m_figures->setObjectName(QStringLiteral("compareFigures"));
  m_cautions->setObjectName(QStringLiteral("compareCautions"));
  for (QLabel* each : {m_verdict, m_figures, m_cautions}) {
    each->setTextFormat(Qt::PlainText);
    each->setAlignment(Qt::AlignLeft | Qt::AlignTop);
  }
  m_figures->setTextInteractionFlags(Qt::TextSelectableByMouse);
  auto* inside = new QWidget;
  auto* words = new QVBoxLayout(inside);
  words->setContentsMargins(0, 0, 0, 0);
  words->setSpacing(look::kGrid);
  words->addWidget(m_verdict);
  words->addWidget(m_figures);
  words->addWidget(m_cautions);
  words->addStretch(1);
  m_result = new QScrollArea;
  m_result->setObjectName(QStringLiteral("pairResult"));
  m_result->setAccessibleName(tr("Verdict, figures and cautions"));
  m_result->setFocusPolicy(Qt::StrongFocus);
  m_result->setWidgetResizable(true);
  m_result->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  m_result->setMinimumHeight(80);
  m_result->setWidget(inside);
  auto* all = new QVBoxLayout(frame);
  all->setSpacing(look::kGrid);
  all->addWidget(m_result, 1);
  addResultButtons(all);
  return frame;
}

void BeforeAfterPage::addResultButtons(QVBoxLayout* all) {
  m_keep = button(tr("&Keep for the letter"), QStringLiteral("compareKeep"), ButtonRole::Plain);
  m_save = button(tr("Save &picture…"), QStringLiteral("savePicture"), ButtonRole::Plain);
  m_places = button(tr("Set &matching places"), QStringLiteral("setPlaces"), ButtonRole::Plain);
  m_outline = button(tr("M&ove the outline"), QStringLiteral("moveOutline"), ButtonRole::Plain);
  m_forget = button(tr("Forg&et my help"), QStringLiteral("forgetHelp"), ButtonRole::Quiet);
  m_places->setToolTip(tr("Show the program 2 to 4 places that are the same on both photos"));
  m_outline->setToolTip(tr("Put the branch's outline where it belongs on the later photo"));
  m_forget->setToolTip(tr("Let the program alone lay this pair on each other again"));
  auto* help = new QHBoxLayout;
  help->addWidget(m_places);
  help->addWidget(m_outline);
  auto* keep = new QHBoxLayout;
  keep->addWidget(m_keep);
  keep->addWidget(m_save);
  all->addLayout(keep);
  all->addLayout(help);
  all->addWidget(m_forget);
}

QWidget* BeforeAfterPage::createMain() {
  auto* main = new QWidget;
  m_view = new PairView;
  auto* column = new QVBoxLayout(main);
  column->setContentsMargins(0, 0, 0, 0);
  column->setSpacing(look::kGrid / 2);
  column->addWidget(createModes());
  column->addWidget(createTaskBar());
  column->addWidget(m_view, 1);
  column->addWidget(createLegend());
  return main;
}

QAction* BeforeAfterPage::addViewAction(const QString& text,
                                        const QString& hint,
                                        const QKeySequence& key) {
  auto* action = new QAction(text, this);
  action->setShortcut(key);
  // Letters are typed into the lists beside it: only the photos take them as keys.
  action->setShortcutContext(Qt::WidgetShortcut);
  action->setToolTip(QStringLiteral("%1 (%2)").arg(hint, key.toString(QKeySequence::NativeText)));
  m_view->addAction(action);
  m_viewActions.push_back(action);
  return action;
}

QAction* BeforeAfterPage::addMode(PairMode mode,
                                  const QString& text,
                                  const QString& hint,
                                  const QKeySequence& key) {
  QAction* action = addViewAction(text, hint, key);
  action->setCheckable(true);
  action->setData(static_cast<int>(mode));
  action->setChecked(mode == PairMode::SideBySide);
  m_modes->addAction(action);
  connect(action, &QAction::triggered, this, [this, mode] { m_view->setMode(mode); });
  return action;
}

QWidget* BeforeAfterPage::createModes() {
  auto* bar = new QWidget;
  m_modes = new QActionGroup(this);
  auto* row = new QHBoxLayout(bar);
  row->setContentsMargins(0, 0, 0, 0);
  row->setSpacing(look::kGrid / 2);
  const auto add = [&](const char* name, QAction* action) {
    row->addWidget(toolButton(action, QLatin1String(name)));
  };
  add("modeSide", addMode(PairMode::SideBySide, tr("Side by side"), tr("Both photos beside each other"), Qt::Key_S));
  add("modeLine", addMode(PairMode::Line, tr("Line"), tr("A line to draw across: earlier photo to its left, later one to its right"), Qt::Key_L));
  add("modeTurn", addMode(PairMode::InTurn, tr("In turn"), tr("One photo, then the other, with Space"), Qt::Key_T));
  add("modeChange", addMode(PairMode::Change, tr("What changed"), tr("Foliage lost, gained, spotted and no longer spotted"), Qt::Key_C));
  row->addStretch(1);
  const auto zoomBy = [&](const char* name, const QString& text, const QString& hint, const QKeySequence& key, PairView::Zoom how, look::Glyph glyph) {
    QAction* action = addViewAction(text, hint, key);
    action->setIcon(look::icon(glyph));
    connect(action, &QAction::triggered, m_view, [this, how] { m_view->zoom(how); });
    QToolButton* made = toolButton(action, QLatin1String(name));
    made->setToolButtonStyle(Qt::ToolButtonIconOnly);
    row->addWidget(made);
  };
  zoomBy("pairZoomIn", tr("Zoom in"), tr("Zoom in, both photos"), Qt::Key_Plus, PairView::Zoom::In, look::Glyph::ZoomIn);
  zoomBy("pairZoomOut", tr("Zoom out"), tr("Zoom out, both photos"), Qt::Key_Minus, PairView::Zoom::Out, look::Glyph::ZoomOut);
  zoomBy("pairBranch", tr("The branch"), tr("The branch, as large as it fits"), Qt::Key_B, PairView::Zoom::Branch, look::Glyph::OutlineTool);
  zoomBy("pairWhole", tr("Whole photo"), tr("The whole photo"), Qt::Key_W, PairView::Zoom::Whole, look::Glyph::Fit);
  return bar;
}

QWidget* BeforeAfterPage::createTaskBar() {
  m_taskBar = new QFrame;
  m_taskBar->setProperty("role", QStringLiteral("notice"));
  m_taskWords = label({}, {});
  m_taskWords->setObjectName(QStringLiteral("taskWords"));
  m_taskUse = button(tr("Use them"), QStringLiteral("taskUse"), ButtonRole::Primary);
  m_taskBack = button(tr("Take &back the last"), QStringLiteral("taskBack"), ButtonRole::Plain);
  m_taskLeave = button(tr("Leave it"), QStringLiteral("taskLeave"), ButtonRole::Plain);
  auto* row = new QHBoxLayout(m_taskBar);
  row->addWidget(m_taskWords, 1);
  row->addWidget(m_taskUse);
  row->addWidget(m_taskBack);
  row->addWidget(m_taskLeave);
  m_taskBar->setVisible(false);
  return m_taskBar;
}

QWidget* BeforeAfterPage::createLegend() {
  auto* bar = new QWidget;
  m_turnBar = new QWidget;
  m_turnItself = new QCheckBox(tr("Change by &itself, every"));
  m_turnItself->setObjectName(QStringLiteral("turnItself"));
  m_turnItself->setAccessibleName(tr("Change by itself"));
  m_turnSeconds = new QDoubleSpinBox;
  m_turnSeconds->setObjectName(QStringLiteral("turnSeconds"));
  m_turnSeconds->setAccessibleName(tr("Seconds for each photo"));
  m_turnSeconds->setDecimals(1);
  m_turnSeconds->setSingleStep(0.5);
  m_turnSeconds->setRange(kLeastTurnSeconds, kGreatestTurnSeconds);
  m_turnSeconds->setValue(1.0);
  m_turnSeconds->setSuffix(tr(" s"));
  auto* turn = new QHBoxLayout(m_turnBar);
  turn->setContentsMargins(0, 0, 0, 0);
  turn->addWidget(label(tr("Space shows the other photo."), QStringLiteral("quiet")), 1);
  turn->addWidget(m_turnItself);
  turn->addWidget(m_turnSeconds);
  m_legend = new QWidget;
  m_legend->setObjectName(QStringLiteral("changeLegend"));
  auto* legend = new QHBoxLayout(m_legend);
  legend->setContentsMargins(0, 0, 0, 0);
  for (const auto kind :
       {vision::ChangeKind::Lost, vision::ChangeKind::Gained, vision::ChangeKind::Spotted, vision::ChangeKind::Cleared}) {
    auto* sign = new QLabel;
    QPixmap swatch = QPixmap::fromImage(changeSwatch(kind, QSize(56, 36)));
    swatch.setDevicePixelRatio(2);
    sign->setPixmap(swatch);
    sign->setAccessibleName(changeWords(kind));
    auto* words = label(changeWords(kind), {});
    words->setWordWrap(false);
    legend->addWidget(sign);
    legend->addWidget(words);
    legend->addSpacing(look::kGrid);
  }
  legend->addWidget(label(tr("What is narrower than the error of laying one on the other is left out."),
                          QStringLiteral("quiet")),
                    1);
  auto* all = new QVBoxLayout(bar);
  all->setContentsMargins(0, 0, 0, 0);
  all->addWidget(m_turnBar);
  all->addWidget(m_legend);
  return bar;
}

void BeforeAfterPage::connectAll() {
  connect(m_branch, &QComboBox::currentIndexChanged, this, [this] {
    fillPhotos(m_after->currentData().isValid()
                   ? store::PhotoId{models::stdText(m_after->currentData().toString())}
                   : store::PhotoId{});
    fillProposals();
    takeUpChoice();
  });
  connect(m_before, &QComboBox::currentIndexChanged, this, &BeforeAfterPage::takeUpChoice);
  connect(m_after, &QComboBox::currentIndexChanged, this, &BeforeAfterPage::takeUpChoice);
  connect(m_window, &QSpinBox::valueChanged, this, &BeforeAfterPage::fillProposals);
  connect(m_proposals, &QListWidget::currentRowChanged, this, &BeforeAfterPage::takeUpProposal);
  connect(m_proposals, &QListWidget::itemActivated, this, [this] { compare(); });
  connect(m_compare, &QPushButton::clicked, this, &BeforeAfterPage::compare);
  connect(m_stop, &QPushButton::clicked, this, &BeforeAfterPage::stop);
  connect(m_places, &QPushButton::clicked, this, &BeforeAfterPage::setPlaces);
  connect(m_outline, &QPushButton::clicked, this, &BeforeAfterPage::moveOutline);
  connect(m_forget, &QPushButton::clicked, this, &BeforeAfterPage::forgetHelp);
  connect(m_keep, &QPushButton::clicked, this, &BeforeAfterPage::keepPair);
  connect(m_save, &QPushButton::clicked, this, &BeforeAfterPage::savePicture);
  connect(m_taskUse, &QPushButton::clicked, this, &BeforeAfterPage::takeTask);
  connect(m_taskLeave, &QPushButton::clicked, this, &BeforeAfterPage::leaveTask);
  connect(m_taskBack, &QPushButton::clicked, m_view, &PairView::takeBackPlace);
  connect(m_view, &PairView::placesChanged, this, &BeforeAfterPage::updateTaskBar);
  connect(m_view, &PairView::outlineMoved, this, &BeforeAfterPage::updateTaskBar);
  connect(m_view, &PairView::taskTaken, this, &BeforeAfterPage::takeTask);
  connect(m_view, &PairView::taskLeft, this, &BeforeAfterPage::leaveTask);
  connect(m_view, &PairView::modeChanged, this, &BeforeAfterPage::updateControls);
  connect(m_turnItself, &QCheckBox::toggled, this, &BeforeAfterPage::updateTurn);
  connect(m_turnSeconds, &QDoubleSpinBox::valueChanged, this, &BeforeAfterPage::updateTurn);
}

QList<QAction*> BeforeAfterPage::keyActions() const {
  return {m_viewActions.begin(), m_viewActions.end()};
}

}  // namespace edamori::pages
