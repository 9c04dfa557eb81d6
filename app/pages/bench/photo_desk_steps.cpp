// SPDX-License-Identifier: GPL-3.0-or-later
// The steps of work of a PhotoDesk: what they change, as records before and after.
#include "app/pages/bench/photo_desk.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace edamori::pages {

namespace {

bool isFinite(PointPx point) { return std::isfinite(point.x) && std::isfinite(point.y); }

PointPx shifted(PointPx point, QPointF by) {
  return {.x = point.x + by.x(), .y = point.y + by.y()};
}

bool overlaps(const Polygon& a, const Polygon& b) {
  const auto within = [](const Polygon& outer) {
    return [&outer](PointPx p) { return contains(outer, p); };
  };
  return std::ranges::any_of(b, within(a)) || std::ranges::any_of(a, within(b)) ||
         contains(a, centroidPx(b));
}

}  // namespace

RecordEdit::Told PhotoDesk::told() {
  return [this](const Result<void>& result) {
    m_stepFailed = !result;
    if (result) {
      // All pages read again on this, this one too.
      m_session->announceChange();
    } else {
      m_failedFor = result.error().code;
      Q_EMIT refused(QString::fromStdString(result.error().message));
    }
  };
}

bool PhotoDesk::push(RecordChanges changes) {
  auto* const stack = m_undoGroup.activeStack();
  if (m_session == nullptr || stack == nullptr || changes.isEmpty()) {
    return false;
  }
  m_stepFailed = false;
  const auto* const latest =
      stack->index() > 0 ? dynamic_cast<const RecordEdit*>(stack->command(stack->index() - 1))
                         : nullptr;
  stack->push(new RecordEdit(m_session->garden(),
                             m_photo->id,
                             latest == nullptr ? 1 : latest->number() + 1,
                             std::move(changes),
                             told()));
  std::erase(m_worked, m_photo->id);
  m_worked.push_back(m_photo->id);
  return !m_stepFailed;
}

QUndoStack* PhotoDesk::stackToMove(Can can) const {
  auto* const active = m_undoGroup.activeStack();
  if (active == nullptr || (active->*can)()) {
    return active;
  }
  for (auto photo = m_worked.rbegin(); photo != m_worked.rend(); ++photo) {
    const auto stack = m_stacks.find(*photo);
    const bool isOfTree = std::ranges::find(m_photosOfTree, *photo, &store::Photo::id) != m_photosOfTree.end();
    if (isOfTree && stack != m_stacks.end() && (stack->second.get()->*can)()) {
      return stack->second.get();
    }
  }
  return nullptr;
}

QString PhotoDesk::stepText(Can can, QString (QUndoStack::*text)() const) const {
  const auto* const stack = stackToMove(can);
  if (stack == nullptr) {
    return {};
  }
  return stack == m_undoGroup.activeStack() ? (stack->*text)()
                                            : tr("%1, on another photo").arg((stack->*text)());
}

QString PhotoDesk::undoText() const { return stepText(&QUndoStack::canUndo, &QUndoStack::undoText); }
QString PhotoDesk::redoText() const { return stepText(&QUndoStack::canRedo, &QUndoStack::redoText); }

void PhotoDesk::moveStep(Can can, void (QUndoStack::*way)(), void (QUndoStack::*back)()) {
  auto* const stack = stackToMove(can);
  if (stack == nullptr) {
    return;
  }
  const bool isElsewhere = stack != m_undoGroup.activeStack();
  const QString step = can == &QUndoStack::canUndo ? stack->undoText() : stack->redoText();
  if (isElsewhere) {
    const auto photo = std::ranges::find(m_stacks, stack, [](const auto& each) { return each.second.get(); });
    if (const auto opened = open(photo->first); !opened) {
      Q_EMIT refused(QString::fromStdString(opened.error().message));
      return;
    }
  }
  m_stepFailed = false;
  (stack->*way)();
  // A stack counts a step as moved even when the garden was busy: it is moved back.
  if (m_stepFailed && m_failedFor != ErrorCode::InvalidArgument) {
    (stack->*back)();
  }
  if (isElsewhere && !m_stepFailed) {
    Q_EMIT movedElsewhere(step);
  }
}

