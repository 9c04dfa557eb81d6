// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/files_internal.h"
#include "store/garden/schema_internal.h"

#include <array>
#include <string>

namespace edamori::store {

namespace {

constexpr const char* kVersion1 = R"sql(
CREATE TABLE garden (
  one INTEGER PRIMARY KEY CHECK (one = 1),
  id TEXT NOT NULL,
  name TEXT NOT NULL,
  made_at TEXT NOT NULL,
  changes INTEGER NOT NULL
) STRICT;

CREATE TABLE owner (
  id TEXT PRIMARY KEY NOT NULL,
  name TEXT NOT NULL CHECK (name <> ''),
  contact TEXT NOT NULL,
  note TEXT NOT NULL,
  removed_at TEXT, removal_group TEXT
) STRICT;

CREATE TABLE tree (
  id TEXT PRIMARY KEY NOT NULL,
  tag TEXT NOT NULL CHECK (tag <> ''),
  species TEXT NOT NULL,
  cultivar TEXT NOT NULL,
  owner TEXT REFERENCES owner (id),
  place TEXT NOT NULL,
  note TEXT NOT NULL,
  subject TEXT NOT NULL,
  removed_at TEXT, removal_group TEXT
) STRICT;
CREATE UNIQUE INDEX tree_tag ON tree (tag) WHERE removed_at IS NULL;
CREATE INDEX tree_owner ON tree (owner);

CREATE TABLE branch (
  id TEXT PRIMARY KEY NOT NULL,
  tree TEXT NOT NULL REFERENCES tree (id),
  kind TEXT NOT NULL,
  name TEXT NOT NULL CHECK (name <> ''),
  sort_order INTEGER NOT NULL,
  removed_at TEXT, removal_group TEXT
) STRICT;
CREATE UNIQUE INDEX branch_name ON branch (tree, name) WHERE removed_at IS NULL;

CREATE TABLE photo (
  id TEXT PRIMARY KEY NOT NULL,
  tree TEXT REFERENCES tree (id),
  sha256 TEXT NOT NULL CHECK (length(sha256) = 64),
  size_bytes INTEGER NOT NULL CHECK (size_bytes >= 0),
  original_name TEXT NOT NULL,
  format TEXT NOT NULL,
  width_px INTEGER NOT NULL CHECK (width_px >= 0),
  height_px INTEGER NOT NULL CHECK (height_px >= 0),
  exif_orientation INTEGER NOT NULL CHECK (exif_orientation BETWEEN 1 AND 8),
  taken_at TEXT NOT NULL,
  date_source TEXT NOT NULL,
  camera_make TEXT NOT NULL,
  camera_model TEXT NOT NULL,
  lens TEXT NOT NULL,
  focal_length_mm REAL,
  has_position INTEGER NOT NULL CHECK (has_position IN (0, 1)),
  view TEXT NOT NULL,
  note TEXT NOT NULL,
  removed_at TEXT, removal_group TEXT
) STRICT;
CREATE UNIQUE INDEX photo_sha256 ON photo (sha256) WHERE removed_at IS NULL;
CREATE INDEX photo_tree ON photo (tree, taken_at);

CREATE TABLE outline (
  id TEXT PRIMARY KEY NOT NULL,
  photo TEXT NOT NULL REFERENCES photo (id),
  branch TEXT NOT NULL REFERENCES branch (id),
  polygon TEXT NOT NULL,
  holes TEXT NOT NULL,
  carried_from TEXT REFERENCES photo (id),
  residual_px REAL,
  confirmed INTEGER NOT NULL CHECK (confirmed IN (0, 1)),
  removed_at TEXT, removal_group TEXT
) STRICT;
CREATE INDEX outline_photo ON outline (photo);
CREATE INDEX outline_branch ON outline (branch);
CREATE INDEX outline_carried_from ON outline (carried_from);

CREATE TABLE mark (
  id TEXT PRIMARY KEY NOT NULL,
  photo TEXT NOT NULL REFERENCES photo (id),
  branch TEXT REFERENCES branch (id),
  finding TEXT NOT NULL,
  kind TEXT NOT NULL,
  stage TEXT NOT NULL,
  count INTEGER NOT NULL CHECK (count >= 0),
  centre_x_px REAL NOT NULL,
  centre_y_px REAL NOT NULL,
  radius_px REAL NOT NULL CHECK (radius_px >= 0),
  patch TEXT NOT NULL,
  note TEXT NOT NULL,
  removed_at TEXT, removal_group TEXT
) STRICT;
CREATE INDEX mark_photo ON mark (photo);
CREATE INDEX mark_branch ON mark (branch);

CREATE TABLE measurement (
  id TEXT PRIMARY KEY NOT NULL,
  photo TEXT NOT NULL REFERENCES photo (id),
  branch TEXT REFERENCES branch (id),
  outline TEXT REFERENCES outline (id),
  baseline_photo TEXT REFERENCES photo (id),
  figure TEXT NOT NULL CHECK (figure <> ''),
  value REAL NOT NULL,
  low REAL NOT NULL,
  high REAL NOT NULL,
  unit TEXT NOT NULL,
  verdict TEXT NOT NULL,
  method_name TEXT NOT NULL,
  method_version INTEGER NOT NULL,
  method_parameters TEXT NOT NULL,
  cautions TEXT NOT NULL,
  label_mask TEXT NOT NULL,
  made_at TEXT NOT NULL,
  removed_at TEXT, removal_group TEXT
) STRICT;
CREATE INDEX measurement_photo ON measurement (photo);
CREATE INDEX measurement_branch ON measurement (branch);
CREATE INDEX measurement_outline ON measurement (outline);
CREATE INDEX measurement_baseline_photo ON measurement (baseline_photo);

CREATE TABLE treatment (
  id TEXT PRIMARY KEY NOT NULL,
  tree TEXT NOT NULL REFERENCES tree (id),
  branch TEXT REFERENCES branch (id),
  kind TEXT NOT NULL,
  done_at TEXT NOT NULL,
  product TEXT NOT NULL,
  registration_number TEXT NOT NULL,
  amount TEXT NOT NULL,
  dose TEXT NOT NULL,
  area_treated TEXT NOT NULL,
  place TEXT NOT NULL,
  who TEXT NOT NULL,
  certificate_number TEXT NOT NULL,
  reentry_hours REAL,
  note TEXT NOT NULL,
  removed_at TEXT, removal_group TEXT
) STRICT;
CREATE INDEX treatment_tree ON treatment (tree);
CREATE INDEX treatment_branch ON treatment (branch);

CREATE TABLE recheck (
  id TEXT PRIMARY KEY NOT NULL,
  tree TEXT NOT NULL REFERENCES tree (id),
  branch TEXT REFERENCES branch (id),
  due TEXT NOT NULL,
  reason TEXT NOT NULL,
  done_at TEXT,
  removed_at TEXT, removal_group TEXT
) STRICT;
CREATE INDEX recheck_tree ON recheck (tree);
CREATE INDEX recheck_branch ON recheck (branch);

CREATE TABLE note (
  id TEXT PRIMARY KEY NOT NULL,
  tree TEXT NOT NULL REFERENCES tree (id),
  written_at TEXT NOT NULL,
  text TEXT NOT NULL,
  removed_at TEXT, removal_group TEXT
) STRICT;
CREATE INDEX note_tree ON note (tree);

CREATE TABLE photo_pair (
  id TEXT PRIMARY KEY NOT NULL,
  tree TEXT NOT NULL REFERENCES tree (id),
  branch TEXT REFERENCES branch (id),
  before_photo TEXT NOT NULL REFERENCES photo (id),
  after_photo TEXT NOT NULL REFERENCES photo (id),
  title TEXT NOT NULL,
  removed_at TEXT, removal_group TEXT
) STRICT;
CREATE INDEX photo_pair_tree ON photo_pair (tree);
CREATE INDEX photo_pair_branch ON photo_pair (branch);
CREATE INDEX photo_pair_before ON photo_pair (before_photo);
CREATE INDEX photo_pair_after ON photo_pair (after_photo);
)sql";

// Rulers, hint strokes and the Bench's steps of work.
constexpr const char* kVersion2 = R"sql(
CREATE TABLE ruler (
  id TEXT PRIMARY KEY NOT NULL,
  photo TEXT NOT NULL REFERENCES photo (id),
  from_x_px REAL NOT NULL,
  from_y_px REAL NOT NULL,
  to_x_px REAL NOT NULL,
  to_y_px REAL NOT NULL,
  length_mm REAL NOT NULL CHECK (length_mm > 0),
  click_px REAL NOT NULL CHECK (click_px >= 0),
  removed_at TEXT, removal_group TEXT
) STRICT;
CREATE INDEX ruler_photo ON ruler (photo);

CREATE TABLE hint_stroke (
  id TEXT PRIMARY KEY NOT NULL,
  photo TEXT NOT NULL REFERENCES photo (id),
  kind TEXT NOT NULL,
  radius_px REAL NOT NULL CHECK (radius_px > 0),
  points TEXT NOT NULL,
  removed_at TEXT, removal_group TEXT
) STRICT;
CREATE INDEX hint_stroke_photo ON hint_stroke (photo);

CREATE TABLE work_step (
  photo TEXT NOT NULL REFERENCES photo (id),
  number INTEGER NOT NULL CHECK (number > 0),
  what TEXT NOT NULL,
  is_done INTEGER NOT NULL CHECK (is_done IN (0, 1)),
  changes TEXT NOT NULL,
  PRIMARY KEY (photo, number)
) STRICT;
)sql";

