// SPDX-License-Identifier: GPL-3.0-or-later
// Transactions, several writers, a full disk, a killed program.
#include "store/garden/connection_internal.h"
#include "tests/store/sample_records.h"

#include <array>
#include <csignal>
#include <stdexcept>

#include <sched.h>
#include <sys/mount.h>

namespace edamori::store {

using namespace edamori::store::test;
using ::testing::HasSubstr;
using namespace std::chrono_literals;
namespace fs = std::filesystem;

namespace {

constexpr auto kBusyText =
    "another program is writing to this garden; wait for it to finish and try again";

std::size_t treeCount(const Garden& garden) {
  const auto trees = garden.trees();
  EXPECT_THAT(trees, isOk());
  return trees ? trees->size() : 0;
}

Note longNote(const Tree& tree) {
  return {
      .id = NoteId::create(), .tree = tree.id, .writtenAt = {}, .text = std::string(20000, 'x')};
}

// Two pipes by which a child process and the test wait for each other.
class Signal {
 public:
  Signal() { EXPECT_EQ(::pipe(m_ends.data()), 0); }
  ~Signal() {
    ::close(m_ends[0]);
    ::close(m_ends[1]);
  }
  Signal(const Signal&) = delete;
  Signal& operator=(const Signal&) = delete;
  void give() const { EXPECT_EQ(::write(m_ends[1], "x", 1), 1); }
  void await() const {
    char byte = 0;
    EXPECT_EQ(::read(m_ends[0], &byte, 1), 1);
  }

