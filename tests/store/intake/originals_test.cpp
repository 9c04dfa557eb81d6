// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/intake/originals.h"

#include "tests/store/sample_records.h"

#include <csignal>
#include <fstream>

#include <sched.h>
#include <sys/mount.h>
#include <sys/resource.h>
#include <sys/stat.h>

namespace edamori::store {

using namespace edamori::store::test;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
namespace fs = std::filesystem;

namespace {

// SHA-256 of "abc", FIPS 180-4 and its published examples (NIST, SHA256.pdf).
constexpr const char* kHashOfAbc =
    "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

std::string hashOfText(const std::string& text) { return sha256Of(std::as_bytes(std::span(text))); }

std::vector<std::string> filesBelow(const fs::path& folder) {
  std::vector<std::string> files;
  for (const auto& entry : fs::recursive_directory_iterator(folder)) {
    files.push_back(entry.path().lexically_relative(folder).string());
  }
  std::ranges::sort(files);
  return files;
}

std::vector<std::string> namesOf(const FoundFiles& found, const fs::path& folder) {
  std::vector<std::string> names;
  for (const fs::path& file : found.files) {
    names.push_back(file.lexically_relative(folder).string());
  }
  return names;
}

}  // namespace

TEST(Sha256, HasThePublishedValues) {
  // NIST, examples with intermediate values for SHA-256: one block, two blocks. The empty message
  // and a million "a" are in the same set of test vectors (FIPS 180-2, appendix B.3).
  EXPECT_EQ(hashOfText("abc"), kHashOfAbc);
  EXPECT_EQ(hashOfText("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  EXPECT_EQ(hashOfText(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  EXPECT_EQ(hashOfText(std::string(1000000, 'a')),
            "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

TEST(Sha256OfFile, ReadsInPiecesWhatItReadsWhole) {
  const TemporaryFolder temporary;
  writeFile(temporary / "a", std::string(1000000, 'a'));
  EXPECT_THAT(
      sha256OfFile(temporary / "a"),
      isOkAnd(std::string("cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0")));
  EXPECT_THAT(sha256OfFile(temporary / "missing"), failsWith(ErrorCode::NotFound));
  EXPECT_THAT(sha256OfFile(temporary.path()), failsWith(ErrorCode::Unreadable));
}

TEST(ReadFile, GivesAllBytes) {
  const TemporaryFolder temporary;
  writeFile(temporary / "a", std::string("a\0b", 3));
  const auto bytes = readFile(temporary / "a");
  ASSERT_THAT(bytes, isOk());
  EXPECT_THAT(*bytes, ElementsAre(std::byte{'a'}, std::byte{0}, std::byte{'b'}));
  writeFile(temporary / "empty", "");
  EXPECT_THAT(readFile(temporary / "empty"), isOkAnd(IsEmpty()));
  EXPECT_THAT(readFile(temporary / "missing"), failsWith(ErrorCode::NotFound));
  EXPECT_THAT(readFile(temporary.path()), failsWith(ErrorCode::Unreadable));
}

// /proc/self/status says it has 0 bytes and then has more, as a file that grows while it is read.
TEST(ReadFile, RefusesAFileThatGrows) {
  EXPECT_THAT(readFile("/proc/self/status"), failsWith(ErrorCode::Unreadable));
}

class StoreOriginal : public ::testing::Test {
 protected:
  TemporaryFolder temporary;
  Garden garden = newGarden(temporary / "庭");
};

TEST_F(StoreOriginal, CopiesByteForByteUnderItsHash) {
  writeFile(temporary / "é.JPG", "abc");
  const auto stored = storeOriginal(garden, temporary / "é.JPG", "jpg");
  ASSERT_THAT(stored, isOk());
  EXPECT_EQ(stored->sha256, kHashOfAbc);
  EXPECT_EQ(stored->sizeBytes, 3);
  EXPECT_FALSE(stored->wasThere);
  EXPECT_EQ(stored->file, garden.photosFolder() / "ba" / (std::string(kHashOfAbc) + ".jpg"));
  EXPECT_EQ(readWholeFile(stored->file), "abc");
  Photo photo = photoOf({}, 'a', "");
  photo.sha256 = kHashOfAbc;
  EXPECT_EQ(garden.originalFile(photo), stored->file);
  EXPECT_EQ(filesBelow(garden.photosFolder()).size(), 2U) << "nothing but folder and file";
}

TEST_F(StoreOriginal, LeavesAWholeCopyAlone) {
  writeFile(temporary / "a.jpg", "abc");
  const auto first = storeOriginal(garden, temporary / "a.jpg", "jpg");
  ASSERT_THAT(first, isOk());
  const auto time = fs::last_write_time(first->file);
  const auto second = storeOriginal(garden, temporary / "a.jpg", "jpg");
  ASSERT_THAT(second, isOk());
  EXPECT_TRUE(second->wasThere);
  EXPECT_EQ(fs::last_write_time(first->file), time);
}

TEST_F(StoreOriginal, ReplacesADamagedCopy) {
  writeFile(temporary / "a.jpg", "abc");
  const auto first = storeOriginal(garden, temporary / "a.jpg", "jpg");
  ASSERT_THAT(first, isOk());
  writeFile(first->file, "abX");
  const auto second = storeOriginal(garden, temporary / "a.jpg", "jpg");
  ASSERT_THAT(second, isOk());
  EXPECT_FALSE(second->wasThere);
  EXPECT_EQ(readWholeFile(first->file), "abc");
}

TEST_F(StoreOriginal, LeavesNothingBehindWhenTheSourceCannotBeRead) {
  EXPECT_THAT(storeOriginal(garden, temporary / "missing", "jpg"), failsWith(ErrorCode::NotFound));
  EXPECT_THAT(storeOriginal(garden, temporary.path(), "jpg"), failsWith(ErrorCode::Unreadable));
  ASSERT_EQ(::mkfifo((temporary / "pipe").c_str(), 0600), 0);
  EXPECT_THAT(storeOriginal(garden, temporary / "pipe", "jpg"), failsWith(ErrorCode::Unreadable));
  EXPECT_THAT(filesBelow(garden.photosFolder()), IsEmpty());
}

TEST_F(StoreOriginal, RefusesAnEndingThatLeadsElsewhere) {
  writeFile(temporary / "a.jpg", "abc");
  for (const char* const ending : {"", "../x", "JPG", "j/g", ".jpg"}) {
    EXPECT_THAT(storeOriginal(garden, temporary / "a.jpg", ending),
                failsWith(ErrorCode::InvalidArgument));
  }
}

// A limit on the size of files stops the copy in the middle, as a full disk does (EFBIG).
TEST_F(StoreOriginal, LeavesNothingBehindWhenTheCopyCannotBeFinished) {
  writeFile(temporary / "big.jpg", std::string(3000000, 'x'));
  const int status = inChildProcess([this] {
    ::signal(SIGXFSZ, SIG_IGN);
    const rlimit limit{.rlim_cur = 1000000, .rlim_max = 1000000};
    ::setrlimit(RLIMIT_FSIZE, &limit);
    const auto stored = storeOriginal(garden, temporary / "big.jpg", "jpg");
    const bool isSaid = !stored && stored.error().code == ErrorCode::Io &&
                        stored.error().message.find("disk full") != std::string::npos;
    return isSaid ? 0 : 1;
  });
  EXPECT_EQ(status, 0);
  EXPECT_THAT(filesBelow(garden.photosFolder()), IsEmpty());
}

// A real full disk: photos/ on 1 MB of memory, in a process of its own.
TEST_F(StoreOriginal, LeavesNothingBehindOnAFullDisk) {
  writeFile(temporary / "big.jpg", std::string(3000000, 'x'));
  const int status = inChildProcess([this] {
    if (::unshare(CLONE_NEWNS) != 0 ||
        ::mount("none", "/", nullptr, MS_REC | MS_PRIVATE, nullptr) != 0 ||
        ::mount("none", garden.photosFolder().c_str(), "tmpfs", 0, "size=1m") != 0) {
      return 77;
    }
    const auto stored = storeOriginal(garden, temporary / "big.jpg", "jpg");
    const bool isSaid = !stored && stored.error().code == ErrorCode::Io &&
                        stored.error().message.find("disk full") != std::string::npos;
    return isSaid && filesBelow(garden.photosFolder()).empty() ? 0 : 1;
  });
  if (status == 77) {
    GTEST_SKIP() << "no right to mount a small disk here";
  }
  EXPECT_EQ(status, 0);
}

TEST_F(StoreOriginal, FailsWithIoWhenThePhotoFolderIsGone) {
  writeFile(temporary / "a.jpg", "abc");
  fs::remove_all(garden.photosFolder());
  writeFile(garden.photosFolder(), "a file in its place");
  EXPECT_THAT(storeOriginal(garden, temporary / "a.jpg", "jpg"), failsWith(ErrorCode::Io));
}

class FindPhotoFiles : public ::testing::Test {
 protected:
  void SetUp() override {
    for (const char* const name : {"b.JPG",
                                   "a.jpeg",
                                   "c.txt",
                                   "sub/d.png",
                                   "sub/deep/e.TIF",
                                   "sub/f.heif",
                                   "g.HEIC",
                                   ".hidden.jpg",
                                   ".trash/h.jpg",
                                   "i.tiff"}) {
      fs::create_directories((temporary / name).parent_path());
      writeFile(temporary / name, "x");
    }
  }
  TemporaryFolder temporary;
};

TEST_F(FindPhotoFiles, WalksFoldersPastHiddenThings) {
  const auto found = findPhotoFiles({temporary.path()});
  EXPECT_THAT(
      namesOf(found, temporary.path()),
      ElementsAre(
          "a.jpeg", "b.JPG", "g.HEIC", "i.tiff", "sub/d.png", "sub/deep/e.TIF", "sub/f.heif"));
  EXPECT_THAT(found.refused, IsEmpty());
}

TEST_F(FindPhotoFiles, KeepsNamedFilesWhateverTheirEndingAndEachOnce) {
  const auto found = findPhotoFiles({temporary / "sub",
                                     temporary / "c.txt",
                                     temporary / "sub/d.png",
                                     temporary / "sub/../c.txt",
                                     temporary / ".hidden.jpg"});
  EXPECT_THAT(namesOf(found, temporary.path()),
              ElementsAre(".hidden.jpg", "c.txt", "sub/d.png", "sub/deep/e.TIF", "sub/f.heif"));
}

TEST_F(FindPhotoFiles, NamesWhatCannotBeRead) {
  ASSERT_EQ(::mkfifo((temporary / "sub/pipe.jpg").c_str(), 0600), 0);
  fs::create_symlink("nowhere", temporary / "sub/dangling.jpg");
  const auto found = findPhotoFiles({temporary / "missing.jpg", temporary / "sub"});
  ASSERT_EQ(found.refused.size(), 3U);
  EXPECT_EQ(found.refused[0].first.filename(), "missing.jpg");
  EXPECT_EQ(found.refused[0].second.code, ErrorCode::NotFound);
  EXPECT_EQ(found.refused[1].first.filename(), "dangling.jpg");
  EXPECT_EQ(found.refused[2].second.code, ErrorCode::Unreadable);
}

TEST_F(FindPhotoFiles, DoesNotFollowLinksToFolders) {
  fs::create_directory_symlink("..", temporary / "sub/loop");
  fs::create_directory_symlink("deep", temporary / "sub/deep.jpg");
  EXPECT_EQ(findPhotoFiles({temporary / "sub"}).files.size(), 3U);
}

}  // namespace edamori::store
