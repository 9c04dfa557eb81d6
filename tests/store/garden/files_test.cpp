// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/files_internal.h"
#include "tests/support/matchers.h"
#include "tests/support/temporary_folder.h"

#include <fcntl.h>
#include <gtest/gtest.h>

namespace edamori::store {

using namespace edamori::test;
using ::testing::HasSubstr;
namespace fs = std::filesystem;

// /dev/full answers every write with ENOSPC (Linux full(4)).
TEST(WriteAll, SaysDiskFullWhenTheDeviceIs) {
  const FileHandle full(::open("/dev/full", O_WRONLY | O_CLOEXEC));
  ASSERT_GE(full.descriptor(), 0);
  const std::byte byte{1};
  const auto written = writeAll(full, std::span(&byte, 1), "/dev/full");
  ASSERT_THAT(written, failsWith(ErrorCode::Io));
  EXPECT_THAT(written.error().message, HasSubstr("disk full"));
}

TEST(OpenForReading, TakesOrdinaryFilesAlone) {
  const TemporaryFolder temporary;
  EXPECT_THAT(openForReading(temporary / "missing"), failsWith(ErrorCode::NotFound));
  EXPECT_THAT(openForReading(temporary.path()), failsWith(ErrorCode::Unreadable));
  EXPECT_THAT(openForReading("/dev/zero"), failsWith(ErrorCode::Unreadable));
}

TEST(MoveIntoPlace, NeverReplacesAFile) {
  const TemporaryFolder temporary;
  writeFile(temporary / "new", "new");
  writeFile(temporary / "old", "old");
  EXPECT_THAT(moveIntoPlace(temporary / "new", temporary / "old"), failsWith(ErrorCode::Conflict));
  EXPECT_EQ(readWholeFile(temporary / "old"), "old");
  EXPECT_THAT(moveIntoPlace(temporary / "new", temporary / "free"), isOk());
  EXPECT_EQ(readWholeFile(temporary / "free"), "new");
  EXPECT_FALSE(fs::exists(temporary / "new"));
}

TEST(TemporaryFile, GoesUnlessReleased) {
  const TemporaryFolder temporary;
  writeFile(temporary / "a", "");
  writeFile(temporary / "b", "");
  {
    const TemporaryFile going(temporary / "a");
    TemporaryFile staying(temporary / "b");
    staying.release();
  }
  EXPECT_FALSE(fs::exists(temporary / "a"));
  EXPECT_TRUE(fs::exists(temporary / "b"));
}

TEST(IsPathBelow, RefusesWaysOut) {
  EXPECT_TRUE(isPathBelow("photos/ab/c.jpg"));
  EXPECT_TRUE(isPathBelow("é..x/…"));
  EXPECT_FALSE(isPathBelow(""));
  EXPECT_FALSE(isPathBelow("/etc/passwd"));
  EXPECT_FALSE(isPathBelow("../x"));
  EXPECT_FALSE(isPathBelow("a/../../x"));
  EXPECT_FALSE(isPathBelow("a/./x"));
  EXPECT_FALSE(isPathBelow("a/"));
}

}  // namespace edamori::store
