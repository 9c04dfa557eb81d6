// SPDX-License-Identifier: GPL-3.0-or-later
// The database side of a garden: connection, transactions, errors.
#pragma once

#include "store/garden/garden.h"

#include <filesystem>
#include <functional>
#include <new>
#include <optional>
#include <stdexcept>
#include <string>

#include <SQLiteCpp/SQLiteCpp.h>

namespace edamori::store {

// Thrown within store/garden and store/safety when a stored value makes no
// sense; guarded() turns it into Storage.
class DamagedValue : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

// What SQLite's exception means for a person; `folder` is the garden's.
[[nodiscard]] Error errorOf(const SQLite::Exception& exception,
                            const std::filesystem::path& folder);

// Runs `work`; exceptions of the database become errors.
template <typename Work>
auto guarded(const std::filesystem::path& folder, Work&& work) -> decltype(work()) {
  try {
    return work();
  } catch (const SQLite::Exception& exception) {
    return errorOf(exception, folder);
  } catch (const DamagedValue& damage) {
    return fail(ErrorCode::Storage,
                "the garden in " + folder.string() + " is damaged: " + damage.what() +
                    "; restore a backup");
  } catch (const std::bad_alloc&) {
    return fail(ErrorCode::Io, "not enough memory to read the garden in " + folder.string());
  }
}

// "photos/ab/abcdef….jpg", below the garden folder.
[[nodiscard]] std::filesystem::path originalPath(const Photo& photo);

class Garden::Connection {
 public:
  Connection(std::filesystem::path folder, SQLite::Database database);

  [[nodiscard]] const std::filesystem::path& folder() const { return m_folder; }
  [[nodiscard]] SQLite::Database& database() { return m_database; }

  // Runs `work` in a transaction, or in a savepoint of the one that is open.
  // Undone when `work` fails or throws; what it throws is thrown on, except
  // the database's own exceptions, which become errors.
  Result<void> inTransaction(const std::function<Result<void>()>& work);

 private:
  Result<void> begin();
  Result<void> finish();
  void undo();

  std::filesystem::path m_folder;
  SQLite::Database m_database;
  int m_depth = 0;              // transactions and savepoints that are open
  int m_changesAtBegin = 0;     // rows changed on this connection before the transaction
  std::optional<Error> m_lost;  // why SQLite itself undid the whole transaction
};

}  // namespace edamori::store
