// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/files_internal.h"
#include "store/garden/schema_internal.h"

#include <algorithm>
#include <array>
#include <limits>
#include <system_error>

namespace edamori::store {

namespace fs = std::filesystem;

namespace {

constexpr const char* kDatabaseName = "garden.sqlite";
constexpr std::array kFolders = {"photos", "previews", "backups"};

// The folder's own name, also when the path ends in a slash.
std::string shownName(const fs::path& folder) {
  std::error_code error;
  const fs::path whole = fs::absolute(folder, error).lexically_normal();
  return (whole.has_filename() ? whole : whole.parent_path()).filename().string();
}

void configure(SQLite::Database& database, const GardenOptions& options) {
  const auto wait =
      std::clamp<std::int64_t>(options.lockWait.count(), 0, std::numeric_limits<int>::max());
  database.setBusyTimeout(static_cast<int>(wait));
  // A garden may come from a stranger's backup: its schema is not trusted.
  database.exec("PRAGMA trusted_schema = OFF");
  database.exec("PRAGMA cell_size_check = ON");
  database.exec("PRAGMA foreign_keys = ON");
  database.exec("PRAGMA synchronous = FULL");
}

Result<std::unique_ptr<Garden::Connection>> connect(const fs::path& folder,
                                                    int flags,
                                                    const GardenOptions& options) {
  return guarded(folder, [&]() -> Result<std::unique_ptr<Garden::Connection>> {
    SQLite::Database database((folder / kDatabaseName).string(), flags);
    configure(database, options);
    return std::make_unique<Garden::Connection>(folder, std::move(database));
  });
}

Result<void> useWriteAheadLog(Garden::Connection& connection) {
  return guarded(connection.folder(), [&]() -> Result<void> {
    connection.database().exec("PRAGMA journal_mode = WAL");
    return {};
  });
}

Result<void> checkIsGarden(Garden::Connection& connection) {
  return guarded(connection.folder(), [&]() -> Result<void> {
    SQLite::Database& database = connection.database();
    if (database.execAndGet("PRAGMA application_id").getInt() != kApplicationId ||
        database.execAndGet("PRAGMA user_version").getInt() < 1) {
      return fail(
          ErrorCode::Storage,
          connection.folder().string() + " is no garden: its garden.sqlite is of another kind");
    }
    const std::string verdict = database.execAndGet("PRAGMA quick_check(1)").getString();
    if (verdict != "ok") {
      return fail(ErrorCode::Storage,
                  "the garden in " + connection.folder().string() + " is damaged (" + verdict +
                      "); restore a backup into a new folder");
    }
    return {};
  });
}

Result<void> checkMayCreate(const fs::path& folder) {
  std::error_code error;
  const fs::file_status status = fs::status(folder, error);
  if (!fs::exists(status)) {
    return {};
  }
  if (!fs::is_directory(status)) {
    return fail(ErrorCode::Conflict, folder.string() + " is a file; choose a new folder");
  }
  if (fs::exists(folder / kDatabaseName, error)) {
    return fail(ErrorCode::Conflict, folder.string() + " is a garden already; open it instead");
  }
  const bool isEmpty = fs::is_empty(folder, error);
  if (error) {
    return readError(folder, error.value());
  }
  if (!isEmpty) {
    return fail(ErrorCode::Conflict,
                folder.string() + " has other files in it; choose an empty or new folder");
  }
  return {};
}

Result<void> writeFirstRows(Garden::Connection& connection) {
  return guarded(connection.folder(), [&]() -> Result<void> {
    SQLite::Database& database = connection.database();
    SQLite::Transaction transaction(database, SQLite::TransactionBehavior::IMMEDIATE);
    database.exec("PRAGMA application_id = " + std::to_string(kApplicationId));
    SQLite::Statement insert(database,
                             "INSERT INTO garden (one, id, name, made_at, changes)"
                             " VALUES (1, ?, ?, ?, 0)");
    insert.bind(1, newUuidV7());
    insert.bind(2, shownName(connection.folder()));
    insert.bind(3, toText(now()));
    insert.exec();
    transaction.commit();
    return {};
  });
}

Result<std::unique_ptr<Garden::Connection>> fillFolder(const fs::path& folder,
                                                       const GardenOptions& options) {
  for (const char* const name : kFolders) {
    EDAMORI_RETURN_IF_ERROR(makeFolder(folder / name));
  }
  auto connection = connect(folder, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE, options);
  if (!connection) {
    return connection;
  }
  EDAMORI_RETURN_IF_ERROR(migrate(**connection, migrations()));
  EDAMORI_RETURN_IF_ERROR(writeFirstRows(**connection));
  EDAMORI_RETURN_IF_ERROR(useWriteAheadLog(**connection));
  EDAMORI_RETURN_IF_ERROR(flushPath(folder));
  return connection;
}

void emptyFolder(const fs::path& folder, bool removeItself) {
  std::error_code ignored;
  for (const fs::directory_entry& entry : fs::directory_iterator(folder, ignored)) {
    fs::remove_all(entry.path(), ignored);
  }
  if (removeItself) {
    fs::remove(folder, ignored);
  }
}

}  // namespace

Garden::Garden(std::unique_ptr<Connection> connection) : m_connection(std::move(connection)) {}
Garden::Garden(Garden&&) noexcept = default;
Garden& Garden::operator=(Garden&&) noexcept = default;
Garden::~Garden() = default;

Result<Garden> Garden::create(const fs::path& folder, const GardenOptions& options) {
  EDAMORI_RETURN_IF_ERROR(checkMayCreate(folder));
  std::error_code error;
  const bool wasThere = fs::exists(folder, error);
  fs::create_directories(folder, error);
  if (error) {
    return writeError(folder, error.value());
  }
  auto connection = fillFolder(folder, options);
  if (!connection) {
    emptyFolder(folder, !wasThere);
    return std::move(connection).error();
  }
  return Garden(std::move(connection).value());
}

Result<Garden> Garden::open(const fs::path& folder, const GardenOptions& options) {
  std::error_code error;
  if (!fs::is_directory(folder, error)) {
    return fail(
        ErrorCode::Storage,
        "there is no garden folder " + folder.string() + "; check the path or make a new garden");
  }
  if (!fs::is_regular_file(folder / kDatabaseName, error)) {
    if (error && error != std::errc::no_such_file_or_directory) {
      return fail(ErrorCode::Io, "cannot read " + folder.string() + ": " + error.message());
    }
    return fail(ErrorCode::Storage, folder.string() + " is no garden: it has no garden.sqlite; choose a garden's folder or make a new garden");
  }
  auto connection = connect(folder, SQLite::OPEN_READWRITE, options);
  if (!connection) {
    return std::move(connection).error();
  }
  EDAMORI_RETURN_IF_ERROR(checkIsGarden(**connection));
  EDAMORI_RETURN_IF_ERROR(migrate(**connection, migrations()));
  EDAMORI_RETURN_IF_ERROR(useWriteAheadLog(**connection));
  for (const char* const name : kFolders) {
    EDAMORI_RETURN_IF_ERROR(makeFolder(folder / name));
  }
  return Garden(std::move(connection).value());
}

Garden::Connection& Garden::connection() const { return *m_connection; }
const fs::path& Garden::folder() const { return m_connection->folder(); }
fs::path Garden::photosFolder() const { return folder() / "photos"; }
fs::path Garden::previewsFolder() const { return folder() / "previews"; }
fs::path Garden::backupsFolder() const { return folder() / "backups"; }
int Garden::schemaVersion() { return migrations().back().toVersion; }

fs::path originalPath(const Photo& photo) {
  const std::string ending = photo.format == "jpeg"   ? "jpg"
                             : photo.format == "tiff" ? "tif"
                                                      : photo.format;
  return fs::path("photos") / photo.sha256.substr(0, 2) / (photo.sha256 + "." + ending);
}

fs::path Garden::originalFile(const Photo& photo) const { return folder() / originalPath(photo); }

std::string Garden::name() const {
  const auto stored = guarded(folder(), [this]() -> Result<std::string> {
    return connection().database().execAndGet("SELECT name FROM garden").getString();
  });
  return stored ? *stored : shownName(folder());
}

Result<void> Garden::setName(const std::string& name) {
  if (name.find_first_not_of(" \t\r\n") == std::string::npos) {
    return fail(ErrorCode::InvalidArgument, "a garden's name must not be empty");
  }
  return connection().inTransaction([&]() -> Result<void> {
    SQLite::Statement update(connection().database(), "UPDATE garden SET name = ?");
    update.bind(1, name);
    update.exec();
    return {};
  });
}

Result<void> Garden::inTransaction(const std::function<Result<void>()>& work) {
  return connection().inTransaction(work);
}

Result<std::int64_t> Garden::changeCounter() const {
  return guarded(folder(), [this]() -> Result<std::int64_t> {
    return connection().database().execAndGet("SELECT changes FROM garden").getInt64();
  });
}

}  // namespace edamori::store
