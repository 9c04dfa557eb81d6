// SPDX-License-Identifier: GPL-3.0-or-later
// The files that a garden's database speaks of.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include <SQLiteCpp/Database.h>

namespace edamori::store {

struct OriginalEntry {
  std::string path;  // below the garden folder, e.g. "photos/ab/abcd….jpg"
  std::string sha256;
  std::int64_t sizeBytes = 0;
  std::string originalName;
  bool isInUse = false;  // false: only photos in the bin have it
};

struct Contents {
  std::vector<OriginalEntry> originals;  // each file once
  std::vector<std::string> masksInUse;   // label masks of measurements that are not in the bin
  std::vector<std::string> hintsInUse;   // hints that those were measured with
  std::vector<std::string> allMasks;     // both, with those in the bin
};

// Throws what the database throws: call it within guarded().
[[nodiscard]] Contents contentsOf(const SQLite::Database& database);

}  // namespace edamori::store
