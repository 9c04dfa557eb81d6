// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/relations_internal.h"
#include "store/records/time.h"

#include <algorithm>

namespace edamori::store::sql {

namespace {

struct Unique {
  const char* table;
  const char* column;
  const char* within;  // column that limits where it must be unique; null: whole garden
};

// The partial unique indices of the schema, checked here for a good message.
constexpr std::array kUniques = {Unique{"tree", "tag", nullptr},
                                 Unique{"branch", "name", "tree"},
                                 Unique{"photo", "sha256", nullptr}};

// Whether a row is there, and whether it lies in the bin.
enum class State { Missing, Present, Binned };

State stateOf(SQLite::Database& database, const std::string& table, const std::string& id) {
  SQLite::Statement query(database, "SELECT removed_at FROM " + table + " WHERE id = ?");
  query.bind(1, id);
  if (!query.executeStep()) {
    return State::Missing;
  }
  return query.getColumn(0).isNull() ? State::Present : State::Binned;
}

Error noSuch(const std::string& table) {
  return fail(ErrorCode::InvalidArgument,
              "there is no such " + nounOf(table) + " in this garden; read the garden again");
}

// An owner whose trees are still here cannot go: they would seem to be the keeper's own.
Result<void> checkNothingPrevents(SQLite::Database& database,
                                  const std::string& table,
                                  const std::string& id) {
  for (const Relation& relation : kRelations) {
    if (relation.hold != Hold::Prevents || table != relation.parent) {
      continue;
    }
    SQLite::Statement query(database,
                            std::string("SELECT count(*), min(tag) FROM ") + relation.child +
                                " WHERE removed_at IS NULL AND " + relation.column + " = ?");
    query.bind(1, id);
    query.executeStep();
    if (const int count = query.getColumn(0).getInt(); count > 0) {
      return fail(ErrorCode::InvalidArgument,
                  "this " + nounOf(table) + " still has " + std::to_string(count) +
                      (count == 1 ? " tree" : " trees") + " here (" +
                      query.getColumn(1).getString() + (count == 1 ? ")" : ", …)") +
                      "; give them another owner or remove them first");
    }
  }
  return {};
}

// Sends the row, and what hangs on it, to the bin as one group.
void binGroup(SQLite::Database& database, const std::string& table, const std::string& id) {
  const std::string time = toText(now());
  const std::string group = newUuidV7();
  SQLite::Statement first(
      database, "UPDATE " + table + " SET removed_at = ?, removal_group = ? WHERE id = ?");
  first.bind(1, time);
  first.bind(2, group);
  first.bind(3, id);
  first.exec();
  for (const Relation& relation : kRelations) {
    if (relation.hold != Hold::GoesAlong) {
      continue;
    }
    SQLite::Statement next(database,
                           std::string("UPDATE ") + relation.child +
                               " SET removed_at = ?1, removal_group = ?2 WHERE removed_at IS NULL"
                               " AND " +
                               relation.column + " IN (SELECT id FROM " + relation.parent +
                               " WHERE removal_group = ?2)");
    next.bind(1, time);
    next.bind(2, group);
    next.exec();
  }
}

// A record must not come back to a parent that stays in the bin.
Result<void> checkParentsComeToo(SQLite::Database& database, const std::string& group) {
  for (const Relation& relation : kRelations) {
    if (relation.hold == Hold::Loose) {
      continue;
    }
    SQLite::Statement query(database,
                            std::string("SELECT 1 FROM ") + relation.child + " AS child JOIN " +
                                relation.parent + " AS parent ON parent.id = child." +
                                relation.column +
                                " WHERE child.removal_group = ?1 AND parent.removed_at IS NOT NULL"
                                " AND parent.removal_group <> ?1");
    query.bind(1, group);
    if (query.executeStep()) {
      return fail(ErrorCode::InvalidArgument,
                  "the " + nounOf(relation.parent) + " of this " + nounOf(relation.child) +
                      " is in the bin too; restore that first");
    }
  }
  return {};
}

Result<void> checkStillUnique(SQLite::Database& database, const std::string& group) {
  for (const Unique& unique : kUniques) {
    const std::string within =
        unique.within == nullptr
            ? std::string{}
            : std::string(" AND here.") + unique.within + " = back." + unique.within;
    SQLite::Statement query(database,
                            std::string("SELECT back.") + unique.column + " FROM " + unique.table +
                                " AS back JOIN " + unique.table + " AS here ON here." +
                                unique.column + " = back." + unique.column + within +
                                " WHERE back.removal_group = ? AND here.removed_at IS NULL");
    query.bind(1, group);
    if (query.executeStep()) {
      return fail(ErrorCode::InvalidArgument,
                  "another " + nounOf(unique.table) + " has the " + unique.column + " \"" +
                      query.getColumn(0).getString() + "\" by now; change or remove it first");
    }
  }
  return {};
}

}  // namespace

std::string nounOf(const std::string& table) {
  std::string noun = table;
  std::ranges::replace(noun, '_', ' ');
  return noun;
}

Result<void> checkReferences(Garden::Connection& connection,
                             const std::string& table,
                             const std::vector<std::pair<std::string, std::string>>& references) {
  for (const auto& [column, id] : references) {
    const auto relation = std::ranges::find_if(kRelations, [&](const Relation& candidate) {
      return table == candidate.child && column == candidate.column;
    });
    if (id.empty() || relation == kRelations.end()) {
      continue;
    }
    const State state = stateOf(connection.database(), relation->parent, id);
    if (state == State::Missing) {
      return fail(ErrorCode::InvalidArgument,
                  "the " + nounOf(relation->parent) + " of this " + nounOf(table) +
                      " is not in this garden");
    }
    if (state == State::Binned && relation->hold != Hold::Loose) {
      return fail(ErrorCode::InvalidArgument,
                  "the " + nounOf(relation->parent) + " of this " + nounOf(table) +
                      " is in the bin; restore that first");
    }
  }
  return {};
}

Result<void> moveToBin(Garden::Connection& connection,
                       const std::string& table,
                       const std::string& id) {
  return connection.inTransaction([&]() -> Result<void> {
    const State state = stateOf(connection.database(), table, id);
    if (state == State::Missing) {
      return noSuch(table);
    }
    if (state == State::Present) {
      EDAMORI_RETURN_IF_ERROR(checkNothingPrevents(connection.database(), table, id));
      binGroup(connection.database(), table, id);
    }
    return {};
  });
}

Result<void> takeFromBin(Garden::Connection& connection,
                         const std::string& table,
                         const std::string& id) {
  return connection.inTransaction([&]() -> Result<void> {
    SQLite::Database& database = connection.database();
    if (stateOf(database, table, id) != State::Binned) {
      return fail(ErrorCode::InvalidArgument, "this " + nounOf(table) + " is not in the bin");
    }
    SQLite::Statement query(database, "SELECT removal_group FROM " + table + " WHERE id = ?");
    query.bind(1, id);
    query.executeStep();
    const std::string group = query.getColumn(0).getString();
    query.reset();
    EDAMORI_RETURN_IF_ERROR(checkParentsComeToo(database, group));
    EDAMORI_RETURN_IF_ERROR(checkStillUnique(database, group));
    for (const char* const member : kTables) {
      SQLite::Statement back(database,
                             std::string("UPDATE ") + member +
                                 " SET removed_at = NULL, removal_group = NULL"
                                 " WHERE removal_group = ?");
      back.bind(1, group);
      back.exec();
    }
    return {};
  });
}

}  // namespace edamori::store::sql
