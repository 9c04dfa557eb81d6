// SPDX-License-Identifier: GPL-3.0-or-later
// What lies on the Bench: one photo with its tree, branches, outlines, marks and figures, what is
// chosen among them, and every step of work that changes them. No widgets.
#pragma once

#include "app/pages/bench/record_edit.h"
#include "app/pages/garden_session.h"
#include "app/work/photo_scale.h"
#include "vision/insects/scale_insects.h"

#include <QObject>
#include <QPointF>
#include <QUndoGroup>
#include <QUndoStack>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <vector>

namespace edamori::pages {

// The kind of mark that comes next.
struct MarkStyle {
  store::Finding finding = store::Finding::ScaleInsect;
  store::Stage stage = store::Stage::Live;
  int count = 1;
};

// Lives in the GUI thread. Every change goes through the undo stack of its photo and is in the
// garden when the call returns; a step that the garden refuses is told by refused() and leaves
// everything as it was.
class PhotoDesk : public QObject {
  Q_OBJECT

 public:
  explicit PhotoDesk(QObject* parent = nullptr);
  ~PhotoDesk() override;

  // Forgets the photo and all undo steps. The session must outlive its stay here.
  void setSession(GardenSession* session);
  [[nodiscard]] GardenSession* session() const { return m_session; }

  // Takes up a photo. Errors: InvalidArgument without a garden; NotFound; those of reading.
  Result<void> open(const store::PhotoId& photo);
  void close();
  [[nodiscard]] bool hasPhoto() const { return m_photo.has_value(); }

  // Only while hasPhoto().
  [[nodiscard]] const store::Photo& photo() const { return *m_photo; }
  [[nodiscard]] const std::optional<store::Tree>& tree() const { return m_tree; }
  [[nodiscard]] const std::vector<store::Branch>& branches() const { return m_branches; }
  [[nodiscard]] const std::vector<store::OutlineRecord>& outlines() const { return m_outlines; }
  [[nodiscard]] const std::vector<store::Mark>& marks() const { return m_marks; }
  [[nodiscard]] const std::vector<store::Ruler>& rulers() const { return m_rulers; }
  [[nodiscard]] const std::vector<store::HintStroke>& hints() const { return m_hints; }
  [[nodiscard]] const std::vector<store::RejectedCandidate>& rejectedCandidates() const {
    return m_rejected;
  }
  [[nodiscard]] const std::vector<store::Measurement>& measurements() const {
    return m_measurements;
  }
  // Whether the outline's figures went because its shape was changed since they were measured.
  [[nodiscard]] bool lostFigures(const store::OutlineId& outline) const {
    return m_lostFigures.contains(outline);
  }
  [[nodiscard]] const std::vector<store::Photo>& photosOfTree() const { return m_photosOfTree; }
  // The photo of the same tree `step` places later (negative: earlier).
  [[nodiscard]] std::optional<store::PhotoId> neighbour(int step) const;
  // The next later photo of the tree without any mark, round the end; none when all have marks.
  [[nodiscard]] std::optional<store::PhotoId> nextUnmarked() const;

  [[nodiscard]] QString branchName(const store::BranchId& branch) const;  // "" when on none
  [[nodiscard]] const store::OutlineRecord* outlineOf(const store::BranchId& branch) const;
  [[nodiscard]] const store::Mark* findMark(const store::MarkId& mark) const;
  // The branch whose outline holds the point; the smallest one where outlines overlap.
  [[nodiscard]] store::BranchId branchAt(PointPx point) const;
  // Size that marks and outlines must lie within; the decoded photo may correct the record's.
  void setPhotoSize(int widthPx, int heightPx);
  [[nodiscard]] bool isInside(PointPx point) const;

  // What is chosen. Records that vanish leave the choice.
  [[nodiscard]] const std::set<store::MarkId>& chosenMarks() const { return m_chosenMarks; }
  [[nodiscard]] const store::BranchId& chosenBranch() const { return m_chosenBranch; }
  // A corner of what can be reshaped: the one chosen patch, else the chosen branch's outline.
  [[nodiscard]] int chosenVertex() const { return m_chosenVertex; }  // −1: none
  [[nodiscard]] int chosenRing() const { return m_chosenRing; }
  // Its boundaries: ring 0 around it, the others its holes; empty when there is none.
  [[nodiscard]] std::vector<Polygon> rings() const;
  [[nodiscard]] const store::Mark* chosenPatch() const;  // the one chosen mark, when it is a patch
  void chooseMarks(std::set<store::MarkId> marks);
  void chooseBranch(const store::BranchId& branch);
  void chooseVertex(int vertex, int ring = 0);

  [[nodiscard]] const MarkStyle& nextMark() const { return m_next; }
  // Changes the chosen marks, or the next mark when none is chosen.
  void setFinding(store::Finding finding);
  void setStage(store::Stage stage);
  void setCount(int count);
  void setNote(const QString& note);  // of the chosen marks

