// SPDX-License-Identifier: GPL-3.0-or-later
// A garden folder: garden.sqlite, photos/, previews/, backups/.
#pragma once

#include "store/records/records.h"
#include "vision/values/result.h"

#include <chrono>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace edamori::store {

struct GardenOptions {
  // How long a writer waits for another process before it gives up with Conflict.
  std::chrono::milliseconds lockWait{5000};
};

// An open garden. One per thread: it owns a database connection, which closes with
// it. Several processes (and several Garden objects) may have one folder open.
//
// Every put, remove and restore is one durable transaction unless it runs inside
// inTransaction(). Errors of all calls: Conflict (another program is writing, after
// lockWait), Io (disk full, read-only), Storage (damaged), InvalidArgument (a rule of
// the record is broken, e.g. an empty or repeated tag); nothing is half written.
class Garden {
 public:
  // Makes an empty garden in `folder`, which must not exist or be empty.
  // Errors: Conflict when it is a garden already or has other files; Io.
  static Result<Garden> create(const std::filesystem::path& folder,
                               const GardenOptions& options = {});
  // Opens a garden, bringing an older one up to date (with a copy in backups/ first).
  // Errors: Storage when the folder is missing, is no garden, is damaged, or comes from a newer program.
  static Result<Garden> open(const std::filesystem::path& folder,
                             const GardenOptions& options = {});

  Garden(Garden&&) noexcept;
  Garden& operator=(Garden&&) noexcept;
  ~Garden();

  [[nodiscard]] const std::filesystem::path& folder() const;
  [[nodiscard]] std::filesystem::path photosFolder() const;
  [[nodiscard]] std::filesystem::path previewsFolder() const;
  [[nodiscard]] std::filesystem::path backupsFolder() const;
  // photos/ab/abcdef….jpg: where the original with this hash and format lies.
  [[nodiscard]] std::filesystem::path originalFile(const Photo& photo) const;
  [[nodiscard]] std::string name() const;  // shown in the window's title and the letter
  Result<void> setName(const std::string& name);
  [[nodiscard]] static int schemaVersion();

  // Inserts the record, or replaces the one with the same id. An empty id is refused.
  Result<void> put(const Owner& owner);
  Result<void> put(const Tree& tree);
  Result<void> put(const Branch& branch);
  Result<void> put(const Photo& photo);
  Result<void> put(const OutlineRecord& outline);
  Result<void> put(const Mark& mark);
  Result<void> put(const Measurement& measurement);
  Result<void> put(const Treatment& treatment);
  Result<void> put(const Recheck& recheck);
  Result<void> put(const Note& note);
  Result<void> put(const PhotoPair& pair);
  Result<void> put(const Ruler& ruler);
  Result<void> put(const HintStroke& stroke);
  Result<void> put(const RejectedCandidate& candidate);
  Result<void> put(const LearnedLook& look);
  Result<void> put(const PairHelp& help);

  // Moves the record to the bin, with what hangs on it (a tree's branches, a
  // photo's marks); queries no longer see it. Removing twice is no error.
  Result<void> remove(const OwnerId& id);
  Result<void> remove(const TreeId& id);
  Result<void> remove(const BranchId& id);
  Result<void> remove(const PhotoId& id);
  Result<void> remove(const OutlineId& id);
  Result<void> remove(const MarkId& id);
  Result<void> remove(const MeasurementId& id);
  Result<void> remove(const TreatmentId& id);
  Result<void> remove(const RecheckId& id);
  Result<void> remove(const NoteId& id);
  Result<void> remove(const PairId& id);
  Result<void> remove(const RulerId& id);
  Result<void> remove(const HintStrokeId& id);
  Result<void> remove(const RejectedCandidateId& id);
  Result<void> remove(const LearnedLookId& id);
  Result<void> remove(const PairHelpId& id);

  // Takes the record out of the bin, with what went in by the same removal.
  // InvalidArgument when it is not there.
  Result<void> restore(const OwnerId& id);
  Result<void> restore(const TreeId& id);
  Result<void> restore(const BranchId& id);
  Result<void> restore(const PhotoId& id);
  Result<void> restore(const OutlineId& id);
  Result<void> restore(const MarkId& id);
  Result<void> restore(const MeasurementId& id);
  Result<void> restore(const TreatmentId& id);
  Result<void> restore(const RecheckId& id);
  Result<void> restore(const NoteId& id);
  Result<void> restore(const PairId& id);
  Result<void> restore(const RulerId& id);
  Result<void> restore(const HintStrokeId& id);
  Result<void> restore(const RejectedCandidateId& id);
  Result<void> restore(const LearnedLookId& id);
  Result<void> restore(const PairHelpId& id);