// What hint strokes taught about a tree, and the hints that a figure was measured with.
constexpr const char* kLearnedLooks = R"sql(
CREATE TABLE learned_look (
  id TEXT PRIMARY KEY NOT NULL,
  tree TEXT NOT NULL REFERENCES tree (id),
  subject TEXT NOT NULL,
  network TEXT NOT NULL CHECK (network <> ''),
  photo_sha256 TEXT NOT NULL CHECK (length(photo_sha256) = 64),
  outline TEXT REFERENCES outline (id),
  foliage_weights TEXT NOT NULL,
  spotted_weights TEXT NOT NULL,
  photos TEXT NOT NULL,
  learned_at TEXT NOT NULL,
  removed_at TEXT, removal_group TEXT
) STRICT;
CREATE INDEX learned_look_tree ON learned_look (tree);
CREATE INDEX learned_look_outline ON learned_look (outline);
ALTER TABLE measurement ADD COLUMN hint_mask TEXT NOT NULL DEFAULT '';
)sql";

// What a person said of how two photos of a branch lie on each other.
constexpr const char* kPairHelp = R"sql(
CREATE TABLE pair_help (
  id TEXT PRIMARY KEY NOT NULL,
  branch TEXT NOT NULL REFERENCES branch (id),
  before_photo TEXT NOT NULL REFERENCES photo (id),
  after_photo TEXT NOT NULL REFERENCES photo (id),
  points_before TEXT NOT NULL,
  points_after TEXT NOT NULL,
  outline_after TEXT NOT NULL,
  holes_after TEXT NOT NULL,
  removed_at TEXT, removal_group TEXT
) STRICT;
CREATE INDEX pair_help_branch ON pair_help (branch);
CREATE INDEX pair_help_before ON pair_help (before_photo);
CREATE INDEX pair_help_after ON pair_help (after_photo);
)sql";

