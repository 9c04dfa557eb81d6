// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/photo_desk.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace edamori::pages {

namespace {

// Takes the value of a result into `place`, or returns the error.
template <typename T>
Result<void> take(Result<T> result, T& place) {
  if (!result) {
    return std::move(result).error();
  }
  place = *std::move(result);
  return {};
}

}  // namespace

PhotoDesk::PhotoDesk(QObject* parent) : QObject(parent) {
  connect(&m_undoGroup, &QUndoGroup::indexChanged, this, &PhotoDesk::stepsChanged);
  connect(&m_undoGroup, &QUndoGroup::activeStackChanged, this, &PhotoDesk::stepsChanged);
}
PhotoDesk::~PhotoDesk() = default;

void PhotoDesk::setSession(GardenSession* session) {
  if (m_session == session) {
    return;
  }
  if (m_session != nullptr) {
    m_session->disconnect(this);
  }
  close();
  m_undoGroup.setActiveStack(nullptr);
  m_stacks.clear();
  m_worked.clear();
  m_lostFigures.clear();
  m_session = session;
  if (m_session != nullptr) {
    connect(m_session, &GardenSession::changed, this, &PhotoDesk::reloadAfterChange);
  }
}

Result<void> PhotoDesk::open(const store::PhotoId& photo) {
  if (m_session == nullptr) {
    return fail(ErrorCode::InvalidArgument, "no garden is open; open one first");
  }
  const bool samePhoto = m_photo && m_photo->id == photo;
  EDAMORI_RETURN_IF_ERROR(read(photo));
  auto& stack = m_stacks[photo];
  if (!stack) {
    auto kept = keptSteps(photo);
    if (!kept) {
      return kept.error();
    }
    stack = *std::move(kept);
    m_undoGroup.addStack(stack.get());
  }
  if (!samePhoto) {
    m_chosenMarks.clear();
    m_chosenVertex = -1;
  }
  dropVanishedChoice();
  m_widthPx = m_photo->widthPx;
  m_heightPx = m_photo->heightPx;
  m_undoGroup.setActiveStack(stack.get());
  Q_EMIT photoChanged();
  Q_EMIT recordsChanged();
  Q_EMIT choiceChanged();
  return {};
}

// The steps of an earlier run of the program, to be taken back as if they had just been made.
Result<std::unique_ptr<QUndoStack>> PhotoDesk::keptSteps(const store::PhotoId& photo) {
  const auto steps = m_session->garden().workSteps(photo);
  if (!steps) {
    return steps.error();
  }
  auto stack = std::make_unique<QUndoStack>();
  int done = 0;
  for (const auto& step : *steps) {
    done += step.isDone && done == stack->count() ? 1 : 0;
    stack->push(new RecordEdit(m_session->garden(), step, told()));
  }
  stack->setIndex(done);
  return stack;
}

void PhotoDesk::close() {
  if (!m_photo) {
    return;
  }
  m_photo.reset();
  m_tree.reset();
  m_branches.clear();
  m_outlines.clear();
  m_marks.clear();
  m_measurements.clear();
  m_rulers.clear();
  m_hints.clear();
  m_rejected.clear();
  m_photosOfTree.clear();
  m_chosenMarks.clear();
  m_chosenBranch = {};
  m_chosenVertex = -1;
  m_undoGroup.setActiveStack(nullptr);
  Q_EMIT photoChanged();
  Q_EMIT recordsChanged();
  Q_EMIT choiceChanged();
}

