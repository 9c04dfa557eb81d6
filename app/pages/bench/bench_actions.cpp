// SPDX-License-Identifier: GPL-3.0-or-later
// The actions of the Bench and their keys: first letters where they are free, else another letter
// of the word; digits for findings and stages.
#include "app/look/theme.h"
#include "app/pages/bench/bench_parts_internal.h"

#include <QAction>
#include <QActionGroup>
#include <QKeySequence>
#include <QTabWidget>
#include <algorithm>
#include <array>

namespace edamori::pages {

QAction* BenchPage::Parts::addAction(const QString& name,
                                     const QString& text,
                                     const QString& toolTip,
                                     const QList<QKeySequence>& keys) {
  auto* const action = new QAction(text, &m_page);
  action->setObjectName(name);
  action->setShortcuts(keys);
  action->setShortcutContext(Qt::WidgetWithChildrenShortcut);
  const QString key = keys.isEmpty() ? QString() : keys.front().toString(QKeySequence::NativeText);
  action->setProperty("explanation", toolTip);
  action->setToolTip(key.isEmpty() ? toolTip : QStringLiteral("%1 (%2)").arg(toolTip, key));
  m_page.addAction(action);
  return action;
}

void BenchPage::Parts::addTool(Tool& tool,
                               const QString& name,
                               const QString& text,
                               const QIcon& icon,
                               const QKeySequence& key) {
  auto* const action = addAction(name, text, tool.hint(), {key});
  action->setIcon(icon);
  action->setCheckable(true);
  m_tools->addAction(action);
  QObject::connect(action, &QAction::triggered, &m_page, [this, &tool] { useTool(tool); });
}

void BenchPage::Parts::createActions() {
  createTools();
  createChoiceActions();
  createPhotoActions();
  createMeasureActions();
  createPaneActions();
  createViewActions();
  createFurtherActions();
  createOfferActions();
}

void BenchPage::Parts::createTools() {
  using look::Glyph;
  m_tools = new QActionGroup(&m_page);
  addTool(m_pan, QStringLiteral("pan"), tr("Pan"), look::icon(Glyph::Pan), Qt::Key_N);
  addTool(m_select, QStringLiteral("select"), tr("Select"), look::icon(Glyph::Select), Qt::Key_S);
  addTool(m_outline,
          QStringLiteral("outline"),
          tr("Outline"),
          look::icon(Glyph::OutlineTool),
          Qt::Key_B);
  addTool(m_dot, QStringLiteral("dot"), tr("Dot"), look::icon(Glyph::Dot), Qt::Key_D);
  addTool(m_patch, QStringLiteral("patch"), tr("Patch"), look::icon(Glyph::Patch), Qt::Key_T);
  addTool(m_hole, QStringLiteral("hole"), tr("Leave out"), look::icon(Glyph::Hole), Qt::Key_O);
  addTool(m_ruler, QStringLiteral("ruler"), tr("Ruler"), look::icon(Glyph::Ruler), Qt::Key_R);
  addTool(m_hintBrush, QStringLiteral("hint"), tr("Hint"), look::icon(Glyph::Hint), Qt::Key_H);
  addTool(m_offer, QStringLiteral("offer"), tr("Offer scale insects"), look::icon(Glyph::Offer), Qt::Key_F);
  m_offerTool = m_tools->actions().back();
  m_offerTool->setIconText(tr("Offer"));
  m_tools->actions().front()->setChecked(true);
}

void BenchPage::Parts::createChoiceActions() {
  for (std::size_t i = 0; i < kFindings.size(); ++i) {
    const QString name = look::findingName(kFindings[i]);
    auto* const action =
        addAction(QStringLiteral("chooseFinding%1").arg(i + 1),
                  name,
                  tr("Finding of the next or chosen marks: %1").arg(name),
                  {QKeySequence(static_cast<int>(Qt::Key_1) + static_cast<int>(i))});
    QObject::connect(
        action, &QAction::triggered, &m_page, [this, i] { desk.setFinding(kFindings[i]); });
  }
  for (std::size_t i = 0; i < kStages.size(); ++i) {
    auto* const action =
        addAction(QStringLiteral("chooseStage%1").arg(i + 7),
                  stageName(kStages[i]),
                  tr("Stage of the next or chosen marks: %1").arg(stageName(kStages[i])),
                  {QKeySequence(static_cast<int>(Qt::Key_7) + static_cast<int>(i))});
    QObject::connect(
        action, &QAction::triggered, &m_page, [this, i] { desk.setStage(kStages[i]); });
  }
  m_remove = addAction(QStringLiteral("remove"),
                       tr("Remove"),
                       tr("Remove the chosen marks, corner or outline; undo brings it back"),
                       {QKeySequence::Delete});
  m_remove->setIcon(look::icon(look::Glyph::Remove));
  QObject::connect(m_remove, &QAction::triggered, &desk, &PhotoDesk::removeChosen);
  m_chooseAll = addAction(QStringLiteral("chooseAll"),
                          tr("Choose all marks"),
                          tr("Choose all marks of the photo"),
                          {QKeySequence::SelectAll});
  QObject::connect(m_chooseAll, &QAction::triggered, &m_page, [this] {
    std::set<store::MarkId> all;
    for (const auto& mark : desk.marks()) {
      all.insert(mark.id);
    }
    desk.chooseMarks(std::move(all));
  });
  m_undo = addAction(QStringLiteral("undo"), tr("Undo"), tr("Undo"), {QKeySequence::Undo});
  m_redo = addAction(QStringLiteral("redo"), tr("Redo"), tr("Redo"), {QKeySequence::Redo});
  m_undo->setIcon(look::icon(look::Glyph::Undo));
  m_redo->setIcon(look::icon(look::Glyph::Redo));
  QObject::connect(m_undo, &QAction::triggered, &desk, &PhotoDesk::undo);
  QObject::connect(m_redo, &QAction::triggered, &desk, &PhotoDesk::redo);
  QObject::connect(&desk, &PhotoDesk::stepsChanged, &m_page, [this] { showSteps(); });
  QObject::connect(&desk, &PhotoDesk::movedElsewhere, &m_page, [this](const QString& step) {
    say(tr("%1: on this photo, which you worked on before.").arg(step));
  });
  showSteps();
}

void BenchPage::Parts::showSteps() {
  const auto show = [](QAction* action, const QString& name, bool can, const QString& step) {
    action->setEnabled(can);
    const QString keys = action->shortcut().toString(QKeySequence::NativeText);
    action->setToolTip(step.isEmpty() ? tr("%1 (%2)").arg(name, keys)
                                      : tr("%1: %2 (%3)").arg(name, step, keys));
  };
  show(m_undo, tr("Undo"), desk.canUndo(), desk.undoText());
  show(m_redo, tr("Redo"), desk.canRedo(), desk.redoText());
}

void BenchPage::Parts::createPhotoActions() {
  using look::Glyph;
  constexpr double kStep = 1.5;
  m_zoomIn = addAction(
      QStringLiteral("zoomIn"), tr("Zoom in"), tr("Zoom in"), {Qt::Key_Plus, Qt::Key_Equal});
  m_zoomOut = addAction(QStringLiteral("zoomOut"), tr("Zoom out"), tr("Zoom out"), {Qt::Key_Minus});
  m_fit = addAction(
      QStringLiteral("fit"), tr("Whole photo"), tr("Whole photo in the view"), {Qt::Key_W});
  m_pixels = addAction(
      QStringLiteral("pixels"), tr("Pixel for pixel"), tr("Pixel for pixel, 100 %"), {Qt::Key_P});
  m_zoomIn->setIcon(look::icon(Glyph::ZoomIn));
  m_zoomOut->setIcon(look::icon(Glyph::ZoomOut));
  m_fit->setIcon(look::icon(Glyph::Fit));
  m_pixels->setIcon(look::icon(Glyph::OneToOne));
  QObject::connect(
      m_zoomIn, &QAction::triggered, m_view, [this] { m_view->setZoom(m_view->zoom() * kStep); });
  QObject::connect(
      m_zoomOut, &QAction::triggered, m_view, [this] { m_view->setZoom(m_view->zoom() / kStep); });
  QObject::connect(m_fit, &QAction::triggered, m_view, &PhotoView::fit);
  QObject::connect(m_pixels, &QAction::triggered, m_view, [this] { m_view->setZoom(1); });
  m_previous = addAction(QStringLiteral("previous"),
                         tr("Earlier photo"),
                         tr("Earlier photo of this tree"),
                         {QKeySequence(tr("Ctrl+PgUp"))});
  m_next = addAction(QStringLiteral("next"),
                     tr("Later photo"),
                     tr("Later photo of this tree"),
                     {QKeySequence(tr("Ctrl+PgDown"))});
  m_tree = addAction(QStringLiteral("tree"),
                     tr("Tree"),
                     tr("Back to the tree of this photo"),
                     {QKeySequence(tr("Alt+Up"))});
  m_previous->setIcon(look::icon(Glyph::Previous));
  m_next->setIcon(look::icon(Glyph::Next));
  m_tree->setIcon(look::icon(Glyph::Tree));
  QObject::connect(m_previous, &QAction::triggered, &m_page, [this] { goTo(-1); });
  QObject::connect(m_next, &QAction::triggered, &m_page, [this] { goTo(1); });
  QObject::connect(m_tree, &QAction::triggered, &m_page, [this] {
    if (desk.hasPhoto() && desk.tree()) {
      Q_EMIT m_page.treeRequested(desk.tree()->id);
    }
  });
}

void BenchPage::Parts::createPaneActions() {
  auto* const next = addAction(QStringLiteral("nextPane"),
                               tr("To the next part of the page"),
                               tr("Move the keyboard on: tools, photo, branches, figures or marks"),
                               {Qt::Key_F6});
  auto* const previous = addAction(QStringLiteral("previousPane"),
                                   tr("To the previous part of the page"),
                                   tr("Move the keyboard back: figures or marks, branches, photo"),
                                   {Qt::SHIFT | Qt::Key_F6});
  QObject::connect(next, &QAction::triggered, &m_page, [this] { cyclePanes(1); });
  QObject::connect(previous, &QAction::triggered, &m_page, [this] { cyclePanes(-1); });
}

void BenchPage::Parts::createViewActions() {
  using look::Glyph;
  m_loupe = addAction(QStringLiteral("loupe"),
                      tr("Loupe"),
                      tr("A glass at the pointer that enlarges four times"),
                      {Qt::Key_L});
  m_light = addAction(QStringLiteral("light"),
                      tr("Light"),
                      tr("Light dark parts up, contrast, strength of what lies over the photo"),
                      {Qt::Key_V});
  m_overlay = addAction(QStringLiteral("overlayShown"),
                        tr("Show marks and outlines"),
                        tr("Show or hide everything that lies over the photo"),
                        {Qt::Key_K});
  m_loupe->setIcon(look::icon(Glyph::Loupe));
  m_light->setIcon(look::icon(Glyph::Light));
  for (auto* const action : {m_loupe, m_light, m_overlay}) {
    action->setCheckable(true);
  }
  m_overlay->setChecked(true);
  const auto shown = [](bool isOn) { return isOn ? PhotoView::Shown::Yes : PhotoView::Shown::No; };
  QObject::connect(m_loupe, &QAction::toggled, m_view, [this, shown](bool isOn) {
    m_view->setLoupeShown(shown(isOn));
  });
  QObject::connect(
      m_light, &QAction::toggled, m_view, [this](bool isOn) { m_lightBar->setVisible(isOn); });
  QObject::connect(m_overlay, &QAction::toggled, m_view, [this, shown](bool isOn) {
    m_view->setOverlayShown(shown(isOn));
  });
}

void BenchPage::Parts::createFurtherActions() {
  m_unmarked = addAction(QStringLiteral("nextUnmarked"),
                         tr("Next photo without marks"),
                         tr("Go to the next photo of this tree that has no mark yet"),
                         {Qt::Key_U});
  QObject::connect(m_unmarked, &QAction::triggered, &m_page, [this] {
    openNext(desk.nextUnmarked(), tr("Every other photo of this tree has marks."));
  });
  m_copyMarks = addAction(QStringLiteral("copyMarks"),
                          tr("Copy marks to the next photo"),
                          tr("Lay the chosen marks, or all, on the next photo of the same branch"),
                          {Qt::Key_G});
  QObject::connect(m_copyMarks, &QAction::triggered, &m_page, [this] { copyMarksOn(); });
  m_carryOutlines = addAction(QStringLiteral("carryOutlines"),
                              tr("Carry outlines over"),
                              tr("Look for the outlines of the tree's nearest photo on this one"),
                              {QKeySequence(tr("Shift+G"))});
  QObject::connect(m_carryOutlines, &QAction::triggered, &m_page, [this] { carryOutlinesHere(); });
  m_removeRuler = addAction(QStringLiteral("removeRuler"),
                            tr("Remove ruler"),
                            tr("Remove the ruler and with it the scale of this photo"),
                            {});
  QObject::connect(m_removeRuler, &QAction::triggered, &desk, &PhotoDesk::removeRulers);
  m_actionList = addAction(QStringLiteral("actionList"),
                           tr("All actions"),
                           tr("Search everything that can be done here; change keys"),
                           {Qt::Key_A});
  m_actionList->setIcon(look::icon(look::Glyph::Keys));
  QObject::connect(m_actionList, &QAction::triggered, &m_page, [this] { showActionList(); });
  constexpr std::array kHints{
      store::HintKind::Foliage, store::HintKind::NotFoliage, store::HintKind::Spot};
  const std::array names{tr("Hint: foliage"), tr("Hint: not foliage"), tr("Hint: spot")};
  for (std::size_t i = 0; i < kHints.size(); ++i) {
    auto* const action =
        addAction(QStringLiteral("hintKindAction%1").arg(i),
                  names[i],
                  tr("What the hint brush paints next"),
                  {QKeySequence(Qt::SHIFT | static_cast<Qt::Key>(Qt::Key_F7 + static_cast<int>(i)))});
    QObject::connect(action, &QAction::triggered, &m_page, [this, kind = kHints[i]] {
      m_hintBar->choose(kind);
      m_page.findChild<QAction*>(QStringLiteral("hint"))->trigger();
    });
  }
}

void BenchPage::Parts::createMeasureActions() {
  m_confirm = addAction(QStringLiteral("confirmOutline"),
                        tr("Confirm outline"),
                        tr("Confirm that the carried outline fits the branch"),
                        {Qt::Key_C});
  QObject::connect(
      m_confirm, &QAction::triggered, &desk, [this] { desk.confirmOutline(desk.chosenBranch()); });
  m_confirmAll = addAction(QStringLiteral("confirmOutlines"),
                           tr("Confirm all outlines found again"),
                           tr("Confirm every carried outline but those that are only the likeliest place"),
                           {QKeySequence(tr("Shift+C"))});
  QObject::connect(m_confirmAll, &QAction::triggered, &desk, &PhotoDesk::confirmOutlines);
  m_measure = addAction(QStringLiteral("measure"),
                        tr("Measure branch"),
                        tr("Measure the outline of the chosen branch"),
                        {Qt::Key_M});
  m_measure->setIcon(look::icon(look::Glyph::Measure));
  QObject::connect(m_measure, &QAction::triggered, &m_page, [this] {
    if (const auto* const outline = desk.outlineOf(desk.chosenBranch())) {
      measure({outline});
    }
  });
  m_measureAll = addAction(QStringLiteral("measureAll"),
                           tr("Measure all"),
                           tr("Measure all confirmed outlines of this photo"),
                           {QKeySequence(tr("Shift+M"))});
  QObject::connect(m_measureAll, &QAction::triggered, &m_page, [this] {
    std::vector<const store::OutlineRecord*> confirmed;
    for (const auto& outline : desk.outlines()) {
      if (outline.confirmed) {
        confirmed.push_back(&outline);
      }
    }
    m_leftOut = desk.waitingOutlines();
    measure(std::move(confirmed));
  });
  m_tint = addAction(QStringLiteral("tint"),
                     tr("Show what was found"),
                     tr("Tint the foliage and spots that measuring found"),
                     {Qt::Key_I});
  m_tint->setCheckable(true);
  m_view->setTintsShown(PhotoView::Shown::No);
  QObject::connect(m_tint, &QAction::toggled, m_view, [this](bool isOn) {
    m_view->setTintsShown(isOn ? PhotoView::Shown::Yes : PhotoView::Shown::No);
  });
}

void BenchPage::Parts::updateActions() {
  const bool hasPhoto = desk.hasPhoto();
  const auto* const outline = hasPhoto ? desk.outlineOf(desk.chosenBranch()) : nullptr;
  const bool isIdle = !m_run.isRunning();
  m_remove->setEnabled(hasPhoto && (!desk.chosenMarks().empty() || outline != nullptr));
  m_confirm->setEnabled(outline != nullptr && !outline->confirmed);
  m_confirmAll->setEnabled(std::ranges::any_of(
      desk.outlines(), [](const auto& each) { return !each.confirmed && each.residualPx; }));
  m_measure->setEnabled(outline != nullptr && isIdle);
  bool hasConfirmed = false;
  for (const auto& other : desk.outlines()) {
    hasConfirmed = hasConfirmed || other.confirmed;
  }
  m_measureAll->setEnabled(hasPhoto && hasConfirmed && isIdle);
  m_previous->setEnabled(desk.neighbour(-1).has_value());
  m_next->setEnabled(desk.neighbour(1).has_value());
  m_tree->setEnabled(hasPhoto && desk.tree().has_value());
  m_unmarked->setEnabled(desk.neighbour(1).has_value() || desk.neighbour(-1).has_value());
  m_copyMarks->setEnabled(desk.neighbour(1).has_value() && !desk.marks().empty() &&
                          !m_copying.isRunning());
  m_carryOutlines->setEnabled(hasPhoto && desk.photosOfTree().size() > 1 &&
                              desk.outlines().size() < desk.branches().size() && !m_carrying.isRunning());
  m_removeRuler->setEnabled(!desk.rulers().empty());
  m_tools->setEnabled(hasPhoto && !m_chooser->isVisibleTo(&m_page));
  for (auto* const action : {m_zoomIn, m_zoomOut, m_fit, m_pixels, m_chooseAll, m_loupe, m_light, m_overlay}) {
    action->setEnabled(hasPhoto);
  }
}

}  // namespace edamori::pages