  // Steps of work. New marks belong to the branch whose outline is under them.
  void addDot(PointPx at);
  void addPatch(const Polygon& patch);
  void moveChosenMarks(QPointF byPx, int mergeKey = -1);
  void removeChosen();  // marks, else the vertex, else the outline of the chosen branch
  // Gives the branch this outline, in place of the one it has. False when it was refused.
  bool setOutline(const store::BranchId& branch, const Polygon& polygon);
  // The same for a branch that is made with it.
  bool setOutlineOfNewBranch(const QString& name, store::BranchKind kind, const Polygon& polygon);
  // Gives one of rings() another shape. A hole of fewer than three corners goes.
  bool reshapeRing(int ring, const Polygon& polygon, const QString& what, int mergeKey = -1);
  // Leaves a region (the pot, another branch) out of the outline. False when it was refused.
  bool leaveOut(const store::BranchId& branch, const Polygon& region);
  // Marks made elsewhere, e.g. carried over from another photo, as one step. Those off the photo
  // are left out; returns how many were added.
  int addMarks(std::vector<store::Mark> marks, const QString& what);
  // Outlines found elsewhere as one step, of those branches that have none here; returns how many.
  int addOutlines(const std::vector<store::OutlineRecord>& outlines, const QString& what);
  bool addRuler(PointPx from, PointPx to, double lengthMm, double clickPx);
  void removeRulers();
  void addHint(store::HintKind kind, double radiusPx, const Polygon& points);
  void removeHints();
  // The scale of the photo by its latest ruler.
  [[nodiscard]] std::optional<work::PhotoScale> photoScale() const;
  void confirmOutline(const store::BranchId& branch);
  // All that were found again; the likeliest places wait for a look at each.
  void confirmOutlines();
  [[nodiscard]] int waitingOutlines() const;  // that nobody has confirmed
  // Offered scale insects become live dots, or are not offered again. False when refused.
  bool acceptCandidates(const std::vector<vision::InsectCandidate>& candidates);
  bool rejectCandidates(const std::vector<vision::InsectCandidate>& candidates);

  // Of this photo; when it has no step left, of the photo of the tree that was last worked on, which
  // is taken up.
  void undo();
  void redo();
  [[nodiscard]] bool canUndo() const { return stackToMove(&QUndoStack::canUndo) != nullptr; }
  [[nodiscard]] bool canRedo() const { return stackToMove(&QUndoStack::canRedo) != nullptr; }
  [[nodiscard]] QString undoText() const;  // "Set dot"; on another photo "Set dot, on another photo"
  [[nodiscard]] QString redoText() const;
  // For keyboard moves: a new run of moves starts here.
  int nextMergeKey() { return ++m_mergeKey; }

  // Reads all records again, e.g. after a worker has stored figures.
  Result<void> reload();

 Q_SIGNALS:
  void photoChanged();    // another photo, or none
  void recordsChanged();  // records of the photo
  void choiceChanged();   // chosen marks, branch, vertex or the next mark's kind
  void refused(const QString& message);
  void stepsChanged();                      // what can be undone and redone
  void movedElsewhere(const QString& step);  // undone or redone on a photo taken up for it

 private:
  using Can = bool (QUndoStack::*)() const;
  bool push(RecordChanges changes);
  [[nodiscard]] RecordEdit::Told told();
  Result<std::unique_ptr<QUndoStack>> keptSteps(const store::PhotoId& photo);
  [[nodiscard]] QUndoStack* stackToMove(Can can) const;
  [[nodiscard]] QString stepText(Can can, QString (QUndoStack::*text)() const) const;
  void moveStep(Can can, void (QUndoStack::*way)(), void (QUndoStack::*back)());
  template <typename Edit>
  void editChosen(const QString& what, Edit edit);
  void addMark(store::Mark mark, const QString& what);
  Result<void> read(const store::PhotoId& photo);
  Result<void> readTree(const store::TreeId& tree);
  void dropVanishedChoice();
  void noteLostFigures(const std::vector<store::OutlineRecord>& outlines,
                       const std::vector<store::Measurement>& measurements);
  void reloadAfterChange();
  void takeInLooseMarks(const store::OutlineRecord& outline, RecordChanges& changes) const;
  [[nodiscard]] bool isGoodShape(const Polygon& polygon, const QString& what);
  [[nodiscard]] bool isGoodOutline(const Polygon& polygon);
  bool reshapePatch(const store::Mark& mark,
                    const Polygon& polygon,
                    const QString& what,
                    int mergeKey);
  bool storeOutline(const store::BranchId& branch, const Polygon& polygon, RecordChanges changes);

  GardenSession* m_session = nullptr;
  std::optional<store::Photo> m_photo;
  std::optional<store::Tree> m_tree;
  std::vector<store::Branch> m_branches;
  std::vector<store::OutlineRecord> m_outlines;
  std::vector<store::Mark> m_marks;
  std::vector<store::Ruler> m_rulers;
  std::vector<store::HintStroke> m_hints;
  std::vector<store::RejectedCandidate> m_rejected;
  std::vector<store::Measurement> m_measurements;
  std::vector<store::Photo> m_photosOfTree;
  std::set<store::OutlineId> m_lostFigures;  // in this session, of all photos
  int m_widthPx = 0, m_heightPx = 0;

  std::set<store::MarkId> m_chosenMarks;
  store::BranchId m_chosenBranch;
  int m_chosenVertex = -1, m_chosenRing = 0;
  MarkStyle m_next;

  QUndoGroup m_undoGroup;
  std::map<store::PhotoId, std::unique_ptr<QUndoStack>> m_stacks;  // one a photo
  std::vector<store::PhotoId> m_worked;  // photos with steps of this session, latest last
  int m_mergeKey = 0;
  bool m_stepFailed = false;
  ErrorCode m_failedFor = ErrorCode::Storage;
};

}  // namespace edamori::pages