Result<void> PhotoDesk::read(const store::PhotoId& photo) {
  const auto& garden = m_session->garden();
  auto found = garden.find(photo);
  if (!found) {
    return std::move(found).error();
  }
  if (!*found) {
    return fail(ErrorCode::NotFound, "this photo is no longer in the garden; choose another one");
  }
  std::vector<store::OutlineRecord> outlines;
  std::vector<store::Mark> marks;
  std::vector<store::Measurement> measurements;
  std::vector<store::Ruler> rulers;
  std::vector<store::HintStroke> hints;
  std::vector<store::RejectedCandidate> rejected;
  EDAMORI_RETURN_IF_ERROR(take(garden.rejectedCandidates(photo), rejected));
  EDAMORI_RETURN_IF_ERROR(take(garden.rulers(photo), rulers));
  EDAMORI_RETURN_IF_ERROR(take(garden.hintStrokes(photo), hints));
  EDAMORI_RETURN_IF_ERROR(take(garden.outlines(photo), outlines));
  EDAMORI_RETURN_IF_ERROR(take(garden.marks(photo), marks));
  EDAMORI_RETURN_IF_ERROR(take(garden.measurements(photo), measurements));
  EDAMORI_RETURN_IF_ERROR(readTree((*found)->tree));
  noteLostFigures(outlines, measurements);
  m_photo = **std::move(found);
  m_outlines = std::move(outlines);
  m_marks = std::move(marks);
  m_measurements = std::move(measurements);
  m_rulers = std::move(rulers);
  m_hints = std::move(hints);
  m_rejected = std::move(rejected);
  return {};
}

// An outline that keeps its id but changes its shape has lost what was measured within it.
void PhotoDesk::noteLostFigures(const std::vector<store::OutlineRecord>& outlines,
                                const std::vector<store::Measurement>& measurements) {
  for (const auto& outline : outlines) {
    if (std::ranges::find(measurements, outline.id, &store::Measurement::outline) !=
        measurements.end()) {
      m_lostFigures.erase(outline.id);
      continue;
    }
    const auto before = std::ranges::find(m_outlines, outline.id, &store::OutlineRecord::id);
    const bool hadFigures =
        std::ranges::find(m_measurements, outline.id, &store::Measurement::outline) !=
        m_measurements.end();
    if (before != m_outlines.end() && before->shape != outline.shape && hadFigures) {
      m_lostFigures.insert(outline.id);
    }
  }
}

Result<void> PhotoDesk::readTree(const store::TreeId& tree) {
  std::optional<store::Tree> found;
  std::vector<store::Branch> branches;
  std::vector<store::Photo> photos;
  if (!tree.isEmpty()) {
    const auto& garden = m_session->garden();
    EDAMORI_RETURN_IF_ERROR(take(garden.find(tree), found));
    EDAMORI_RETURN_IF_ERROR(take(garden.branches(tree), branches));
    EDAMORI_RETURN_IF_ERROR(take(garden.photos(tree), photos));
  }
  m_tree = std::move(found);
  m_branches = std::move(branches);
  m_photosOfTree = std::move(photos);
  return {};
}

Result<void> PhotoDesk::reload() {
  if (!m_photo) {
    return {};
  }
  EDAMORI_RETURN_IF_ERROR(read(m_photo->id));
  dropVanishedChoice();
  Q_EMIT recordsChanged();
  Q_EMIT choiceChanged();
  return {};
}

void PhotoDesk::reloadAfterChange() {
  const auto result = reload();
  if (result) {
    return;
  }
  if (result.error().code == ErrorCode::NotFound) {
    close();
  }
  Q_EMIT refused(QString::fromStdString(result.error().message));
}

void PhotoDesk::dropVanishedChoice() {
  std::erase_if(m_chosenMarks, [this](const auto& id) { return findMark(id) == nullptr; });
  if (std::ranges::find(m_branches, m_chosenBranch, &store::Branch::id) == m_branches.end()) {
    m_chosenBranch = m_branches.empty() ? store::BranchId{} : m_branches.front().id;
    m_chosenVertex = -1;
  }
  const auto boundaries = rings();
  const auto ring = static_cast<std::size_t>(m_chosenRing);
  if (ring >= boundaries.size() || m_chosenVertex >= std::ssize(boundaries[ring])) {
    m_chosenVertex = -1;
    m_chosenRing = 0;
  }
}

const store::Mark* PhotoDesk::chosenPatch() const {
  const auto* const mark = m_chosenMarks.size() == 1 ? findMark(*m_chosenMarks.begin()) : nullptr;
  return mark != nullptr && mark->kind == store::MarkKind::Patch ? mark : nullptr;
}

std::vector<Polygon> PhotoDesk::rings() const {
  if (const auto* const patch = chosenPatch()) {
    return {patch->patch};
  }
  const auto* const outline = outlineOf(m_chosenBranch);
  if (outline == nullptr) {
    return {};
  }
  std::vector<Polygon> all{outline->shape.polygon};
  all.insert(all.end(), outline->shape.holes.begin(), outline->shape.holes.end());
  return all;
}

