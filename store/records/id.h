// SPDX-License-Identifier: GPL-3.0-or-later
// Typed record ids: UUIDv7 (RFC 9562 §5.7) as lower-case text, so that gardens
// can be merged and rows sort by the time they were made.
#pragma once

// <compare> comes with <string>; named first here, Qt 6.4's moc cannot read it.
#include <functional>
#include <string>

namespace edamori::store {

// A new UUIDv7 from the clock and the system's random source. Ids made by one
// process are strictly increasing. Thread: safe.
[[nodiscard]] std::string newUuidV7();

// True for 8-4-4-4-12 lower-case hex digits with version 7 and variant 10x.
[[nodiscard]] bool isUuidV7(const std::string& text);

// An id that cannot be mixed up with another record's.
template <typename Tag>
struct Id {
  std::string text;  // empty: no record

  [[nodiscard]] static Id create() { return Id{newUuidV7()}; }
  [[nodiscard]] bool isEmpty() const { return text.empty(); }
  friend auto operator<=>(const Id&, const Id&) = default;
};

using OwnerId = Id<struct OwnerTag>;
using TreeId = Id<struct TreeTag>;
using BranchId = Id<struct BranchTag>;
using PhotoId = Id<struct PhotoTag>;
using OutlineId = Id<struct OutlineTag>;
using MarkId = Id<struct MarkTag>;
using MeasurementId = Id<struct MeasurementTag>;
using TreatmentId = Id<struct TreatmentTag>;
using RecheckId = Id<struct RecheckTag>;
using NoteId = Id<struct NoteTag>;
using PairId = Id<struct PairTag>;
using RulerId = Id<struct RulerTag>;
using HintStrokeId = Id<struct HintStrokeTag>;
using LearnedLookId = Id<struct LearnedLookTag>;
using PairHelpId = Id<struct PairHelpTag>;
using RejectedCandidateId = Id<struct RejectedCandidateTag>;

}  // namespace edamori::store

template <typename Tag>
struct std::hash<edamori::store::Id<Tag>> {
  std::size_t operator()(const edamori::store::Id<Tag>& id) const noexcept {
    return std::hash<std::string>{}(id.text);
  }
};
