// SPDX-License-Identifier: GPL-3.0-or-later
// Which two photos of a branch are worth comparing.
#pragma once

#include "store/records/records.h"

#include <optional>
#include <vector>

namespace edamori::work {

inline constexpr int kDefaultSeasonWindowDays = 21;  // chosen, no source

enum class PairReason { Treatment, SameSeason, RepeatPhoto };

struct PairProposal {
  PairReason reason = PairReason::Treatment;
  store::PhotoId before, after;
  int daysApart = 0;                          // by the calendar
  int seasonDistanceDays = 0;                 // of SameSeason: days of the year between them
  std::optional<store::Treatment> treatment;  // of Treatment
  friend bool operator==(const PairProposal&, const PairProposal&) = default;
};

// What is known of one branch and its tree.
struct PairMaterial {
  store::BranchId branch;
  std::vector<store::Photo> photos;          // of the tree
  std::vector<store::PhotoId> outlined;      // photos with an outline of the branch
  std::vector<store::Treatment> treatments;  // of the tree
};

// Pairs worth comparing, each pair once, by the first reason that holds:
//  - Treatment: the last outlined photo before a treatment of the branch or the whole tree, and the
//    first photo after it; latest treatment first. Photos of the day itself count as before when
//    there is one, and when there are several the first as before and the last as after, unless
//    photo and treatment both have a time of day.
//  - SameSeason: as store::sameSeasonPairs, of the days on which the branch was outlined.
//  - RepeatPhoto: two outlined photos of one day without a treatment on it: what differs between
//    them is what photographing again does. Latest first.
// The later photo shows the same side (view) as the earlier one, as far as both are known; photos
// without a date are passed over, and so are dates that come from the file alone.
[[nodiscard]] std::vector<PairProposal> proposePairs(const PairMaterial& material,
                                                     int seasonWindowDays);

}  // namespace edamori::work