std::optional<work::PhotoScale> PhotoDesk::photoScale() const {
  return m_rulers.empty() ? std::nullopt : std::optional(work::scaleOf(m_rulers.back()));
}

std::optional<store::PhotoId> PhotoDesk::nextUnmarked() const {
  if (!m_photo || !m_tree) {
    return std::nullopt;
  }
  const auto marks = m_session->garden().marksOfTree(m_tree->id);
  const auto here = std::ranges::find(m_photosOfTree, m_photo->id, &store::Photo::id);
  if (!marks || here == m_photosOfTree.end()) {
    return std::nullopt;
  }
  std::set<store::PhotoId> marked;
  for (const auto& mark : *marks) {
    marked.insert(mark.photo);
  }
  const auto count = m_photosOfTree.size();
  const auto at = static_cast<std::size_t>(here - m_photosOfTree.begin());
  for (std::size_t step = 1; step < count; ++step) {
    const auto& photo = m_photosOfTree[(at + step) % count];
    if (!marked.contains(photo.id)) {
      return photo.id;
    }
  }
  return std::nullopt;
}

std::optional<store::PhotoId> PhotoDesk::neighbour(int step) const {
  if (!m_photo) {
    return std::nullopt;
  }
  const auto here = std::ranges::find(m_photosOfTree, m_photo->id, &store::Photo::id);
  if (here == m_photosOfTree.end()) {
    return std::nullopt;
  }
  const auto place = (here - m_photosOfTree.begin()) + step;
  if (place < 0 || place >= std::ssize(m_photosOfTree)) {
    return std::nullopt;
  }
  return m_photosOfTree[static_cast<std::size_t>(place)].id;
}

QString PhotoDesk::branchName(const store::BranchId& branch) const {
  const auto found = std::ranges::find(m_branches, branch, &store::Branch::id);
  return found == m_branches.end() ? QString() : QString::fromStdString(found->name);
}

const store::OutlineRecord* PhotoDesk::outlineOf(const store::BranchId& branch) const {
  const auto found = std::ranges::find(m_outlines, branch, &store::OutlineRecord::branch);
  return found == m_outlines.end() || branch.isEmpty() ? nullptr : &*found;
}

const store::Mark* PhotoDesk::findMark(const store::MarkId& mark) const {
  const auto found = std::ranges::find(m_marks, mark, &store::Mark::id);
  return found == m_marks.end() ? nullptr : &*found;
}

store::BranchId PhotoDesk::branchAt(PointPx point) const {
  const store::OutlineRecord* best = nullptr;
  for (const auto& outline : m_outlines) {
    if (contains(outline.shape, point) &&
        (best == nullptr || areaPx2(outline.shape.polygon) < areaPx2(best->shape.polygon))) {
      best = &outline;
    }
  }
  return best == nullptr ? store::BranchId{} : best->branch;
}

void PhotoDesk::setPhotoSize(int widthPx, int heightPx) {
  m_widthPx = widthPx;
  m_heightPx = heightPx;
}

bool PhotoDesk::isInside(PointPx point) const {
  return point.x >= 0 && point.y >= 0 && point.x <= m_widthPx && point.y <= m_heightPx;
}

void PhotoDesk::chooseMarks(std::set<store::MarkId> marks) {
  if (marks != m_chosenMarks) {
    m_chosenMarks = std::move(marks);
    m_chosenVertex = -1;
    m_chosenRing = 0;
    Q_EMIT choiceChanged();
  }
}

void PhotoDesk::chooseBranch(const store::BranchId& branch) {
  if (branch != m_chosenBranch) {
    m_chosenBranch = branch;
    m_chosenVertex = -1;
    Q_EMIT choiceChanged();
  }
}

void PhotoDesk::chooseVertex(int vertex, int ring) {
  if (vertex != m_chosenVertex || ring != m_chosenRing) {
    m_chosenVertex = vertex;
    m_chosenRing = ring;
    Q_EMIT choiceChanged();
  }
}

}  // namespace edamori::pages
