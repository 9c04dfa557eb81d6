// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/files_internal.h"
#include "store/garden/schema_internal.h"
#include "store/intake/originals.h"
#include "store/safety/archive_internal.h"
#include "store/safety/contents_internal.h"
#include "store/safety/safety.h"

#include <algorithm>
#include <system_error>

namespace edamori::store {

namespace fs = std::filesystem;

namespace {

constexpr const char* kDatabaseName = "garden.sqlite";
// Lines as sha256sum (GNU coreutils) writes and checks them; the last file of the archive.
constexpr const char* kSumsName = "SHA256SUMS";

std::string sumsText(const Hashes& hashes) {
  std::string text;
  for (const auto& [name, hash] : hashes) {
    text += hash + "  " + name + "\n";
  }
  return text;
}

Result<void> addOriginals(const Garden& garden, const Contents& contents, TarWriter& tar) {
  for (const OriginalEntry& entry : contents.originals) {
    std::error_code error;
    const fs::path file = garden.folder() / entry.path;
    if (!fs::exists(file, error)) {
      if (!entry.isInUse) {
        continue;
      }
      return fail(ErrorCode::NotFound,
                  "the original " + entry.path + " is missing; import " + entry.originalName +
                      " again, or remove the photo, and back up then");
    }
    if (auto added = tar.addFile(entry.path, file); !added) {
      return std::move(added).error();
    }
    if (tar.hashes().at(entry.path) != entry.sha256) {
      return fail(ErrorCode::Unreadable,
                  "the original " + entry.path + " is damaged; import " + entry.originalName +
                      " again, or remove the photo, and back up then");
    }
  }
  for (const std::string& mask : contents.allMasks) {
    std::error_code error;
    if (isPathBelow(mask) && fs::is_regular_file(garden.folder() / mask, error)) {
      EDAMORI_RETURN_IF_ERROR(tar.addFile(mask, garden.folder() / mask));
    }
  }
  return {};
}

Result<void> writeArchive(const Garden& garden, const fs::path& database, const fs::path& part) {
  Contents contents;
  EDAMORI_RETURN_IF_ERROR(guarded(garden.folder(), [&]() -> Result<void> {
    contents = contentsOf(SQLite::Database(database.string(), SQLite::OPEN_READONLY));
    return {};
  }));
  auto tar = TarWriter::create(part);
  if (!tar) {
    return std::move(tar).error();
  }
  EDAMORI_RETURN_IF_ERROR(tar->addFile(kDatabaseName, database));
  EDAMORI_RETURN_IF_ERROR(addOriginals(garden, contents, *tar));
  EDAMORI_RETURN_IF_ERROR(tar->addText(kSumsName, sumsText(tar->hashes())));
  return tar->finish();
}

Error corrupt(const fs::path& file, const std::string& reason) {
  return fail(ErrorCode::Corrupt,
              file.string() + " is no whole backup: " + reason + "; take another backup file");
}

// Compares what was unpacked with the list that came along, and takes the list away.
Result<void> checkSums(const fs::path& file, const fs::path& folder, Hashes unpacked) {
  if (unpacked.erase(kSumsName) == 0 || !unpacked.contains(kDatabaseName)) {
    return corrupt(file, "it has no list of its files or no database");
  }
  auto bytes = readFile(folder / kSumsName);
  if (!bytes) {
    return std::move(bytes).error();
  }
  std::string expected(bytes->size(), '\0');
  std::ranges::transform(
      *bytes, expected.begin(), [](std::byte b) { return static_cast<char>(b); });
  if (expected != sumsText(unpacked)) {
    return corrupt(file, "its files are not those of its list, so some are damaged or missing");
  }
  std::error_code error;
  fs::remove(folder / kSumsName, error);
  return error ? Result<void>(writeError(folder, error.value())) : Result<void>{};
}

Result<void> checkVersion(const fs::path& file, const fs::path& folder) {
  return guarded(folder, [&]() -> Result<void> {
    SQLite::Database database((folder / kDatabaseName).string(), SQLite::OPEN_READONLY);
    if (database.execAndGet("PRAGMA user_version").getInt() > Garden::schemaVersion()) {
      return fail(ErrorCode::Storage,
                  file.string() + " was made by a newer program; update this one and try again");
    }
    return {};
  });
}

Result<void> checkUnpacked(const fs::path& file, const fs::path& folder) {
  EDAMORI_RETURN_IF_ERROR(checkVersion(file, folder));
  const auto garden = Garden::open(folder);
  if (!garden) {
    return corrupt(file, garden.error().message);
  }
  const auto report = checkGarden(*garden);
  if (!report) {
    return report.error();
  }
  // A mask can be measured again: without one the backup is still whole.
  for (const std::string& problem : report->problems) {
    if (!problem.starts_with("the label mask ") && !problem.starts_with("the hints ")) {
      return corrupt(file, problem);
    }
  }
  return {};
}

Result<void> checkTarget(const fs::path& folder) {
  std::error_code error;
  const fs::file_status status = fs::symlink_status(folder, error);
  if (!fs::exists(status)) {
    return {};
  }
  if (!fs::is_directory(status) || !fs::is_empty(folder, error) || error) {
    return fail(ErrorCode::Conflict,
                folder.string() + " has something in it already; choose an empty or new folder");
  }
  return {};
}

// A folder of our own that is removed with all in it, unless it was put in place.
class WorkFolder {
 public:
  explicit WorkFolder(fs::path path) : m_path(std::move(path)) {}
  WorkFolder(const WorkFolder&) = delete;
  WorkFolder& operator=(const WorkFolder&) = delete;
  ~WorkFolder() {
    std::error_code ignored;
    fs::remove_all(m_path, ignored);
  }
  [[nodiscard]] const fs::path& path() const { return m_path; }