void PhotoDesk::undo() { moveStep(&QUndoStack::canUndo, &QUndoStack::undo, &QUndoStack::redo); }
void PhotoDesk::redo() { moveStep(&QUndoStack::canRedo, &QUndoStack::redo, &QUndoStack::undo); }

template <typename Edit>
void PhotoDesk::editChosen(const QString& what, Edit edit) {
  RecordChanges changes{.what = what};
  for (const auto& id : m_chosenMarks) {
    if (const auto* const mark = findMark(id)) {
      store::Mark edited = *mark;
      edit(edited);
      if (edited != *mark) {
        changes.marks.push_back({.before = *mark, .after = std::move(edited)});
      }
    }
  }
  push(std::move(changes));
}

void PhotoDesk::setFinding(store::Finding finding) {
  if (!m_chosenMarks.empty()) {
    editChosen(tr("Change finding"), [finding](store::Mark& mark) { mark.finding = finding; });
    return;
  }
  m_next.finding = finding;
  Q_EMIT choiceChanged();
}

void PhotoDesk::setStage(store::Stage stage) {
  if (!m_chosenMarks.empty()) {
    editChosen(tr("Change stage"), [stage](store::Mark& mark) { mark.stage = stage; });
    return;
  }
  m_next.stage = stage;
  Q_EMIT choiceChanged();
}

void PhotoDesk::setCount(int count) {
  count = std::max(count, 0);
  if (!m_chosenMarks.empty()) {
    editChosen(tr("Change count"), [count](store::Mark& mark) { mark.count = count; });
    return;
  }
  m_next.count = count;
  Q_EMIT choiceChanged();
}

void PhotoDesk::setNote(const QString& note) {
  editChosen(tr("Change note"),
             [text = note.toStdString()](store::Mark& mark) { mark.note = text; });
}

void PhotoDesk::addMark(store::Mark mark, const QString& what) {
  mark.id = store::MarkId::create();
  mark.photo = m_photo->id;
  mark.branch = branchAt(mark.centre);
  mark.finding = m_next.finding;
  mark.stage = m_next.stage;
  mark.count = m_next.count;
  RecordChanges changes{.what = what};
  changes.marks.push_back({.before = std::nullopt, .after = std::move(mark)});
  push(std::move(changes));
}

void PhotoDesk::addDot(PointPx at) {
  if (!m_photo || !isInside(at)) {
    return;
  }
  store::Mark dot;
  dot.kind = store::MarkKind::Dot;
  dot.centre = at;
  addMark(std::move(dot), tr("Set dot"));
}

void PhotoDesk::addPatch(const Polygon& patch) {
  if (!m_photo) {
    return;
  }
  if (patch.size() < 3 || areaPx2(patch) < 1) {
    Q_EMIT refused(tr("A patch needs at least three corners around an area."));
    return;
  }
  store::Mark mark;
  mark.kind = store::MarkKind::Patch;
  mark.centre = centroidPx(patch);
  mark.patch = patch;
  addMark(std::move(mark), tr("Draw patch"));
}

void PhotoDesk::moveChosenMarks(QPointF byPx, int mergeKey) {
  RecordChanges changes{.what = tr("Move marks"), .mergeKey = mergeKey};
  for (const auto& id : m_chosenMarks) {
    const auto* const mark = findMark(id);
    if (mark == nullptr) {
      continue;
    }
    store::Mark moved = *mark;
    moved.centre = shifted(moved.centre, byPx);
    std::ranges::for_each(moved.patch, [byPx](PointPx& p) { p = shifted(p, byPx); });
    if (!isInside(moved.centre)) {
      Q_EMIT refused(tr("Marks stay on the photo."));
      return;
    }
    moved.branch = branchAt(moved.centre);
    if (moved != *mark) {
      changes.marks.push_back({.before = *mark, .after = std::move(moved)});
    }
  }
  push(std::move(changes));
}

