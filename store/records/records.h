// SPDX-License-Identifier: GPL-3.0-or-later
// The records of a garden: plain values. Enumerators are stored by the text that
// toText gives; never reword one.
#pragma once

#include "store/records/id.h"
#include "store/records/time.h"
#include "vision/values/figure.h"
#include "vision/values/geometry.h"

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace edamori::store {

struct Owner {
  OwnerId id;
  std::string name;
  std::string contact;  // free text: address, telephone, e-mail
  std::string note;
  friend bool operator==(const Owner&, const Owner&) = default;
};

struct Tree {
  TreeId id;
  std::string tag;      // unique in the garden, as printed on its card; not empty
  std::string species;  // botanical name
  std::string cultivar;
  OwnerId owner;        // empty: the keeper's own
  std::string place;    // bench or corner of the garden
  std::string note;
  Subject subject = Subject::Leaf;
  friend bool operator==(const Tree&, const Tree&) = default;
};

enum class BranchKind { Branch, Apex, TrunkLine, Fork, SurfaceRoots };

// Trunk line, fork and surface roots are looked at for insects; their bark is no foliage, so
// that cover, loss and spotted share say nothing there.
[[nodiscard]] bool carriesFoliage(BranchKind kind);

struct Branch {
  BranchId id;
  TreeId tree;
  BranchKind kind = BranchKind::Branch;
  std::string name;  // unique on its tree; not empty
  int order = 0;     // rows are shown in this order
  friend bool operator==(const Branch&, const Branch&) = default;
};

// Where a photo's date came from. FileTime is shown as "uncertain".
enum class DateSource { Camera, Edited, FileTime };
enum class View { Unknown, Front, Back, Left, Right, Below, CloseUp };

struct Photo {
  PhotoId id;
  TreeId tree;                 // empty: not yet filed under a tree
  std::string sha256;          // 64 lower-case hex digits; the original's name in photos/
  std::int64_t sizeBytes = 0;
  std::string originalName;    // file name at import
  std::string format;          // "jpeg", "png", "tiff", "heic"
  int widthPx = 0;             // upright
  int heightPx = 0;            // upright
  int exifOrientation = 1;     // as stored in the file; pixels of records are upright
  LocalTime takenAt;
  DateSource dateSource = DateSource::FileTime;
  std::string cameraMake, cameraModel, lens;
  std::optional<double> focalLengthMm;
  bool hasPosition = false;    // the file carries a GPS position (which is not copied here)
  View view = View::Unknown;
  std::string note;
  friend bool operator==(const Photo&, const Photo&) = default;
};

struct OutlineRecord {
  OutlineId id;
  PhotoId photo;
  BranchId branch;
  Outline shape;                       // upright px
  std::optional<PhotoId> carriedFrom;  // set when it came from another photo
  std::optional<double> residualPx;    // what nine of ten carried corners keep to; none: a likely place
  bool confirmed = true;               // carried outlines wait for a person
  friend bool operator==(const OutlineRecord&, const OutlineRecord&) = default;
};

enum class Finding { ScaleInsect, Aphids, NeedleBlight, LeafSpot, SprayScorch, Other };
enum class MarkKind { Dot, Patch };
enum class Stage { Live, Dead, Removed };

struct Mark {
  MarkId id;
  PhotoId photo;
  BranchId branch;      // empty: on no branch outline
  Finding finding = Finding::ScaleInsect;
  MarkKind kind = MarkKind::Dot;
  Stage stage = Stage::Live;
  int count = 1;        // insects or lesions it stands for, ≥ 0
  PointPx centre;       // upright px
  double radiusPx = 0;  // of a dot; 0 when not given
  Polygon patch;        // of a patch, upright px
  std::string note;
  friend bool operator==(const Mark&, const Mark&) = default;
};

// One figure of one outline (or of a pair of photos).
struct Measurement {
  MeasurementId id;
  PhotoId photo;
  BranchId branch;                       // empty: whole photo
  OutlineId outline;                     // empty: whole photo
  std::optional<PhotoId> baselinePhoto;  // for losses and changes: the earlier photo
  std::string figure;                    // "foliage", "spot", "loss-by-cover", "loss-by-light", "spot-change"
  Estimate estimate;
  std::string unit;                      // "1" for fractions
  std::string verdict;                   // for changes: toText(Verdict); else empty
  Method method;
  std::vector<Caution> cautions;
  std::string labelMask;                 // file below the garden folder; may be empty
  std::string hintMask;                  // the hints it was measured with, as labelMask; empty: none
  LocalTime madeAt;
  friend bool operator==(const Measurement&, const Measurement&) = default;
};

enum class TreatmentKind { HandRemoval, Brushing, Plucking, Thinning, Spray, Other };

// What was done. For a spray, the fields that spray records ask for (7 CFR
// 110.3; Regulation (EC) 1107/2009 Art. 67); what is missing is named, never filled in.
struct Treatment {
  TreatmentId id;
  TreeId tree;
  BranchId branch;  // empty: the whole tree
  TreatmentKind kind = TreatmentKind::HandRemoval;
  LocalTime doneAt;
  std::string product, registrationNumber;
  std::string amount;       // total product applied, with unit
  std::string dose;         // with unit
  std::string areaTreated;  // with unit
  std::string place;
  std::string who, certificateNumber;
  std::optional<double> reentryHours;  // from the user's own label; there is no default
  std::string note;
  friend bool operator==(const Treatment&, const Treatment&) = default;
};

struct Recheck {
  RecheckId id;
  TreeId tree;
  BranchId branch;  // empty: the whole tree
  std::chrono::year_month_day due{};
  std::string reason;
  std::optional<LocalTime> doneAt;  // absent: still open
  friend bool operator==(const Recheck&, const Recheck&) = default;
};

struct Note {
  NoteId id;
  TreeId tree;
  LocalTime writtenAt;
  std::string text;
  friend bool operator==(const Note&, const Note&) = default;
};

// Two photos of one branch that belong together, chosen for the letter.
struct PhotoPair {
  PairId id;
  TreeId tree;
  BranchId branch;
  PhotoId before, after;
  std::string title;
  friend bool operator==(const PhotoPair&, const PhotoPair&) = default;
};

// What a person said of how two photos of one branch lie on each other, where the program alone
// could not tell or was off. It stands above what the program finds.
struct PairHelp {
  PairHelpId id;
  BranchId branch;
  PhotoId before, after;
  // Places that are the same on both photos, upright px of each; as many before as after: none,
  // or 2 to 4.
  Polygon pointsBefore, pointsAfter;
  // The branch's outline on the later photo as the person put it; empty: where the program puts it.
  Polygon outlineAfter;
  std::vector<Polygon> holesAfter;
  friend bool operator==(const PairHelp&, const PairHelp&) = default;
};

// A known length in a photo, by two clicks; it gives the photo's scale.
struct Ruler {
  RulerId id;
  PhotoId photo;
  PointPx from, to;     // upright px, apart from each other
  double lengthMm = 0;  // between the two points, > 0
  double clickPx = 0;   // standard uncertainty of each point along the line, upright px, ≥ 0
  friend bool operator==(const Ruler&, const Ruler&) = default;
};

enum class HintKind { Foliage, NotFoliage, Spot };

// One stroke of the hint brush: what a person says of the pixels under it.
struct HintStroke {
  HintStrokeId id;
  PhotoId photo;
  HintKind kind = HintKind::Foliage;
  double radiusPx = 0;  // half the width of the stroke, upright px, > 0
  Polygon points;       // the way of its middle, at least one point; not closed
  friend bool operator==(const HintStroke&, const HintStroke&) = default;
};

// A step of work on a photo as the Bench keeps it, so that it can be taken back after a restart.
struct WorkStep {
  PhotoId photo;
  int number = 0;       // 1 for the oldest step of the photo
  std::string what;     // "Set dot"
  bool isDone = true;   // false after undo
  std::string changes;  // JSON of the Bench's own
  friend bool operator==(const WorkStep&, const WorkStep&) = default;
};

// What hint strokes on one photo taught about a tree's look, on top of what earlier ones had taught.
// The last one made is what the tree's next photo starts from.
struct LearnedLook {
  LearnedLookId id;
  TreeId tree;
  Subject subject = Subject::Leaf;
  std::string network;       // the weights mean nothing to another network; not empty
  std::string photoSha256;   // the photo with the strokes, 64 lower-case hex digits
  OutlineId outline;         // what was measured there; empty: no outline of this garden
  std::vector<double> foliageWeights, spottedWeights;  // as vision::Correction
  std::vector<std::string> photos;  // SHA-256 of all photos whose strokes are in the weights
  LocalTime learnedAt;
  friend bool operator==(const LearnedLook&, const LearnedLook&) = default;
};

// What the program offered as a finding and a person said it is not: it is not offered again there.
struct RejectedCandidate {
  RejectedCandidateId id;
  PhotoId photo;
  Finding finding = Finding::ScaleInsect;
  PointPx centre;       // upright px
  double radiusPx = 0;  // upright px, > 0; offers with their centre this near are the same
  friend bool operator==(const RejectedCandidate&, const RejectedCandidate&) = default;
};

// Stored words, also fit for the screen ("trunk line", "scale insect", "live", …).
[[nodiscard]] std::string toText(BranchKind kind);
[[nodiscard]] std::string toText(DateSource source);  // "camera", "edited", "file time"
[[nodiscard]] std::string toText(View view);          // "unknown", "front", …, "close-up"
[[nodiscard]] std::string toText(Finding finding);
[[nodiscard]] std::string toText(MarkKind kind);
[[nodiscard]] std::string toText(Stage stage);
[[nodiscard]] std::string toText(HintKind kind);       // "foliage", "not foliage", "spot"
[[nodiscard]] std::string toText(TreatmentKind kind);  // "hand removal", "brushing", …
[[nodiscard]] std::string toText(Subject subject);     // "leaf", "needles"

// The reverse. Errors: InvalidArgument that names the unknown word and lists the known ones.
Result<BranchKind> parseBranchKind(std::string_view text);
Result<DateSource> parseDateSource(std::string_view text);
Result<View> parseView(std::string_view text);
Result<Finding> parseFinding(std::string_view text);
Result<MarkKind> parseMarkKind(std::string_view text);
Result<Stage> parseStage(std::string_view text);
Result<HintKind> parseHintKind(std::string_view text);
Result<TreatmentKind> parseTreatmentKind(std::string_view text);
Result<Subject> parseSubject(std::string_view text);

// Fields that a record of this kind should have and has not, in plain words
// ("registration number"); empty when complete. Hand work needs a date and who did it.
[[nodiscard]] std::vector<std::string> missingFields(const Treatment& treatment);

}  // namespace edamori::store
