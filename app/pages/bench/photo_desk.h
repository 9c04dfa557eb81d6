// SPDX-License-Identifier: GPL-3.0-or-later
// What lies on the Bench: one photo with its tree, branches, outlines, marks and figures, what is
// chosen among them, and every step of work that changes them. No widgets.
#pragma once

#include "app/pages/bench/record_edit.h"
#include "app/pages/garden_session.h"

#include <QObject>
#include <QPointF>
#include <QUndoGroup>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <vector>

class QUndoStack;

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
  [[nodiscard]] int chosenVertex() const {
    return m_chosenVertex;
  }  // of the branch's outline; −1: none
  void chooseMarks(std::set<store::MarkId> marks);
  void chooseBranch(const store::BranchId& branch);
  void chooseVertex(int vertex);

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
  bool reshapeOutline(const store::BranchId& branch,
                      const Polygon& polygon,
                      const QString& what,
                      int mergeKey = -1);
  void confirmOutline(const store::BranchId& branch);

  [[nodiscard]] QUndoGroup& undoGroup() { return m_undoGroup; }
  // For keyboard moves: a new run of moves starts here.
  int nextMergeKey() { return ++m_mergeKey; }

  // Reads all records again, e.g. after a worker has stored figures.
  Result<void> reload();

 Q_SIGNALS:
  void photoChanged();    // another photo, or none
  void recordsChanged();  // records of the photo
  void choiceChanged();   // chosen marks, branch, vertex or the next mark's kind
  void refused(const QString& message);

 private:
  bool push(RecordChanges changes);
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
  [[nodiscard]] bool isGoodOutline(const Polygon& polygon);
  bool storeOutline(const store::BranchId& branch, const Polygon& polygon, RecordChanges changes);

  GardenSession* m_session = nullptr;
  std::optional<store::Photo> m_photo;
  std::optional<store::Tree> m_tree;
  std::vector<store::Branch> m_branches;
  std::vector<store::OutlineRecord> m_outlines;
  std::vector<store::Mark> m_marks;
  std::vector<store::Measurement> m_measurements;
  std::vector<store::Photo> m_photosOfTree;
  std::set<store::OutlineId> m_lostFigures;  // in this session, of all photos
  int m_widthPx = 0, m_heightPx = 0;

  std::set<store::MarkId> m_chosenMarks;
  store::BranchId m_chosenBranch;
  int m_chosenVertex = -1;
  MarkStyle m_next;

  QUndoGroup m_undoGroup;
  std::map<store::PhotoId, std::unique_ptr<QUndoStack>> m_stacks;  // one a photo
  int m_mergeKey = 0;
  bool m_stepFailed = false;
};

}  // namespace edamori::pages