void PhotoDesk::removeChosen() {
  const auto boundaries = rings();
  if (m_chosenVertex >= 0 && static_cast<std::size_t>(m_chosenRing) < boundaries.size()) {
    const int ring = std::exchange(m_chosenRing, 0);
    Polygon fewer = boundaries[static_cast<std::size_t>(ring)];
    fewer.erase(fewer.begin() + std::exchange(m_chosenVertex, -1));
    reshapeRing(ring, fewer, tr("Remove corner"));
    return;
  }
  RecordChanges changes;
  if (!m_chosenMarks.empty()) {
    changes.what = m_chosenMarks.size() == 1 ? tr("Remove mark") : tr("Remove marks");
    for (const auto& id : m_chosenMarks) {
      if (const auto* const mark = findMark(id)) {
        changes.marks.push_back({.before = *mark, .after = std::nullopt});
      }
    }
    push(std::move(changes));
    return;
  }
  if (const auto* const outline = outlineOf(m_chosenBranch)) {
    changes.what = tr("Remove outline");
    changes.outlines.push_back({.before = *outline, .after = std::nullopt});
    push(std::move(changes));
  }
}

bool PhotoDesk::isGoodShape(const Polygon& polygon, const QString& what) {
  QString reason;
  if (polygon.size() < 3 || areaPx2(polygon) < 1) {
    reason = tr("%1 needs at least three corners around an area.").arg(what);
  } else if (!std::ranges::all_of(polygon, isFinite) ||
             !std::ranges::all_of(polygon, [this](PointPx p) { return isInside(p); })) {
    reason = tr("%1 stays on the photo.").arg(what);
  } else if (crossesItself(polygon)) {
    reason = tr("%1 crosses itself; move or remove the corner that does it.").arg(what);
  }
  if (!reason.isEmpty()) {
    Q_EMIT refused(reason);
  }
  return reason.isEmpty();
}

bool PhotoDesk::isGoodOutline(const Polygon& polygon) {
  return isGoodShape(polygon, tr("An outline"));
}

// Marks that were set before there was an outline belong to it once it is drawn around them.
void PhotoDesk::takeInLooseMarks(const store::OutlineRecord& outline,
                                 RecordChanges& changes) const {
  for (const auto& mark : m_marks) {
    if (mark.branch.isEmpty() && contains(outline.shape, mark.centre)) {
      store::Mark taken = mark;
      taken.branch = outline.branch;
      changes.marks.push_back({.before = mark, .after = std::move(taken)});
    }
  }
}

bool PhotoDesk::storeOutline(const store::BranchId& branch,
                             const Polygon& polygon,
                             RecordChanges changes) {
  store::OutlineRecord outline;
  std::optional<store::OutlineRecord> before;
  if (const auto* const present = outlineOf(branch)) {
    before = *present;
    outline = *present;
  } else {
    outline.id = store::OutlineId::create();
  }
  outline.photo = m_photo->id;
  outline.branch = branch;
  // What a person has drawn is neither carried over nor in need of confirmation.
  outline.shape = Outline{.polygon = polygon, .holes = {}};
  outline.carriedFrom.reset();
  outline.residualPx.reset();
  outline.confirmed = true;
  takeInLooseMarks(outline, changes);
  changes.outlines.push_back({.before = std::move(before), .after = std::move(outline)});
  if (!push(std::move(changes))) {
    return false;
  }
  chooseBranch(branch);
  return true;
}

bool PhotoDesk::setOutline(const store::BranchId& branch, const Polygon& polygon) {
  return m_photo && isGoodOutline(polygon) &&
         storeOutline(branch, polygon, {.what = tr("Draw outline of %1").arg(branchName(branch))});
}

