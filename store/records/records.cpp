// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/records/records.h"

#include <array>

namespace edamori::store {

namespace {

template <typename Enum>
struct Word {
  Enum value;
  std::string_view text;
};

// Stored; never reword and never take one away.
constexpr std::array kBranchKinds = {Word{BranchKind::Branch, "branch"},
                                     Word{BranchKind::Apex, "apex"},
                                     Word{BranchKind::TrunkLine, "trunk line"},
                                     Word{BranchKind::Fork, "fork"},
                                     Word{BranchKind::SurfaceRoots, "surface roots"}};
constexpr std::array kDateSources = {Word{DateSource::Camera, "camera"},
                                     Word{DateSource::Edited, "edited"},
                                     Word{DateSource::FileTime, "file time"}};
constexpr std::array kViews = {Word{View::Unknown, "unknown"},
                               Word{View::Front, "front"},
                               Word{View::Back, "back"},
                               Word{View::Left, "left"},
                               Word{View::Right, "right"},
                               Word{View::Below, "below"},
                               Word{View::CloseUp, "close-up"}};
constexpr std::array kFindings = {Word{Finding::ScaleInsect, "scale insect"},
                                  Word{Finding::Aphids, "aphids"},
                                  Word{Finding::NeedleBlight, "needle blight"},
                                  Word{Finding::LeafSpot, "leaf spot"},
                                  Word{Finding::SprayScorch, "spray scorch"},
                                  Word{Finding::Other, "other"}};
constexpr std::array kMarkKinds = {Word{MarkKind::Dot, "dot"}, Word{MarkKind::Patch, "patch"}};
constexpr std::array kStages = {
    Word{Stage::Live, "live"}, Word{Stage::Dead, "dead"}, Word{Stage::Removed, "removed"}};
constexpr std::array kTreatmentKinds = {Word{TreatmentKind::HandRemoval, "hand removal"},
                                        Word{TreatmentKind::Brushing, "brushing"},
                                        Word{TreatmentKind::Plucking, "plucking"},
                                        Word{TreatmentKind::Thinning, "thinning"},
                                        Word{TreatmentKind::Spray, "spray"},
                                        Word{TreatmentKind::Other, "other"}};
constexpr std::array kSubjects = {Word{Subject::Leaf, "leaf"}, Word{Subject::Needles, "needles"}};

template <typename Enum, std::size_t Size>
std::string textOf(const std::array<Word<Enum>, Size>& words, Enum value) {
  for (const auto& word : words) {
    if (word.value == value) {
      return std::string(word.text);
    }
  }
  return {};
}

template <typename Enum, std::size_t Size>
Result<Enum> valueOf(const std::array<Word<Enum>, Size>& words,
                     std::string_view text,
                     const std::string& what) {
  std::string known;
  for (const auto& word : words) {
    if (word.text == text) {
      return word.value;
    }
    known += (known.empty() ? "" : ", ") + std::string(word.text);
  }
  return fail(ErrorCode::InvalidArgument,
              "\"" + std::string(text) + "\" is no " + what + "; known are: " + known);
}

}  // namespace

bool carriesFoliage(BranchKind kind) {
  switch (kind) {
    case BranchKind::Branch:
    case BranchKind::Apex:
      return true;
    case BranchKind::TrunkLine:
    case BranchKind::Fork:
    case BranchKind::SurfaceRoots:
      break;
  }
  return false;
}

std::string toText(BranchKind kind) { return textOf(kBranchKinds, kind); }
std::string toText(DateSource source) { return textOf(kDateSources, source); }
std::string toText(View view) { return textOf(kViews, view); }
std::string toText(Finding finding) { return textOf(kFindings, finding); }
std::string toText(MarkKind kind) { return textOf(kMarkKinds, kind); }
std::string toText(Stage stage) { return textOf(kStages, stage); }
std::string toText(TreatmentKind kind) { return textOf(kTreatmentKinds, kind); }
std::string toText(Subject subject) { return textOf(kSubjects, subject); }

Result<BranchKind> parseBranchKind(std::string_view text) {
  return valueOf(kBranchKinds, text, "kind of branch");
}
Result<DateSource> parseDateSource(std::string_view text) {
  return valueOf(kDateSources, text, "date source");
}
Result<View> parseView(std::string_view text) { return valueOf(kViews, text, "view"); }
Result<Finding> parseFinding(std::string_view text) { return valueOf(kFindings, text, "finding"); }
Result<MarkKind> parseMarkKind(std::string_view text) {
  return valueOf(kMarkKinds, text, "kind of mark");
}
Result<Stage> parseStage(std::string_view text) { return valueOf(kStages, text, "stage"); }
Result<TreatmentKind> parseTreatmentKind(std::string_view text) {
  return valueOf(kTreatmentKinds, text, "kind of treatment");
}
Result<Subject> parseSubject(std::string_view text) { return valueOf(kSubjects, text, "subject"); }

std::vector<std::string> missingFields(const Treatment& treatment) {
  std::vector<std::string> missing;
  const auto require = [&missing](bool present, const char* name) {
    if (!present) {
      missing.emplace_back(name);
    }
  };
  require(treatment.doneAt.isKnown(), "date");
  if (treatment.kind == TreatmentKind::Spray) {
    require(!treatment.product.empty(), "product");
    require(!treatment.registrationNumber.empty(), "registration number");
    require(!treatment.amount.empty(), "total amount");
    require(!treatment.dose.empty(), "dose");
    require(!treatment.areaTreated.empty(), "area treated");
    require(!treatment.place.empty(), "place");
  }
  require(!treatment.who.empty(), "who did it");
  if (treatment.kind == TreatmentKind::Spray) {
    require(!treatment.certificateNumber.empty(), "certificate number");
    require(treatment.reentryHours.has_value(), "re-entry time from the label");
  }
  return missing;
}

}  // namespace edamori::store