 private:
  std::array<int, 2> m_ends{};
};

}  // namespace

TEST(Transaction, IsUndoneWhenTheWorkFails) {
  const TemporaryFolder temporary;
  Garden garden = newGarden(temporary / "g");
  const auto result = garden.inTransaction([&]() -> Result<void> {
    EDAMORI_RETURN_IF_ERROR(garden.put(treeWithTag("A")));
    EXPECT_EQ(treeCount(garden), 1U);
    return fail(ErrorCode::Cancelled, "stopped");
  });
  EXPECT_THAT(result, failsWith(ErrorCode::Cancelled));
  EXPECT_EQ(treeCount(garden), 0U);
}

TEST(Transaction, IsUndoneWhenTheWorkThrows) {
  const TemporaryFolder temporary;
  Garden garden = newGarden(temporary / "g");
  const auto throwing = [&] {
    (void)garden.inTransaction([&]() -> Result<void> {
      EXPECT_THAT(garden.put(treeWithTag("A")), isOk());
      throw std::runtime_error("surprise");
    });
  };
  EXPECT_THROW(throwing(), std::runtime_error);
  EXPECT_EQ(treeCount(garden), 0U);
  EXPECT_THAT(garden.put(treeWithTag("B")), isOk()) << "the garden goes on working";
}

TEST(Transaction, JoinsTheOuterOne) {
  const TemporaryFolder temporary;
  Garden garden = newGarden(temporary / "g");
  const auto result = garden.inTransaction([&]() -> Result<void> {
    EDAMORI_RETURN_IF_ERROR(garden.inTransaction([&] { return garden.put(treeWithTag("A")); }));
    const auto inner = garden.inTransaction([&]() -> Result<void> {
      EDAMORI_RETURN_IF_ERROR(garden.put(treeWithTag("B")));
      return garden.put(treeWithTag("A"));  // the tag is taken
    });
    EXPECT_THAT(inner, failsWith(ErrorCode::InvalidArgument));
    return {};
  });
  EXPECT_THAT(result, isOk());
  EXPECT_THAT(garden.findTreeByTag("A"), isOkAnd(::testing::Ne(std::nullopt)));
  EXPECT_THAT(garden.findTreeByTag("B"), isOkAnd(::testing::Eq(std::nullopt)));
}

TEST(ChangeCounter, RisesWithEveryCommittedChangeOfAnyConnection) {
  const TemporaryFolder temporary;
  Garden first = newGarden(temporary / "g");
  Garden second = openGarden(temporary / "g");
  const std::int64_t start = *first.changeCounter();
  const Tree tree = treeWithTag("A");
  ASSERT_THAT(second.put(tree), isOk());
  EXPECT_THAT(first.changeCounter(), isOkAnd(start + 1));
  ASSERT_THAT(first.remove(tree.id), isOk());
  EXPECT_THAT(second.changeCounter(), isOkAnd(start + 2));
  ASSERT_THAT(first.remove(tree.id), isOk());
  EXPECT_THAT(second.changeCounter(), isOkAnd(start + 2)) << "removing twice changes nothing";
  EXPECT_THAT(first.put(treeWithTag("")), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(second.changeCounter(), isOkAnd(start + 2));
}

TEST(TwoConnections, SeeEachOthersRecords) {
  const TemporaryFolder temporary;
  Garden first = newGarden(temporary / "g");
  const Garden second = openGarden(temporary / "g");
  const Tree tree = treeWithTag("A");
  ASSERT_THAT(first.put(tree), isOk());
  EXPECT_THAT(second.find(tree.id), isOkAnd(std::optional{tree}));
}

TEST(TwoConnections, RefuseTheSecondWriterAfterTheLockWait) {
  const TemporaryFolder temporary;
  Garden first = newGarden(temporary / "g");
  Garden second = openGarden(temporary / "g", {.lockWait = 20ms});
  const auto result = first.inTransaction([&]() -> Result<void> {
    EDAMORI_RETURN_IF_ERROR(first.put(treeWithTag("A")));
    const auto refused = second.put(treeWithTag("B"));
    EXPECT_THAT(refused, failsWith(ErrorCode::Conflict));
    EXPECT_EQ(refused.error().message, kBusyText);
    EXPECT_EQ(treeCount(second), 0U) << "reading goes on, without what is not committed";
    return {};
  });
  EXPECT_THAT(result, isOk());
  EXPECT_THAT(second.put(treeWithTag("B")), isOk());
  EXPECT_EQ(treeCount(first), 2U);
}

TEST(TwoProcesses, LetTheSecondWriterWait) {
  const TemporaryFolder temporary;
  const fs::path folder = temporary / "g";
  {
    const Garden garden = newGarden(folder);
  }
  const Signal isWriting;
  const Signal mayEnd;
  const pid_t child = ::fork();
  if (child == 0) {
    auto garden = Garden::open(folder);
    const bool isWritten = garden && garden->inTransaction([&]() -> Result<void> {
      EDAMORI_RETURN_IF_ERROR(garden->put(treeWithTag("A")));
      isWriting.give();
      mayEnd.await();
      return {};
    });
    ::_exit(isWritten ? 0 : 1);
  }
  isWriting.await();
  Garden impatient = openGarden(folder, {.lockWait = 20ms});
  EXPECT_THAT(impatient.put(treeWithTag("B")), failsWith(ErrorCode::Conflict));
  Garden patient = openGarden(folder, {.lockWait = 50s});
  mayEnd.give();
  EXPECT_THAT(patient.put(treeWithTag("C")), isOk());
  int status = 0;
  ::waitpid(child, &status, 0);
  EXPECT_TRUE(WIFEXITED(status) && WEXITSTATUS(status) == 0);
  EXPECT_EQ(treeCount(patient), 2U);
}

TEST(TwoProcesses, LoseNoWriteOfEither) {
  const TemporaryFolder temporary;
  const fs::path folder = temporary / "g";
  Tree tree = treeWithTag("A");
  {
    Garden garden = newGarden(folder);
    ASSERT_THAT(garden.put(tree), isOk());
  }
  constexpr int each = 25;
  const auto write = [&]() -> int {
    auto garden = Garden::open(folder, {.lockWait = 50s});
    for (int i = 0; garden && i < each; ++i) {
      const Note note{.id = NoteId::create(), .tree = tree.id, .writtenAt = {}, .text = "n"};
      if (!garden->put(note)) {
        return 1;
      }
    }
    return garden ? 0 : 2;
  };
  const pid_t child = ::fork();
  if (child == 0) {
    ::_exit(write());
  }
  EXPECT_EQ(write(), 0);
  int status = 0;
  ::waitpid(child, &status, 0);
  EXPECT_TRUE(WIFEXITED(status) && WEXITSTATUS(status) == 0);
  const Garden garden = openGarden(folder);
  EXPECT_THAT(garden.notes(tree.id), isOkAnd(::testing::SizeIs(2 * each)));
}

class KilledProgram : public ::testing::TestWithParam<int> {};

INSTANTIATE_TEST_SUITE_P(Signals, KilledProgram, ::testing::Values(0, SIGKILL));

TEST_P(KilledProgram, LeavesTheGardenAsItWasBeforeTheTransaction) {
  const TemporaryFolder temporary;
  const fs::path folder = temporary / "g";
  {
    Garden garden = newGarden(folder);
    ASSERT_THAT(garden.put(treeWithTag("kept")), isOk());
  }
  const int signal = GetParam();
  const int status = inChildProcess([&folder, signal] {
    auto garden = Garden::open(folder);
    (void)garden->inTransaction([&]() -> Result<void> {
      const Tree tree = treeWithTag("lost");
      EDAMORI_RETURN_IF_ERROR(garden->put(tree));
      for (int i = 0; i < 200; ++i) {  // more than SQLite keeps in memory, so it reaches the disk
        EDAMORI_RETURN_IF_ERROR(garden->put(longNote(tree)));
      }
      signal == 0 ? ::_exit(9) : (void)::raise(signal);
      return {};
    });
    return 1;
  });
  EXPECT_EQ(status, signal == 0 ? 9 : 128 + signal);
  const Garden garden = openGarden(folder);
  EXPECT_EQ(treeCount(garden), 1U);
  EXPECT_EQ(garden.connection().database().execAndGet("PRAGMA integrity_check").getString(), "ok");
}

// A limit on the pages gives SQLITE_FULL, the answer that a full disk gives.
TEST(FullDatabase, SaysDiskFullAndKeepsWhatWasThere) {
  const TemporaryFolder temporary;
  Garden garden = newGarden(temporary / "g");
  const Tree tree = treeWithTag("A");
  ASSERT_THAT(garden.put(tree), isOk());
  garden.connection().database().exec("PRAGMA max_page_count = 60");
  Result<void> result;
  int stored = 0;
  for (; stored < 100 && (result = garden.put(longNote(tree))); ++stored) {
  }
  ASSERT_THAT(result, failsWith(ErrorCode::Io));
  EXPECT_THAT(result.error().message, HasSubstr("disk full"));
  EXPECT_THAT(garden.notes(tree.id), isOkAnd(::testing::SizeIs(stored)));
  garden.connection().database().exec("PRAGMA max_page_count = 10000");
  EXPECT_THAT(garden.put(longNote(tree)), isOk()) << "it goes on once there is room";
}

TEST(FullDatabase, NeverKeepsHalfATransaction) {
  const TemporaryFolder temporary;
  Garden garden = newGarden(temporary / "g");
  const Tree tree = treeWithTag("A");
  ASSERT_THAT(garden.put(tree), isOk());
  garden.connection().database().exec("PRAGMA max_page_count = 60");
  const auto result = garden.inTransaction([&]() -> Result<void> {
    EDAMORI_RETURN_IF_ERROR(garden.put(treeWithTag("first")));
    Result<void> stored;
    for (int i = 0; i < 100 && stored; ++i) {
      stored = garden.put(longNote(tree));
    }
    EXPECT_THAT(stored, failsWith(ErrorCode::Io));
    (void)garden.put(treeWithTag("last"));  // the work does not look at the error
    return {};
  });
  const bool isFirstThere = garden.findTreeByTag("first")->has_value();
  const bool isLastThere = garden.findTreeByTag("last")->has_value();
  EXPECT_EQ(isFirstThere, result.has_value());
  EXPECT_TRUE(isFirstThere || !isLastThere);
}

// A real full disk: 2 MB of memory mounted in a process of its own.
TEST(FullDisk, SaysSoAndKeepsWhatWasThere) {
  const TemporaryFolder temporary;
  const fs::path disk = temporary / "disk";
  fs::create_directory(disk);
  const int status = inChildProcess([&disk] {
    if (::unshare(CLONE_NEWNS) != 0 ||
        ::mount("none", "/", nullptr, MS_REC | MS_PRIVATE, nullptr) != 0 ||
        ::mount("none", disk.c_str(), "tmpfs", 0, "size=2m") != 0) {
      return 77;
    }
    auto garden = Garden::create(disk / "g");
    const Tree tree = treeWithTag("A");
    if (!garden || !garden->put(tree)) {
      return 1;
    }
    Result<void> result;
    std::size_t stored = 0;
    for (; stored < 1000 && (result = garden->put(longNote(tree))); ++stored) {
    }
    const bool isSaid = !result && result.error().code == ErrorCode::Io &&
                        result.error().message.find("disk full") != std::string::npos;
    const auto notes = garden->notes(tree.id);
    return isSaid && notes && notes->size() == stored ? 0 : 2;
  });
  if (status == 77) {
    GTEST_SKIP() << "no right to mount a small disk here";
  }
  EXPECT_EQ(status, 0);
}

}  // namespace edamori::store