bool PhotoDesk::setOutlineOfNewBranch(const QString& name,
                                      store::BranchKind kind,
                                      const Polygon& polygon) {
  if (!m_photo || !m_tree || !isGoodOutline(polygon)) {
    return false;
  }
  store::Branch branch{.id = store::BranchId::create(),
                       .tree = m_tree->id,
                       .kind = kind,
                       .name = name.trimmed().toStdString(),
                       .order = m_branches.empty() ? 1 : m_branches.back().order + 1};
  const auto id = branch.id;
  RecordChanges changes{.what = tr("Draw outline of %1").arg(name.trimmed())};
  changes.branches.push_back({.before = std::nullopt, .after = std::move(branch)});
  return storeOutline(id, polygon, std::move(changes));
}

bool PhotoDesk::reshapePatch(const store::Mark& mark,
                             const Polygon& polygon,
                             const QString& what,
                             int mergeKey) {
  if (!isGoodShape(polygon, tr("A patch"))) {
    return false;
  }
  store::Mark reshaped = mark;
  reshaped.patch = polygon;
  reshaped.centre = centroidPx(polygon);
  reshaped.branch = branchAt(reshaped.centre);
  RecordChanges changes{.what = what, .mergeKey = mergeKey};
  changes.marks.push_back({.before = mark, .after = std::move(reshaped)});
  return push(std::move(changes));
}

bool PhotoDesk::reshapeRing(int ring,
                            const Polygon& polygon,
                            const QString& what,
                            int mergeKey) {
  if (const auto* const patch = chosenPatch()) {
    return reshapePatch(*patch, polygon, what, mergeKey);
  }
  const auto* const outline = outlineOf(m_chosenBranch);
  if (outline == nullptr || ring < 0 || ring > std::ssize(outline->shape.holes)) {
    return false;
  }
  store::OutlineRecord reshaped = *outline;
  auto& holes = reshaped.shape.holes;
  if (ring == 0) {
    reshaped.shape.polygon = polygon;
  } else if (polygon.size() < 3) {
    holes.erase(holes.begin() + ring - 1);
  } else {
    holes[static_cast<std::size_t>(ring - 1)] = polygon;
  }
  if ((ring == 0 || polygon.size() >= 3) && !isGoodOutline(polygon)) {
    return false;
  }
  // Corners moved by hand: the person has looked at it.
  reshaped.confirmed = true;
  RecordChanges changes{.what = what, .mergeKey = mergeKey};
  changes.outlines.push_back({.before = *outline, .after = std::move(reshaped)});
  return push(std::move(changes));
}

bool PhotoDesk::leaveOut(const store::BranchId& branch, const Polygon& region) {
  const auto* const outline = outlineOf(branch);
  if (outline == nullptr) {
    Q_EMIT refused(tr("Choose the branch whose outline you want to leave something out of."));
    return false;
  }
  if (!isGoodShape(region, tr("What is left out"))) {
    return false;
  }
  if (!overlaps(outline->shape.polygon, region)) {
    Q_EMIT refused(tr("This lies outside the outline of %1.").arg(branchName(branch)));
    return false;
  }
  store::OutlineRecord less = *outline;
  less.shape.holes.push_back(region);
  RecordChanges changes{.what = tr("Leave out of %1").arg(branchName(branch))};
  changes.outlines.push_back({.before = *outline, .after = std::move(less)});
  return push(std::move(changes));
}

int PhotoDesk::addMarks(std::vector<store::Mark> marks, const QString& what) {
  RecordChanges changes{.what = what};
  for (auto& mark : marks) {
    if (!m_photo || !isInside(mark.centre)) {
      continue;
    }
    mark.id = store::MarkId::create();
    mark.photo = m_photo->id;
    mark.branch = branchAt(mark.centre);
    changes.marks.push_back({.before = std::nullopt, .after = std::move(mark)});
  }
  std::set<store::MarkId> added;
  for (const auto& change : changes.marks) {
    added.insert(change.after->id);
  }
  if (!push(std::move(changes))) {
    return 0;
  }
  chooseMarks(added);
  return static_cast<int>(added.size());
}

