// SPDX-License-Identifier: GPL-3.0-or-later
// Which record hangs on which, and what that means for the bin.
#pragma once

#include "store/garden/connection_internal.h"

#include <array>
#include <string>
#include <utility>
#include <vector>

namespace edamori::store::sql {

enum class Hold {
  GoesAlong,  // the child goes to the bin with its parent
  Prevents,   // the parent cannot go while the child is there
  Loose,      // only tells where something came from
};

struct Relation {
  const char* child;
  const char* column;
  const char* parent;
  Hold hold;
};

// Parents before children, so that one pass reaches everything.
inline constexpr std::array kRelations = {
    Relation{"tree", "owner", "owner", Hold::Prevents},
    Relation{"branch", "tree", "tree", Hold::GoesAlong},
    Relation{"photo", "tree", "tree", Hold::GoesAlong},
    Relation{"treatment", "tree", "tree", Hold::GoesAlong},
    Relation{"recheck", "tree", "tree", Hold::GoesAlong},
    Relation{"note", "tree", "tree", Hold::GoesAlong},
    Relation{"photo_pair", "tree", "tree", Hold::GoesAlong},
    Relation{"outline", "branch", "branch", Hold::GoesAlong},
    Relation{"mark", "branch", "branch", Hold::GoesAlong},
    Relation{"measurement", "branch", "branch", Hold::GoesAlong},
    Relation{"treatment", "branch", "branch", Hold::GoesAlong},
    Relation{"recheck", "branch", "branch", Hold::GoesAlong},
    Relation{"photo_pair", "branch", "branch", Hold::GoesAlong},
    Relation{"outline", "photo", "photo", Hold::GoesAlong},
    Relation{"outline", "carried_from", "photo", Hold::Loose},
    Relation{"mark", "photo", "photo", Hold::GoesAlong},
    Relation{"measurement", "photo", "photo", Hold::GoesAlong},
    Relation{"measurement", "baseline_photo", "photo", Hold::GoesAlong},
    Relation{"photo_pair", "before_photo", "photo", Hold::GoesAlong},
    Relation{"photo_pair", "after_photo", "photo", Hold::GoesAlong},
    Relation{"measurement", "outline", "outline", Hold::GoesAlong},
    Relation{"ruler", "photo", "photo", Hold::GoesAlong},
    Relation{"hint_stroke", "photo", "photo", Hold::GoesAlong},
    Relation{"learned_look", "tree", "tree", Hold::GoesAlong},
    Relation{"learned_look", "outline", "outline", Hold::Loose},
    Relation{"pair_help", "branch", "branch", Hold::GoesAlong},
    Relation{"pair_help", "before_photo", "photo", Hold::GoesAlong},
    Relation{"pair_help", "after_photo", "photo", Hold::GoesAlong},
    Relation{"rejected_candidate", "photo", "photo", Hold::GoesAlong},
};

inline constexpr std::array kTables = {"owner",
                                       "tree",
                                       "branch",
                                       "photo",
                                       "outline",
                                       "mark",
                                       "measurement",
                                       "treatment",
                                       "recheck",
                                       "note",
                                       "photo_pair",
                                       "ruler",
                                       "hint_stroke",
                                       "learned_look",
                                       "pair_help",
                                       "rejected_candidate"};

// "photo pair": the table's record in plain words.
[[nodiscard]] std::string nounOf(const std::string& table);

// Every record named must exist and, unless the relation is loose, not lie in the bin.
// `references` are pairs of column and id; empty ids are passed over. Errors: InvalidArgument.
Result<void> checkReferences(Garden::Connection& connection,
                             const std::string& table,
                             const std::vector<std::pair<std::string, std::string>>& references);

// Errors: as Garden::remove and Garden::restore.
Result<void> moveToBin(Garden::Connection& connection,
                       const std::string& table,
                       const std::string& id);
Result<void> takeFromBin(Garden::Connection& connection,
                         const std::string& table,
                         const std::string& id);

// Reads every record of a kind, the bin included, and gives their number; defined for each kind of
// record. Errors: Storage when one cannot be read.
template <typename Record>
Result<int> readEvery(Garden::Connection& connection);

}  // namespace edamori::store::sql