  // One record, or nothing when it does not exist or is in the bin.
  Result<std::optional<Owner>> find(const OwnerId& id) const;
  Result<std::optional<Tree>> find(const TreeId& id) const;
  Result<std::optional<Branch>> find(const BranchId& id) const;
  Result<std::optional<Photo>> find(const PhotoId& id) const;
  Result<std::optional<OutlineRecord>> find(const OutlineId& id) const;
  Result<std::optional<Mark>> find(const MarkId& id) const;
  Result<std::optional<Measurement>> find(const MeasurementId& id) const;
  Result<std::optional<Treatment>> find(const TreatmentId& id) const;
  Result<std::optional<Recheck>> find(const RecheckId& id) const;
  Result<std::optional<Note>> find(const NoteId& id) const;
  Result<std::optional<PhotoPair>> find(const PairId& id) const;
  Result<std::optional<Ruler>> find(const RulerId& id) const;
  Result<std::optional<HintStroke>> find(const HintStrokeId& id) const;
  Result<std::optional<RejectedCandidate>> find(const RejectedCandidateId& id) const;
  Result<std::optional<LearnedLook>> find(const LearnedLookId& id) const;
  Result<std::optional<PairHelp>> find(const PairHelpId& id) const;

  Result<std::optional<Tree>> findTreeByTag(const std::string& tag) const;
  Result<std::optional<Photo>> findPhotoByHash(const std::string& sha256) const;

  Result<std::vector<Owner>> owners() const;                                   // by name
  Result<std::vector<Tree>> trees() const;                                     // by tag
  Result<std::vector<Tree>> removedTrees() const;                              // in the bin, the last one first
  Result<std::vector<Branch>> branches(const TreeId& tree) const;              // by order, name
  Result<std::vector<Photo>> photos(const TreeId& tree) const;                 // oldest first
  Result<std::vector<Photo>> unfiledPhotos() const;                            // oldest first
  Result<std::vector<Photo>> allPhotos() const;                                // oldest first
  Result<std::vector<OutlineRecord>> outlines(const PhotoId& photo) const;     // by branch order
  Result<std::vector<OutlineRecord>> outlines(const BranchId& branch) const;   // oldest photo first
  Result<std::vector<Mark>> marks(const PhotoId& photo) const;                 // oldest mark first
  Result<std::vector<Mark>> marksOfTree(const TreeId& tree) const;
  Result<std::vector<Measurement>> measurements(const PhotoId& photo) const;   // oldest first
  Result<std::vector<Measurement>> measurementsOfTree(const TreeId& tree) const;  // by photo time
  Result<std::vector<Treatment>> treatments(const TreeId& tree) const;         // oldest first
  Result<std::vector<Recheck>> rechecks(const TreeId& tree) const;             // by due date
  Result<std::vector<Recheck>> openRechecks() const;                           // whole garden, by due date
  Result<std::vector<Note>> notes(const TreeId& tree) const;                   // oldest first
  Result<std::vector<PhotoPair>> pairs(const TreeId& tree) const;              // by after-photo time
  Result<std::vector<Ruler>> rulers(const PhotoId& photo) const;               // oldest first
  Result<std::vector<HintStroke>> hintStrokes(const PhotoId& photo) const;     // oldest first
  Result<std::vector<RejectedCandidate>> rejectedCandidates(
      const PhotoId& photo) const;  // oldest first

  // What a person said of this pair for the branch, the newest when there are several.
  Result<std::optional<PairHelp>> pairHelp(const BranchId& branch,
                                           const PhotoId& before,
                                           const PhotoId& after) const;

  // Steps of work on a photo, by number. Putting a step forgets those with a higher number, which
  // follow another past. They are no records: they have no bin.
  Result<std::vector<WorkStep>> workSteps(const PhotoId& photo) const;
  Result<void> putWorkStep(const WorkStep& step);
  Result<void> updateWorkStep(const WorkStep& step);  // others stay; nothing when it is unknown
  Result<void> forgetWorkSteps(const PhotoId& photo, int fromNumber);
  Result<std::vector<LearnedLook>> learnedLooks(const TreeId& tree) const;     // oldest first

  // Runs `work` in one transaction: committed when it returns a value, rolled back
  // when it returns an error or throws. Nested calls join the outer one.
  Result<void> inTransaction(const std::function<Result<void>()>& work);

  // Raised by every committed change of any process; compare to see whether to read again.
  Result<std::int64_t> changeCounter() const;

  class Connection;  // the database side; defined in store/garden/connection_internal.h
  [[nodiscard]] Connection& connection() const;  // for store/safety and tests alone

 private:
  explicit Garden(std::unique_ptr<Connection> connection);
  std::unique_ptr<Connection> m_connection;
};

}  // namespace edamori::store
