// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/schema_internal.h"
#include "tests/store/garden/version_1.h"
#include "tests/store/sample_records.h"

#include <array>

namespace edamori::store {

using namespace edamori::store::test;
namespace fs = std::filesystem;

namespace {

void writeGardenOfVersion1(const fs::path& folder) {
  fs::create_directory(folder);
  SQLite::Database database((folder / "garden.sqlite").string(),
                            SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
  for (const char* const statement : kGardenOfVersion1) {
    database.exec(statement);
  }
}

// The whole schema as SQLite tells it, one line each.
std::string schemaOf(const fs::path& folder) {
  SQLite::Database database((folder / "garden.sqlite").string(), SQLite::OPEN_READONLY);
  SQLite::Statement query(database,
                          "SELECT type, name, sql FROM sqlite_schema ORDER BY type, name");
  std::string text;
  while (query.executeStep()) {
    text += query.getColumn(0).getString() + ' ' + query.getColumn(1).getString() + ' ' +
            query.getColumn(2).getString() + '\n';
  }
  return text;
}

int versionOf(const fs::path& database) {
  SQLite::Database opened(database.string(), SQLite::OPEN_READONLY);
  return opened.execAndGet("PRAGMA user_version").getInt();
}

std::vector<fs::path> filesIn(const fs::path& folder) {
  std::vector<fs::path> files;
  for (const auto& entry : fs::directory_iterator(folder)) {
    files.push_back(entry.path());
  }
  return files;
}

}  // namespace

TEST(Schema, ReadsAGardenOfVersion1) {
  const TemporaryFolder temporary;
  writeGardenOfVersion1(temporary / "g");
  const Garden garden = openGarden(temporary / "g");
  const Records like;  // what was put into it then, but for the ids
  const auto tree = garden.findTreeByTag("J-1");
  ASSERT_THAT(tree, isOkAnd(::testing::Ne(std::nullopt)));
  EXPECT_EQ((*tree)->note, like.tree.note);
  const auto photos = garden.photos((*tree)->id);
  ASSERT_THAT(photos, isOkAnd(::testing::SizeIs(2)));
  EXPECT_EQ((*photos)[0].takenAt, like.before.takenAt);
  EXPECT_EQ((*photos)[1].focalLengthMm, like.after.focalLengthMm);
  const auto outlines = garden.outlines((*photos)[1].id);
  ASSERT_THAT(outlines, isOkAnd(::testing::SizeIs(1)));
  EXPECT_EQ((*outlines)[0].shape, like.outline.shape);
  const auto measurements = garden.measurements((*photos)[1].id);
  ASSERT_THAT(measurements, isOkAnd(::testing::SizeIs(1)));
  EXPECT_EQ((*measurements)[0].estimate, like.measurement.estimate);
  EXPECT_EQ((*measurements)[0].cautions, like.measurement.cautions);
  EXPECT_EQ((*measurements)[0].hintMask, "") << "no hints were kept then";
  EXPECT_THAT(garden.learnedLooks((*tree)->id), isOkAnd(::testing::IsEmpty()));
  EXPECT_THAT(garden.pairHelp((*outlines)[0].branch, (*photos)[0].id, (*photos)[1].id),
              isOkAnd(std::optional<PairHelp>{}))
      << "nobody had helped with a pair then";
  EXPECT_THAT(garden.rejectedCandidates((*photos)[0].id), isOkAnd(::testing::IsEmpty()));
  EXPECT_EQ(garden.name(), "v1g");
}

TEST(Schema, BringsAnOldGardenToWhatANewOneHas) {
  const TemporaryFolder temporary;
  writeGardenOfVersion1(temporary / "old");
  {
    const Garden old = openGarden(temporary / "old");
  }
  {
    const Garden fresh = newGarden(temporary / "new");
  }
  EXPECT_EQ(versionOf(temporary / "old/garden.sqlite"), Garden::schemaVersion());
  EXPECT_EQ(schemaOf(temporary / "old"), schemaOf(temporary / "new"));
}

TEST(Schema, NumbersItsMigrationsWithoutAGap) {
  int version = 0;
  for (const Migration& migration : migrations()) {
    EXPECT_EQ(migration.toVersion, ++version);
  }
  EXPECT_EQ(version, Garden::schemaVersion());
}

TEST(Migrate, PutsACopyOfTheOldGardenAsideFirst) {
  const TemporaryFolder temporary;
  const Records records;
  Garden garden = newGarden(temporary / "g");
  ASSERT_THAT(records.putAll(garden), isOk());
  std::vector<Migration> steps(migrations().begin(), migrations().end());
  const int old = Garden::schemaVersion();
  steps.push_back({.toVersion = old + 1, .sql = "ALTER TABLE tree ADD COLUMN pot TEXT"});
  steps.push_back({.toVersion = old + 2, .sql = "UPDATE tree SET pot = 'round'; DELETE FROM note"});
  ASSERT_THAT(migrate(garden.connection(), steps), isOk());
  EXPECT_EQ(versionOf(temporary / "g/garden.sqlite"), old + 2);
  EXPECT_EQ(garden.connection().database().execAndGet("SELECT pot FROM tree").getString(), "round");
  const auto copies = filesIn(garden.backupsFolder());
  ASSERT_EQ(copies.size(), 1U);
  EXPECT_EQ(versionOf(copies[0]), old);
  SQLite::Database copy(copies[0].string(), SQLite::OPEN_READONLY);
  EXPECT_EQ(copy.execAndGet("SELECT text FROM note").getString(), records.note.text);
}

TEST(Migrate, LeavesTheVersionBeforeAStepThatFails) {
  const TemporaryFolder temporary;
  Garden garden = newGarden(temporary / "g");
  ASSERT_THAT(garden.put(treeWithTag("A")), isOk());
  std::vector<Migration> steps(migrations().begin(), migrations().end());
  const int old = Garden::schemaVersion();
  steps.push_back({.toVersion = old + 1, .sql = "DELETE FROM tree"});
  steps.push_back({.toVersion = old + 2, .sql = "CREATE TABLE pot (id); UPDATE nowhere SET x = 1"});
  EXPECT_THAT(migrate(garden.connection(), steps), failsWith(ErrorCode::Storage));
  EXPECT_EQ(versionOf(temporary / "g/garden.sqlite"), old + 1);
  EXPECT_EQ(schemaOf(temporary / "g").find("TABLE pot"), std::string::npos) << "half a step stayed";
  EXPECT_EQ(filesIn(garden.backupsFolder()).size(), 1U);
}

TEST(Migrate, MakesNoCopyWhenThereIsNothingToDo) {
  const TemporaryFolder temporary;
  const Garden garden = newGarden(temporary / "g");
  ASSERT_THAT(migrate(garden.connection(), migrations()), isOk());
  EXPECT_TRUE(filesIn(garden.backupsFolder()).empty());
}

TEST(Migrate, WaitsForAnotherWriterAndThenGivesUp) {
  const TemporaryFolder temporary;
  Garden first = newGarden(temporary / "g");
  const Garden second = openGarden(temporary / "g", {.lockWait = std::chrono::milliseconds{20}});
  std::vector<Migration> steps(migrations().begin(), migrations().end());
  steps.push_back({.toVersion = Garden::schemaVersion() + 1, .sql = "DELETE FROM note"});
  const auto result = first.inTransaction([&]() -> Result<void> {
    EDAMORI_RETURN_IF_ERROR(first.put(treeWithTag("A")));
    EXPECT_THAT(migrate(second.connection(), steps), failsWith(ErrorCode::Conflict));
    return {};
  });
  EXPECT_THAT(result, isOk());
}

}  // namespace edamori::store