int PhotoDesk::addOutlines(const std::vector<store::OutlineRecord>& outlines, const QString& what) {
  RecordChanges changes{.what = what};
  for (const auto& outline : outlines) {
    if (m_photo && outline.photo == m_photo->id && outlineOf(outline.branch) == nullptr) {
      changes.outlines.push_back({.before = std::nullopt, .after = outline});
    }
  }
  const auto added = static_cast<int>(changes.outlines.size());
  const auto first = added > 0 ? changes.outlines.front().after->branch : store::BranchId{};
  if (added == 0 || !push(std::move(changes))) {
    return 0;
  }
  chooseBranch(first);
  return added;
}

bool PhotoDesk::addRuler(PointPx from, PointPx to, double lengthMm, double clickPx) {
  if (!m_photo || !isInside(from) || !isInside(to) || from == to || !(lengthMm > 0)) {
    Q_EMIT refused(tr("A ruler needs two points apart on the photo and a length above 0 mm."));
    return false;
  }
  RecordChanges changes{.what = tr("Set ruler")};
  // One scale a photo: a new ruler takes the place of the old one.
  for (const auto& old : m_rulers) {
    changes.rulers.push_back({.before = old, .after = std::nullopt});
  }
  changes.rulers.push_back({.before = std::nullopt,
                            .after = store::Ruler{.id = store::RulerId::create(),
                                                  .photo = m_photo->id,
                                                  .from = from,
                                                  .to = to,
                                                  .lengthMm = lengthMm,
                                                  .clickPx = clickPx}});
  return push(std::move(changes));
}

void PhotoDesk::removeRulers() {
  RecordChanges changes{.what = tr("Remove ruler")};
  for (const auto& ruler : m_rulers) {
    changes.rulers.push_back({.before = ruler, .after = std::nullopt});
  }
  push(std::move(changes));
}

void PhotoDesk::addHint(store::HintKind kind, double radiusPx, const Polygon& points) {
  if (!m_photo || points.empty()) {
    return;
  }
  RecordChanges changes{.what = tr("Paint hint")};
  changes.hints.push_back({.before = std::nullopt,
                           .after = store::HintStroke{.id = store::HintStrokeId::create(),
                                                      .photo = m_photo->id,
                                                      .kind = kind,
                                                      .radiusPx = radiusPx,
                                                      .points = points}});
  push(std::move(changes));
}

void PhotoDesk::removeHints() {
  RecordChanges changes{.what = tr("Remove all hints")};
  for (const auto& stroke : m_hints) {
    changes.hints.push_back({.before = stroke, .after = std::nullopt});
  }
  push(std::move(changes));
}

void PhotoDesk::confirmOutline(const store::BranchId& branch) {
  const auto* const outline = outlineOf(branch);
  if (outline == nullptr || outline->confirmed) {
    return;
  }
  store::OutlineRecord confirmed = *outline;
  confirmed.confirmed = true;
  RecordChanges changes{.what = tr("Confirm outline of %1").arg(branchName(branch))};
  changes.outlines.push_back({.before = *outline, .after = std::move(confirmed)});
  push(std::move(changes));
}

void PhotoDesk::confirmOutlines() {
  RecordChanges changes{.what = tr("Confirm outlines")};
  for (const auto& outline : m_outlines) {
    if (!outline.confirmed && outline.residualPx) {
      store::OutlineRecord confirmed = outline;
      confirmed.confirmed = true;
      changes.outlines.push_back({.before = outline, .after = std::move(confirmed)});
    }
  }
  push(std::move(changes));
}

int PhotoDesk::waitingOutlines() const {
  return static_cast<int>(
      std::ranges::count_if(m_outlines, [](const auto& outline) { return !outline.confirmed; }));
}

}  // namespace edamori::pages
