// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/garden.h"

#include "tests/store/sample_records.h"

#include <set>

#include <SQLiteCpp/SQLiteCpp.h>
#include <sys/stat.h>

namespace edamori::store {

using namespace edamori::store::test;
using ::testing::HasSubstr;
namespace fs = std::filesystem;

namespace {

std::set<std::string> namesIn(const fs::path& folder) {
  std::set<std::string> names;
  for (const auto& entry : fs::directory_iterator(folder)) {
    names.insert(entry.path().filename().string());
  }
  return names;
}

// What the outside world sees of the database, without our own code.
std::string pragmaOf(const fs::path& folder, const std::string& name) {
  SQLite::Database database((folder / "garden.sqlite").string(), SQLite::OPEN_READONLY);
  return database.execAndGet("PRAGMA " + name).getString();
}

}  // namespace

TEST(GardenCreate, MakesTheFoldersAndLeavesOneDatabaseFile) {
  const TemporaryFolder temporary;
  const fs::path folder = temporary / "庭";
  {
    const Garden garden = newGarden(folder);
  }
  EXPECT_EQ(namesIn(folder),
            (std::set<std::string>{"garden.sqlite", "photos", "previews", "backups"}));
  EXPECT_EQ(pragmaOf(folder, "journal_mode"), "wal");
  EXPECT_EQ(pragmaOf(folder, "user_version"), std::to_string(Garden::schemaVersion()));
  EXPECT_NE(pragmaOf(folder, "application_id"), "0");
}

TEST(GardenCreate, TakesAnEmptyFolderAndNamesTheGardenAfterIt) {
  const TemporaryFolder temporary;
  fs::create_directory(temporary / "home");
  const Garden garden = newGarden(temporary.path() / "home/");
  EXPECT_EQ(garden.name(), "home");
}

TEST(GardenCreate, RefusesAGardenAFolderWithFilesAndAFile) {
  const TemporaryFolder temporary;
  {
    const Garden garden = newGarden(temporary / "g");
  }
  EXPECT_THAT(Garden::create(temporary / "g"), failsWith(ErrorCode::Conflict));
  fs::create_directory(temporary / "full");
  writeFile(temporary / "full/keep.txt", "mine");
  EXPECT_THAT(Garden::create(temporary / "full"), failsWith(ErrorCode::Conflict));
  EXPECT_EQ(namesIn(temporary / "full"), std::set<std::string>{"keep.txt"});
  EXPECT_THAT(Garden::create(temporary / "full/keep.txt"), failsWith(ErrorCode::Conflict));
}

TEST(GardenCreate, FailsBelowAFile) {
  const TemporaryFolder temporary;
  writeFile(temporary / "file", "x");
  EXPECT_THAT(Garden::create(temporary / "file/garden"), failsWith(ErrorCode::Io));
}

TEST(GardenOpen, KeepsWhatWasPut) {
  const TemporaryFolder temporary;
  const Records records;
  {
    Garden garden = newGarden(temporary / "g");
    ASSERT_THAT(records.putAll(garden), isOk());
    ASSERT_THAT(garden.setName("Hillside 丘"), isOk());
  }
  const Garden garden = openGarden(temporary / "g");
  EXPECT_EQ(garden.name(), "Hillside 丘");
  EXPECT_THAT(garden.find(records.measurement.id), isOkAnd(std::optional{records.measurement}));
}

TEST(GardenOpen, RefusesWhatIsNoGarden) {
  const TemporaryFolder temporary;
  EXPECT_THAT(Garden::open(temporary / "missing"), failsWith(ErrorCode::Storage));
  EXPECT_FALSE(fs::exists(temporary / "missing"));
  fs::create_directory(temporary / "plain");
  EXPECT_THAT(Garden::open(temporary / "plain"), failsWith(ErrorCode::Storage));
  EXPECT_TRUE(namesIn(temporary / "plain").empty());
  writeFile(temporary / "plain/garden.sqlite", "this is a letter, not a database, of some length");
  EXPECT_THAT(Garden::open(temporary / "plain"), failsWith(ErrorCode::Storage));
  writeFile(temporary / "plain/garden.sqlite", "");
  EXPECT_THAT(Garden::open(temporary / "plain"), failsWith(ErrorCode::Storage));
}

TEST(GardenOpen, RefusesAnotherProgramsDatabaseAndLeavesItAlone) {
  const TemporaryFolder temporary;
  {
    SQLite::Database other((temporary / "garden.sqlite").string(),
                           SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
    other.exec("CREATE TABLE tree (id); PRAGMA user_version = 1");
  }
  const std::string before = readWholeFile(temporary / "garden.sqlite");
  EXPECT_THAT(Garden::open(temporary.path()), failsWith(ErrorCode::Storage));
  EXPECT_EQ(readWholeFile(temporary / "garden.sqlite"), before);
}

TEST(GardenOpen, RefusesANewerGarden) {
  const TemporaryFolder temporary;
  {
    const Garden garden = newGarden(temporary / "g");
  }
  {
    SQLite::Database database((temporary / "g/garden.sqlite").string(), SQLite::OPEN_READWRITE);
    database.exec("PRAGMA user_version = " + std::to_string(Garden::schemaVersion() + 1));
  }
  const auto opened = Garden::open(temporary / "g");
  ASSERT_THAT(opened, failsWith(ErrorCode::Storage));
  EXPECT_THAT(opened.error().message, HasSubstr("newer"));
}

TEST(GardenOpen, RefusesADatabaseThatIsCutShort) {
  const TemporaryFolder temporary;
  {
    const Garden garden = newGarden(temporary / "g");
  }
  const fs::path file = temporary / "g/garden.sqlite";
  fs::resize_file(file, fs::file_size(file) / 2);
  EXPECT_THAT(Garden::open(temporary / "g"), failsWith(ErrorCode::Storage));
}

TEST(GardenOpen, RefusesADatabaseWithAnOverwrittenPage) {
  const TemporaryFolder temporary;
  {
    Garden garden = newGarden(temporary / "g");
    ASSERT_THAT(Records{}.putAll(garden), isOk());
  }
  const fs::path file = temporary / "g/garden.sqlite";
  std::string bytes = readWholeFile(file);
  bytes.replace(8 * 4096, 4096, std::string(4096, '\xFF'));
  writeFile(file, bytes);
  const auto opened = Garden::open(temporary / "g");
  ASSERT_THAT(opened, failsWith(ErrorCode::Storage));
  EXPECT_THAT(opened.error().message, HasSubstr("damaged"));
}

TEST(GardenOpen, TellsDamageWithinARecord) {
  const TemporaryFolder temporary;
  Garden garden = newGarden(temporary / "g");
  const Records records;
  ASSERT_THAT(records.putAll(garden), isOk());
  {
    SQLite::Database database((temporary / "g/garden.sqlite").string(), SQLite::OPEN_READWRITE);
    database.exec("UPDATE outline SET polygon = '[[1,2],[3'");
    database.exec("UPDATE mark SET stage = 'asleep'");
    database.exec("UPDATE recheck SET due = '2026-02-30'");
    database.exec("UPDATE measurement SET cautions = '[{\"code\":1}]'");
  }
  EXPECT_THAT(garden.find(records.outline.id), failsWith(ErrorCode::Storage));
  EXPECT_THAT(garden.marks(records.after.id), failsWith(ErrorCode::Storage));
  EXPECT_THAT(garden.find(records.recheck.id), failsWith(ErrorCode::Storage));
  EXPECT_THAT(garden.find(records.measurement.id), failsWith(ErrorCode::Storage));
}

// As somebody who may read but not write; the tests may run as root, whom no permission stops.
TEST(GardenOpen, FailsWithIoInAFolderThatMayNotBeWritten) {
  const TemporaryFolder temporary;
  const fs::path folder = temporary / "g";
  {
    const Garden garden = newGarden(folder);
  }
  ::chmod(temporary.path().c_str(), 0755);
  ::chmod((folder / "garden.sqlite").c_str(), 0444);
  ::chmod(folder.c_str(), 0555);
  const int status = inChildProcess([&folder] {
    constexpr uid_t nobody = 65534;
    if (::geteuid() == 0 && ::setuid(nobody) != 0) {
      return 77;
    }
    const auto garden = Garden::open(folder);
    if (garden) {
      return 1;
    }
    return garden.error().code == ErrorCode::Io ? 0 : 2;
  });
  ::chmod(folder.c_str(), 0755);
  if (status == 77) {
    GTEST_SKIP() << "root may not become another user here";
  }
  EXPECT_EQ(status, 0);
}

TEST(GardenName, MustNotBeBlank) {
  const TemporaryFolder temporary;
  Garden garden = newGarden(temporary / "g");
  EXPECT_THAT(garden.setName(" \n"), failsWith(ErrorCode::InvalidArgument));
  EXPECT_EQ(garden.name(), "g");
}

TEST(OriginalFile, LiesBelowTheFirstTwoDigitsOfItsHash) {
  const TemporaryFolder temporary;
  const Garden garden = newGarden(temporary / "g");
  Photo photo = photoOf({}, 'a', "2026-01-01");
  EXPECT_EQ(garden.originalFile(photo), temporary / "g/photos/aa" / (hashOf('a') + ".jpg"));
  photo.format = "tiff";
  EXPECT_EQ(garden.originalFile(photo).extension(), ".tif");
  photo.format = "heic";
  EXPECT_EQ(garden.originalFile(photo).extension(), ".heic");
}

}  // namespace edamori::store
