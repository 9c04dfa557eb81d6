// SPDX-License-Identifier: GPL-3.0-or-later
// Check, backup and restore. GNU tar and GNU coreutils' sha256sum look at the archives from
// outside.
#include "store/safety/safety.h"

#include "tests/store/sample_records.h"

#include <csignal>
#include <cstdlib>

#include <SQLiteCpp/SQLiteCpp.h>
#include <sys/resource.h>

namespace edamori::store {

using namespace edamori::store::test;
using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
namespace fs = std::filesystem;

namespace {

std::vector<std::string> namesBelow(const fs::path& folder) {
  std::vector<std::string> names;
  for (const auto& entry : fs::recursive_directory_iterator(folder)) {
    if (!entry.is_directory()) {
      names.push_back(entry.path().lexically_relative(folder).string());
    }
  }
  std::ranges::sort(names);
  return names;
}

int shell(const std::string& command) {
  return std::system((command + " >/dev/null 2>&1").c_str());
}

std::string quoted(const fs::path& path) { return "'" + path.string() + "'"; }

// A garden with records, two originals and a label mask.
class Safety : public ::testing::Test {
 protected:
  void SetUp() override {
    store(records.before, "first photo");
    store(records.after, std::string(70000, 'p') + "second photo");
    fs::create_directory(folder / "masks");
    writeFile(folder / records.measurement.labelMask, "mask");
    ASSERT_THAT(records.putAll(garden), isOk());
  }

  void store(Photo& photo, const std::string& bytes) {
    writeFile(temporary / "source.jpg", bytes);
    const auto stored = storeOriginal(garden, temporary / "source.jpg", "jpg");
    ASSERT_THAT(stored, isOk());
    photo.sha256 = stored->sha256;
    photo.sizeBytes = stored->sizeBytes;
  }

  std::vector<std::string> problems() {
    const auto report = checkGarden(garden);
    EXPECT_THAT(report, isOk());
    return report ? report->problems : std::vector<std::string>{"no report"};
  }

