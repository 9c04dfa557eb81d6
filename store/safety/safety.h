// SPDX-License-Identifier: GPL-3.0-or-later
// Backup, restore and check of a garden.
#pragma once

#include "store/garden/garden.h"
#include "vision/values/result.h"

#include <filesystem>
#include <functional>
#include <string>
#include <vector>

namespace edamori::store {

struct CheckReport {
  int photosChecked = 0;
  int recordsChecked = 0;
  std::vector<std::string> problems;  // one line each, with what to do; empty when sound
};

// Looks at everything: SQLite's integrity_check and foreign_key_check, every original's presence, size
// and SHA-256, every label mask's presence, stray files in photos/. Changes nothing.
Result<CheckReport> checkGarden(const Garden& garden,
                                const std::function<bool(int done, int total)>& goOn = {});

// Writes one archive (tar, zstd-free: plain POSIX pax) with a consistent copy of the database and all
// originals and label masks; previews are left out. Appears whole or not at all.
// Errors: Conflict when `file` exists; Io.
Result<void> backupGarden(const Garden& garden, const std::filesystem::path& file);

// Unpacks a backup into `folder` (which must not exist or be empty) and checks it.
// Errors: NotFound, Corrupt (not a backup, damaged, path tricks), Conflict, Io; on error the folder is left as it was.
Result<void> restoreGarden(const std::filesystem::path& file, const std::filesystem::path& folder);

}  // namespace edamori::store
