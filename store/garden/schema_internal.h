// SPDX-License-Identifier: GPL-3.0-or-later
// The database's tables, and how an older garden is brought up to date.
#pragma once

#include "store/garden/connection_internal.h"

#include <span>

namespace edamori::store {

// "Edam" in ASCII, in the database's header: tells a garden from other SQLite files.
inline constexpr int kApplicationId = 0x4564616D;

// SQL that turns version toVersion − 1 into toVersion.
struct Migration {
  int toVersion = 0;
  const char* sql = nullptr;
};

// All migrations from the empty database on, in order. Released ones are never edited.
[[nodiscard]] std::span<const Migration> migrations();

// Runs the migrations that the database lacks, each in one transaction; before
// the first, a copy of an existing garden is put into backups/.
//
// Errors: Storage (a newer garden, or SQL that fails), Conflict, Io. A migration that fails
// leaves the version before it.
Result<void> migrate(Garden::Connection& connection, std::span<const Migration> steps);

// Database file `to` gets a consistent, flushed copy of the whole garden. Errors: Conflict when it
// exists; Io.
Result<void> copyDatabase(Garden::Connection& connection, const std::filesystem::path& to);

}  // namespace edamori::store