  TemporaryFolder temporary;
  fs::path folder = temporary / "庭";
  Garden garden = newGarden(folder);
  Records records;
  fs::path archive = temporary / "backup é.tar";
  fs::path target = temporary / "restored";
};

using Check = Safety;
using Backup = Safety;
using Restore = Safety;

}  // namespace

TEST_F(Check, FindsNothingInASoundGarden) {
  const auto report = checkGarden(garden);
  ASSERT_THAT(report, isOk());
  EXPECT_THAT(report->problems, IsEmpty());
  EXPECT_EQ(report->photosChecked, 2);
  EXPECT_EQ(report->recordsChecked, 14);
}

TEST_F(Check, FindsAMissingADamagedAndACutOriginal) {
  const fs::path file = garden.originalFile(records.after);
  std::string bytes = readWholeFile(file);
  bytes[35000] = 'q';
  writeFile(file, bytes);
  EXPECT_THAT(problems(), ElementsAre(HasSubstr("SHA-256")));
  fs::resize_file(file, 5);
  EXPECT_THAT(problems(), ElementsAre(HasSubstr("has 5 bytes instead of 70012")));
  fs::remove(file);
  EXPECT_THAT(problems(), ElementsAre(HasSubstr("missing; import IMG_b.jpg again")));
  ASSERT_THAT(garden.remove(records.after.id), isOk());
  EXPECT_THAT(problems(), IsEmpty()) << "the photo is in the bin now";
}

TEST_F(Check, FindsStrayFilesAndMissingMasks) {
  writeFile(garden.photosFolder() / "left.part", "x");
  fs::remove(folder / records.measurement.labelMask);
  EXPECT_THAT(problems(),
              ElementsAre(HasSubstr("photos/left.part belongs to no photo"),
                          HasSubstr("masks/1.png is missing")));
}

TEST_F(Check, FindsMissingHintsOfAFigure) {
  records.measurement.hintMask = "hints/1.png";
  ASSERT_THAT(garden.put(records.measurement), isOk());
  EXPECT_THAT(problems(), ElementsAre(HasSubstr("the hints hints/1.png are missing")));
  fs::create_directory(folder / "hints");
  writeFile(folder / "hints/1.png", "hints");
  EXPECT_THAT(problems(), IsEmpty());
}

TEST_F(Backup, TakesTheHintsOfAFigureAlong) {
  fs::create_directory(folder / "hints");
  writeFile(folder / "hints/1.png", "hints");
  records.measurement.hintMask = "hints/1.png";
  ASSERT_THAT(garden.put(records.measurement), isOk());
  ASSERT_THAT(backupGarden(garden, archive), isOk());
  ASSERT_THAT(restoreGarden(archive, target), isOk());
  EXPECT_EQ(readWholeFile(target / "hints/1.png"), "hints");
}

TEST_F(Check, FindsDamageInTheDatabase) {
  {
    SQLite::Database database((folder / "garden.sqlite").string(), SQLite::OPEN_READWRITE);
    database.exec("PRAGMA foreign_keys = OFF");
    database.exec("UPDATE note SET tree = '01a21399-0ad5-718d-be60-eea8c192a90f'");
    database.exec("UPDATE mark SET finding = 'dragons' WHERE kind = 'dot'");
    database.exec("UPDATE measurement SET label_mask = '../../etc/passwd'");
    database.exec("UPDATE tree SET removed_at = '2026-01-01', removal_group = 'x'");
  }
  const auto found = problems();
  EXPECT_THAT(found, Contains(HasSubstr("points to a missing tree")));
  EXPECT_THAT(found, Contains(HasSubstr("dragons")));
  EXPECT_THAT(found, Contains(HasSubstr("lies outside the garden")));
  EXPECT_THAT(found, Contains(HasSubstr("belong to a tree in the bin")));
}

TEST_F(Check, FindsAnOverwrittenPage) {
  (void)garden.connection();
  const fs::path copy = temporary / "copy";
  ASSERT_EQ(shell("cp -a " + quoted(folder) + " " + quoted(copy)), 0);
  const Garden opened = openGarden(copy);
  {
    SQLite::Database database((copy / "garden.sqlite").string(), SQLite::OPEN_READWRITE);
    database.exec("PRAGMA wal_checkpoint(TRUNCATE)");
  }
  std::string bytes = readWholeFile(copy / "garden.sqlite");
  bytes.replace(10 * 4096 + 2000, 1500, std::string(1500, '\xFF'));
  bytes.replace(10 * 4096, 8, std::string(8, '\xFF'));
  writeFile(copy / "garden.sqlite", bytes);
  const auto report = checkGarden(opened);
  EXPECT_TRUE(!report || !report->problems.empty());
}

TEST_F(Check, TellsItsProgressAndCanBeStopped) {
  std::vector<std::pair<int, int>> steps;
  const auto report = checkGarden(garden, [&steps](int done, int total) {
    steps.emplace_back(done, total);
    return true;
  });
  ASSERT_THAT(report, isOk());
  EXPECT_THAT(steps, ElementsAre(std::pair(0, 2), std::pair(1, 2)));
  EXPECT_THAT(checkGarden(garden, [](int, int) { return false; }), failsWith(ErrorCode::Cancelled));
}

TEST_F(Backup, IsATarWhoseSumsOtherToolsConfirm) {
  ASSERT_THAT(backupGarden(garden, archive), isOk());
  const fs::path out = temporary / "out";
  fs::create_directory(out);
  ASSERT_EQ(shell("tar -xf " + quoted(archive) + " -C " + quoted(out)), 0);
  EXPECT_EQ(shell("cd " + quoted(out) + " && sha256sum --strict -c SHA256SUMS"), 0);
  EXPECT_THAT(
      namesBelow(out),
      ElementsAre("SHA256SUMS",
                  "garden.sqlite",
                  "masks/1.png",
                  garden.originalFile(records.before).lexically_relative(folder).string() <
                          garden.originalFile(records.after).lexically_relative(folder).string()
                      ? garden.originalFile(records.before).lexically_relative(folder).string()
                      : garden.originalFile(records.after).lexically_relative(folder).string(),
                  ::testing::StartsWith("photos/")));
  EXPECT_THAT(namesBelow(garden.backupsFolder()), IsEmpty()) << "no scratch copy stays";
}

TEST_F(Backup, NeverReplacesAFile) {
  writeFile(archive, "mine");
  EXPECT_THAT(backupGarden(garden, archive), failsWith(ErrorCode::Conflict));
  EXPECT_EQ(readWholeFile(archive), "mine");
}

TEST_F(Backup, AppearsWholeOrNotAtAll) {
  fs::create_directory(temporary / "stick");
  const fs::path onStick = temporary / "stick/b.tar";
  const int status = inChildProcess([&] {
    ::signal(SIGXFSZ, SIG_IGN);
    // Above the database itself (an empty garden of version 4 has 266 240 bytes), below the archive.
    const rlimit limit{.rlim_cur = 327680, .rlim_max = 327680};
    ::setrlimit(RLIMIT_FSIZE, &limit);
    const auto written = backupGarden(garden, onStick);
    const bool isSaid = !written && written.error().code == ErrorCode::Io &&
                        written.error().message.find("disk full") != std::string::npos;
    return isSaid ? 0 : 1;
  });
  EXPECT_EQ(status, 0);
  EXPECT_THAT(namesBelow(temporary / "stick"), IsEmpty());
  EXPECT_THAT(backupGarden(garden, temporary / "missing/b.tar"), failsWith(ErrorCode::Io));
}

TEST_F(Backup, IsNotMadeOfADamagedOriginal) {
  writeFile(garden.originalFile(records.before), "first phot0");
  EXPECT_THAT(backupGarden(garden, archive), failsWith(ErrorCode::Unreadable));
  fs::remove(garden.originalFile(records.before));
  EXPECT_THAT(backupGarden(garden, archive), failsWith(ErrorCode::NotFound));
  EXPECT_FALSE(fs::exists(archive));
  ASSERT_THAT(garden.remove(records.before.id), isOk());
  EXPECT_THAT(backupGarden(garden, archive), isOk()) << "what is in the bin may have lost its file";
}

TEST_F(Restore, BringsBackEveryRecordAndFile) {
  ASSERT_THAT(garden.remove(records.dot.id), isOk());
  ASSERT_THAT(backupGarden(garden, archive), isOk());
  ASSERT_THAT(restoreGarden(archive, target), isOk());
  Garden restored = openGarden(target);
  EXPECT_EQ(restored.name(), garden.name());
  EXPECT_THAT(restored.find(records.tree.id), isOkAnd(std::optional{records.tree}));
  EXPECT_THAT(restored.find(records.outline.id), isOkAnd(std::optional{records.outline}));
  EXPECT_THAT(restored.find(records.measurement.id), isOkAnd(std::optional{records.measurement}));
  EXPECT_THAT(restored.restore(records.dot.id), isOk()) << "the bin came along";
  EXPECT_EQ(readWholeFile(restored.originalFile(records.before)), "first photo");
  EXPECT_EQ(readWholeFile(target / "masks/1.png"), "mask");
  EXPECT_FALSE(fs::exists(target / "SHA256SUMS"));
  EXPECT_THAT(checkGarden(restored)->problems, IsEmpty());
}

TEST_F(Restore, TakesAnEmptyFolderAndNoOther) {
  ASSERT_THAT(backupGarden(garden, archive), isOk());
  EXPECT_THAT(restoreGarden(archive, folder), failsWith(ErrorCode::Conflict));
  fs::create_directory(target);
  EXPECT_THAT(restoreGarden(archive, target / ""), isOk());
  EXPECT_THAT(restoreGarden(archive, target), failsWith(ErrorCode::Conflict));
}

TEST_F(Restore, RefusesWhatIsNoBackup) {
  EXPECT_THAT(restoreGarden(temporary / "missing.tar", target), failsWith(ErrorCode::NotFound));
  writeFile(archive, "");
  EXPECT_THAT(restoreGarden(archive, target), failsWith(ErrorCode::Corrupt));
  writeFile(archive, std::string(5000, 'x'));
  EXPECT_THAT(restoreGarden(archive, target), failsWith(ErrorCode::Corrupt));
  fs::remove(archive);
  ASSERT_EQ(shell("tar -cf " + quoted(archive) + " -C " + quoted(folder) + " masks/1.png"), 0);
  EXPECT_THAT(restoreGarden(archive, target), failsWith(ErrorCode::Corrupt));
  EXPECT_FALSE(fs::exists(target));
}

TEST_F(Restore, RefusesACutArchiveAtEveryPlace) {
  ASSERT_THAT(backupGarden(garden, archive), isOk());
  const std::string bytes = readWholeFile(archive);
  const std::size_t end = bytes.find("SHA256SUMS");
  ASSERT_NE(end, std::string::npos);
  for (std::size_t length = 0; length < end; length += 512 * 37) {
    writeFile(archive, bytes.substr(0, length));
    ASSERT_THAT(restoreGarden(archive, target), failsWith(ErrorCode::Corrupt)) << length;
    ASSERT_FALSE(fs::exists(target)) << length;
  }
}

TEST_F(Restore, RefusesAFlippedByteInDatabasePhotoAndMask) {
  ASSERT_THAT(backupGarden(garden, archive), isOk());
  const std::string bytes = readWholeFile(archive);
  for (const char* const place : {"Pinus parviflora", "second photo", "first photo", "mask\0\0"}) {
    std::string flipped = bytes;
    flipped[bytes.rfind(place)] ^= 1;
    writeFile(archive, flipped);
    ASSERT_THAT(restoreGarden(archive, target), failsWith(ErrorCode::Corrupt)) << place;
    ASSERT_FALSE(fs::exists(target)) << place;
  }
  for (const auto& entry : fs::directory_iterator(temporary.path())) {
    EXPECT_THAT(entry.path().string(), ::testing::Not(HasSubstr(".part-")));
  }
}

// Archives with tricks, made by GNU tar.
TEST_F(Restore, RefusesNamesAndLinksThatLeadElsewhere) {
  fs::create_directories(temporary / "in/a");
  writeFile(temporary / "evil.txt", "evil");
  writeFile(temporary / "in/plain.txt", "plain");
  fs::create_symlink("/etc", temporary / "in/link");
  fs::create_hard_link(temporary / "in/plain.txt", temporary / "in/twin.txt");
  const std::string tar =
      "cd " + quoted(temporary / "in") + " && tar -P -cf " + quoted(archive) + " ";
  for (const std::string& what : {std::string("../evil.txt"),
                                  quoted(temporary / "evil.txt"),
                                  std::string("a/../../evil.txt"),
                                  std::string("link"),
                                  std::string("plain.txt twin.txt"),
                                  std::string("./plain.txt"),
                                  std::string("plain.txt plain.txt"),
                                  std::string("a")}) {
    fs::remove(archive);
    ASSERT_EQ(shell(tar + what), 0) << what;
    EXPECT_THAT(restoreGarden(archive, target), failsWith(ErrorCode::Corrupt)) << what;
    EXPECT_FALSE(fs::exists(target)) << what;
  }
  EXPECT_EQ(readWholeFile(temporary / "evil.txt"), "evil");
}

TEST_F(Restore, RefusesAFileThatClaimsMoreThanTheArchiveHas) {
  ASSERT_EQ(shell("cd " + quoted(temporary.path()) + " && truncate -s 1T hole && tar -S -cf " +
                  quoted(archive) + " hole"),
            0);
  EXPECT_THAT(restoreGarden(archive, target), failsWith(ErrorCode::Corrupt));
  EXPECT_FALSE(fs::exists(target));
}

TEST_F(Restore, RefusesABackupOfANewerProgram) {
  ASSERT_THAT(backupGarden(garden, archive), isOk());
  const fs::path out = temporary / "out";
  fs::create_directory(out);
  ASSERT_EQ(shell("tar -xf " + quoted(archive) + " -C " + quoted(out)), 0);
  {
    SQLite::Database database((out / "garden.sqlite").string(), SQLite::OPEN_READWRITE);
    database.exec("PRAGMA user_version = 999");
  }
  fs::remove(archive);
  ASSERT_EQ(shell("cd " + quoted(out) +
                  " && find garden.sqlite masks photos -type f | LC_ALL=C sort | xargs sha256sum"
                  " > SHA256SUMS && tar -cf " +
                  quoted(archive) + " $(find * -type f)"),
            0);
  const auto restored = restoreGarden(archive, target);
  ASSERT_THAT(restored, failsWith(ErrorCode::Storage));
  EXPECT_THAT(restored.error().message, HasSubstr("newer program"));
  EXPECT_FALSE(fs::exists(target));
}

TEST_F(Restore, LeavesNothingBehindWhenTheDiskIsFull) {
  ASSERT_THAT(backupGarden(garden, archive), isOk());
  fs::create_directory(temporary / "disk");
  const int status = inChildProcess([&] {
    ::signal(SIGXFSZ, SIG_IGN);
    const rlimit limit{.rlim_cur = 65536, .rlim_max = 65536};
    ::setrlimit(RLIMIT_FSIZE, &limit);
    const auto restored = restoreGarden(archive, temporary / "disk/g");
    const bool isSaid = !restored && restored.error().code == ErrorCode::Io &&
                        restored.error().message.find("disk full") != std::string::npos;
    return isSaid ? 0 : 1;
  });
  EXPECT_EQ(status, 0);
  EXPECT_TRUE(fs::is_empty(temporary / "disk"));
}

}  // namespace edamori::store