 private:
  fs::path m_path;
};

fs::path withoutSlash(const fs::path& folder) {
  std::error_code error;
  const fs::path whole = fs::absolute(folder, error).lexically_normal();
  return whole.has_filename() ? whole : whole.parent_path();
}

}  // namespace

Result<void> backupGarden(const Garden& garden, const fs::path& file) {
  std::error_code error;
  if (fs::exists(fs::symlink_status(file, error))) {
    return fail(ErrorCode::Conflict, file.string() + " exists already; choose another name");
  }
  const fs::path into = fs::absolute(file, error).parent_path();
  if (!fs::is_directory(into, error)) {
    return fail(ErrorCode::Io, "there is no folder " + into.string() + "; make it, or choose another one");
  }
  const TemporaryFile database(garden.backupsFolder() / (".backup-" + newUuidV7() + ".sqlite"));
  EDAMORI_RETURN_IF_ERROR(copyDatabase(garden.connection(), database.path()));
  TemporaryFile part(file.string() + ".part-" + newUuidV7());
  EDAMORI_RETURN_IF_ERROR(writeArchive(garden, database.path(), part.path()));
  EDAMORI_RETURN_IF_ERROR(moveIntoPlace(part.path(), file));
  part.release();
  return {};
}

Result<void> restoreGarden(const fs::path& file, const fs::path& folder) {
  {
    const auto readable = openForReading(file);
    if (!readable) {
      return readable.error();
    }
  }
  EDAMORI_RETURN_IF_ERROR(checkTarget(folder));
  const fs::path target = withoutSlash(folder);
  std::error_code error;
  fs::create_directories(target.parent_path(), error);
  if (error) {
    return writeError(target.parent_path(), error.value());
  }
  const WorkFolder work(target.string() + ".part-" + newUuidV7());
  EDAMORI_RETURN_IF_ERROR(makeFolder(work.path()));
  auto hashes = unpackTar(file, work.path());
  if (!hashes) {
    return std::move(hashes).error();
  }
  EDAMORI_RETURN_IF_ERROR(checkSums(file, work.path(), std::move(hashes).value()));
  EDAMORI_RETURN_IF_ERROR(checkUnpacked(file, work.path()));
  fs::rename(work.path(), target, error);  // also onto an empty folder (POSIX rename)
  if (error) {
    return writeError(target, error.value());
  }
  return flushPath(target.parent_path());
}

}  // namespace edamori::store
