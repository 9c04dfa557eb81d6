// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/connection_internal.h"

#include <utility>

#include <sqlite3.h>

namespace edamori::store {

Error errorOf(const SQLite::Exception& exception, const std::filesystem::path& folder) {
  const std::string garden = "the garden in " + folder.string();
  switch (exception.getErrorCode()) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return fail(ErrorCode::Conflict,
                  "another program is writing to this garden; wait for it to finish and try again");
    case SQLITE_FULL:
      return fail(ErrorCode::Io,
                  "disk full: no room left in " + folder.string() +
                      "; nothing of this change was saved; make room and try again");
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_CANTOPEN:
    case SQLITE_IOERR:
    case SQLITE_AUTH:
      return fail(ErrorCode::Io,
                  "cannot read or write " + garden + " (" + exception.what() +
                      "); check that the disk is there and may be written to");
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return fail(
          ErrorCode::Storage,
          garden + " is damaged (" + exception.what() + "); restore a backup into a new folder");
    case SQLITE_CONSTRAINT:
    case SQLITE_TOOBIG:
      return fail(ErrorCode::InvalidArgument,
                  std::string("the record breaks a rule of the garden: ") + exception.what());
    case SQLITE_NOMEM:
      return fail(ErrorCode::Io, "not enough memory for " + garden);
    default:
      return fail(ErrorCode::Storage, garden + " cannot be used: " + exception.what());
  }
}

Garden::Connection::Connection(std::filesystem::path folder, SQLite::Database database)
    : m_folder(std::move(folder)), m_database(std::move(database)) {}

Result<void> Garden::Connection::begin() {
  if (m_lost) {
    return *m_lost;
  }
  return guarded(m_folder, [this]() -> Result<void> {
    if (m_depth == 0) {
      m_database.exec("BEGIN IMMEDIATE");
      m_changesAtBegin = m_database.getTotalChanges();
    } else {
      m_database.exec("SAVEPOINT step" + std::to_string(m_depth));
    }
    ++m_depth;
    return {};
  });
}

Result<void> Garden::Connection::finish() {
  if (m_lost) {
    return *m_lost;
  }
  return guarded(m_folder, [this]() -> Result<void> {
    if (m_depth == 1) {
      if (m_database.getTotalChanges() != m_changesAtBegin) {
        m_database.exec("UPDATE garden SET changes = changes + 1");
      }
      m_database.exec("COMMIT");
    } else {
      m_database.exec("RELEASE step" + std::to_string(m_depth - 1));
    }
    --m_depth;
    return {};
  });
}

void Garden::Connection::undo() {
  --m_depth;
  const bool isGone = sqlite3_get_autocommit(m_database.getHandle()) != 0;
  if (isGone && m_depth > 0 && !m_lost) {
    // After a full disk SQLite undoes the whole transaction. What came after in
    // the same work would then be saved without what came before.
    m_lost = fail(ErrorCode::Io,
                  "the change to the garden in " + m_folder.string() +
                      " was undone, because the disk failed or is full");
  }
  if (!isGone) {
    const std::string step = "step" + std::to_string(m_depth);
    const std::string sql = m_depth == 0 ? "ROLLBACK" : "ROLLBACK TO " + step + "; RELEASE " + step;
    // Called while an error is on its way; a second one would only hide it.
    sqlite3_exec(m_database.getHandle(), sql.c_str(), nullptr, nullptr, nullptr);
  }
  if (m_depth == 0) {
    m_lost.reset();
  }
}

Result<void> Garden::Connection::inTransaction(const std::function<Result<void>()>& work) {
  EDAMORI_RETURN_IF_ERROR(begin());
  Result<void> result;
  try {
    result = guarded(m_folder, work);
    if (result) {
      result = finish();
    }
  } catch (...) {
    undo();
    throw;
  }
  if (!result) {
    undo();
  }
  return result;
}

}  // namespace edamori::store
