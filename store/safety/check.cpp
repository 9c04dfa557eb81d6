// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/connection_internal.h"
#include "store/garden/files_internal.h"
#include "store/garden/relations_internal.h"
#include "store/intake/originals.h"
#include "store/safety/contents_internal.h"
#include "store/safety/safety.h"

#include <algorithm>
#include <array>
#include <set>

namespace edamori::store {

namespace fs = std::filesystem;

namespace {

using Problems = std::vector<std::string>;

void checkDatabase(SQLite::Database& database, Problems& problems) {
  SQLite::Statement integrity(database, "PRAGMA integrity_check");
  while (integrity.executeStep()) {
    const std::string line = integrity.getColumn(0).getString();
    if (line != "ok") {
      problems.push_back("the database is damaged: " + line + "; restore a backup");
    }
  }
  SQLite::Statement keys(database, "PRAGMA foreign_key_check");
  while (keys.executeStep()) {
    problems.push_back("a record of the table " + keys.getColumn(0).getString() +
                       " points to a missing " + sql::nounOf(keys.getColumn(2).getString()) +
                       "; restore a backup");
  }
}

// What is in use must not hang on something in the bin: nobody would see it.
void checkBin(SQLite::Database& database, Problems& problems) {
  for (const sql::Relation& relation : sql::kRelations) {
    if (relation.hold == sql::Hold::Loose) {
      continue;
    }
    SQLite::Statement query(database,
                            std::string("SELECT count(*) FROM ") + relation.child +
                                " AS child JOIN " + relation.parent +
                                " AS parent ON parent.id = child." + relation.column +
                                " WHERE child.removed_at IS NULL"
                                " AND parent.removed_at IS NOT NULL");
    query.executeStep();
    if (const int count = query.getColumn(0).getInt(); count > 0) {
      problems.push_back(std::to_string(count) + " record(s) of the table " + relation.child +
                         " belong to a " + sql::nounOf(relation.parent) +
                         " in the bin; restore that or remove them");
    }
  }
}

template <typename Record>
void countRecords(Garden::Connection& connection, CheckReport& report) {
  const auto count = sql::readEvery<Record>(connection);
  if (count) {
    report.recordsChecked += *count;
  } else {
    report.problems.push_back(count.error().message);
  }
}

template <typename... Record>
void countAll(Garden::Connection& connection, CheckReport& report) {
  (countRecords<Record>(connection, report), ...);
}

void checkOriginal(const Garden& garden, const OriginalEntry& entry, Problems& problems) {
  const fs::path file = garden.folder() / entry.path;
  std::error_code error;
  const auto size = fs::file_size(file, error);
  const std::string advice = "; import " + entry.originalName + " again or restore a backup";
  if (error) {
    problems.push_back("the original " + entry.path + " is missing" + advice);
    return;
  }
  if (static_cast<std::int64_t>(size) != entry.sizeBytes) {
    problems.push_back("the original " + entry.path + " has " + std::to_string(size) +
                       " bytes instead of " + std::to_string(entry.sizeBytes) + advice);
    return;
  }
  const auto hash = sha256OfFile(file);
  if (!hash) {
    problems.push_back(hash.error().message + advice);
  } else if (*hash != entry.sha256) {
    problems.push_back("the original " + entry.path + " is damaged: its SHA-256 is not its name" +
                       advice);
  }
}

void checkStrayFiles(const Garden& garden, const std::set<std::string>& known, Problems& problems) {
  std::error_code error;
  fs::recursive_directory_iterator entries(garden.photosFolder(), error);
  for (; !error && entries != fs::recursive_directory_iterator(); entries.increment(error)) {
    if (entries->symlink_status(error).type() == fs::file_type::directory) {
      continue;
    }
    const std::string path = entries->path().lexically_relative(garden.folder()).generic_string();
    if (!known.contains(path)) {
      problems.push_back("the file " + path +
                         " belongs to no photo of the garden; move it away or import it");
    }
  }
  if (error) {
    problems.push_back(readError(garden.photosFolder(), error.value()).message);
  }
}

void checkMasks(const Garden& garden, const std::vector<std::string>& masks, Problems& problems) {
  for (const std::string& mask : masks) {
    std::error_code error;
    if (!isPathBelow(mask)) {
      problems.push_back("the label mask " + mask + " lies outside the garden; measure again");
    } else if (!fs::is_regular_file(garden.folder() / mask, error)) {
      problems.push_back("the label mask " + mask + " is missing; measure again");
    }
  }
}

void checkHints(const Garden& garden, const std::vector<std::string>& hints, Problems& problems) {
  for (const std::string& mask : hints) {
    std::error_code error;
    if (!isPathBelow(mask) || !fs::is_regular_file(garden.folder() / mask, error)) {
      problems.push_back("the hints " + mask +
                         " are missing, so that their figures cannot be recomputed; measure again");
    }
  }
}

}  // namespace

Result<CheckReport> checkGarden(const Garden& garden,
                                const std::function<bool(int done, int total)>& goOn) {
  CheckReport report;
  Contents contents;
  EDAMORI_RETURN_IF_ERROR(guarded(garden.folder(), [&]() -> Result<void> {
    SQLite::Database& database = garden.connection().database();
    checkDatabase(database, report.problems);
    checkBin(database, report.problems);
    contents = contentsOf(database);
    return {};
  }));
  countAll<Owner,
           Tree,
           Branch,
           Photo,
           OutlineRecord,
           Mark,
           Measurement,
           Treatment,
           Recheck,
           Note,
           PhotoPair,
           Ruler,
           HintStroke,
           RejectedCandidate,
           LearnedLook,
           PairHelp>(garden.connection(), report);
  std::set<std::string> known;
  for (const OriginalEntry& entry : contents.originals) {
    known.insert(entry.path);
  }
  const auto total =
      static_cast<int>(std::ranges::count_if(contents.originals, &OriginalEntry::isInUse));
  for (const OriginalEntry& entry : contents.originals) {
    if (!entry.isInUse) {
      continue;  // A photo in the bin may have lost its file: nothing shows it.
    }
    if (goOn && !goOn(report.photosChecked, total)) {
      return fail(ErrorCode::Cancelled, "the check was stopped");
    }
    checkOriginal(garden, entry, report.problems);
    ++report.photosChecked;
  }
  checkStrayFiles(garden, known, report.problems);
  checkMasks(garden, contents.masksInUse, report.problems);
  checkHints(garden, contents.hintsInUse, report.problems);
  return report;
}

}  // namespace edamori::store