// What a person rejected among the offered findings.
constexpr const char* kRejectedCandidates = R"sql(
CREATE TABLE rejected_candidate (
  id TEXT PRIMARY KEY NOT NULL,
  photo TEXT NOT NULL REFERENCES photo (id),
  finding TEXT NOT NULL,
  centre_x_px REAL NOT NULL,
  centre_y_px REAL NOT NULL,
  radius_px REAL NOT NULL CHECK (radius_px > 0),
  removed_at TEXT, removal_group TEXT
) STRICT;
CREATE INDEX rejected_candidate_photo ON rejected_candidate (photo);
)sql";

constexpr std::array kMigrations = {Migration{.toVersion = 1, .sql = kVersion1},
                                    Migration{.toVersion = 2, .sql = kVersion2},
                                    Migration{.toVersion = 3, .sql = kLearnedLooks},
                                    Migration{.toVersion = 4, .sql = kPairHelp},
                                    Migration{.toVersion = 5, .sql = kRejectedCandidates}};

int versionOf(Garden::Connection& connection) {
  return connection.database().execAndGet("PRAGMA user_version").getInt();
}

Result<void> runStep(Garden::Connection& connection, const Migration& step) {
  return guarded(connection.folder(), [&]() -> Result<void> {
    SQLite::Database& database = connection.database();
    SQLite::Transaction transaction(database, SQLite::TransactionBehavior::IMMEDIATE);
    if (versionOf(connection) >= step.toVersion) {
      return {};  // Another program was quicker.
    }
    database.exec(step.sql);
    database.exec("PRAGMA user_version = " + std::to_string(step.toVersion));
    transaction.commit();
    return {};
  });
}

}  // namespace

std::span<const Migration> migrations() { return kMigrations; }

Result<void> copyDatabase(Garden::Connection& connection, const std::filesystem::path& to) {
  TemporaryFile part(to.string() + ".part-" + newUuidV7());
  EDAMORI_RETURN_IF_ERROR(guarded(connection.folder(), [&]() -> Result<void> {
    SQLite::Statement copy(connection.database(), "VACUUM INTO ?");
    copy.bind(1, part.path().string());
    copy.exec();
    return {};
  }));
  EDAMORI_RETURN_IF_ERROR(flushPath(part.path()));
  EDAMORI_RETURN_IF_ERROR(moveIntoPlace(part.path(), to));
  part.release();
  return {};
}

Result<void> migrate(Garden::Connection& connection, std::span<const Migration> steps) {
  int version = 0;
  EDAMORI_RETURN_IF_ERROR(guarded(connection.folder(), [&]() -> Result<void> {
    version = versionOf(connection);
    return {};
  }));
  const int newest = steps.empty() ? 0 : steps.back().toVersion;
  if (version > newest) {
    return fail(ErrorCode::Storage,
                "the garden in " + connection.folder().string() + " has version " +
                    std::to_string(version) + ", made by a newer program; this one reads up to " +
                    std::to_string(newest) + "; update the program");
  }
  if (version > 0 && version < newest) {
    const auto backups = connection.folder() / "backups";
    EDAMORI_RETURN_IF_ERROR(makeFolder(backups));
    EDAMORI_RETURN_IF_ERROR(copyDatabase(
        connection,
        backups / ("garden-version-" + std::to_string(version) + "-" + newUuidV7() + ".sqlite")));
  }
  for (const Migration& step : steps) {
    if (step.toVersion > version) {
      auto done = runStep(connection, step);
      if (!done) {
        return done.error().withContext("bringing the garden to version " +
                                        std::to_string(step.toVersion));
      }
    }
  }
  return {};
}

}  // namespace edamori::store
