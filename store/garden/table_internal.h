// SPDX-License-Identifier: GPL-3.0-or-later
// Reading and writing records by a description of their table.
//
// A specialisation of Table<Record> gives: kName, the table; columns(), a tuple of Column and
// PartColumn with "id" first; check(connection, record), the rules of the record.
#pragma once

#include "store/garden/relations_internal.h"
#include "store/garden/values_internal.h"

#include <optional>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

namespace edamori::store::sql {

template <typename Record>
struct Table;

// A column that holds one member of the record.
template <typename Record, typename Member>
struct Column {
  const char* name;
  Member Record::* member;
  [[nodiscard]] const Member& of(const Record& record) const { return record.*member; }
  [[nodiscard]] Member& of(Record& record) const { return record.*member; }
};

// A column that holds one member of a member of the record.
template <typename Record, typename Part, typename Member>
struct PartColumn {
  const char* name;
  Part Record::* part;
  Member Part::* member;
  [[nodiscard]] const Member& of(const Record& record) const { return (record.*part).*member; }
  [[nodiscard]] Member& of(Record& record) const { return (record.*part).*member; }
};

template <typename Record, typename Member>
Column<Record, Member> column(const char* name, Member Record::* member) {
  return {name, member};
}
template <typename Record, typename Part, typename Member>
PartColumn<Record, Part, Member> column(const char* name,
                                        Part Record::* part,
                                        Member Part::* member) {
  return {name, part, member};
}

template <typename Record, typename Visitor>
void forEachColumn(Visitor&& visit) {
  std::apply([&visit](const auto&... each) { (visit(each), ...); }, Table<Record>::columns());
}

// "r.id, r.name, …": what readRow reads.
template <typename Record>
std::string selectedColumns() {
  std::string text;
  forEachColumn<Record>([&text](const auto& each) {
    text += (text.empty() ? "r." : ", r.") + std::string(each.name);
  });
  return text;
}

template <typename Record>
Record readRow(const SQLite::Statement& statement) {
  Record record;
  int index = 0;
  forEachColumn<Record>(
      [&](const auto& each) { readValue(statement.getColumn(index++), each.of(record)); });
  return record;
}

// "INSERT … ON CONFLICT (id) DO UPDATE …"; a record that is put is out of the bin.
template <typename Record>
std::string upsertText() {
  std::string names;
  std::string places;
  std::string updates;
  forEachColumn<Record>([&](const auto& each) {
    const std::string name = each.name;
    const std::string comma = names.empty() ? "" : ", ";
    names += comma + name;
    places += comma + "?";
    updates += name + " = excluded." + name + ", ";
  });
  return std::string("INSERT INTO ") + Table<Record>::kName + " (" + names + ") VALUES (" + places +
         ") ON CONFLICT (id) DO UPDATE SET " + updates + "removed_at = NULL, removal_group = NULL";
}

inline void collectId(const char*, const auto&, auto&) {}
template <typename Tag>
void collectId(const char* name,
               const Id<Tag>& id,
               std::vector<std::pair<std::string, std::string>>& ids) {
  ids.emplace_back(name, id.text);
}
template <typename Tag>
void collectId(const char* name,
               const std::optional<Id<Tag>>& id,
               std::vector<std::pair<std::string, std::string>>& ids) {
  ids.emplace_back(name, id ? id->text : std::string{});
}

template <typename Record>
Result<void> putRecord(Garden::Connection& connection, const Record& record) {
  if (!isUuidV7(record.id.text)) {
    return fail(ErrorCode::InvalidArgument,
                "a " + nounOf(Table<Record>::kName) + " needs an id (UUIDv7), not \"" +
                    record.id.text + "\"");
  }
  return connection.inTransaction([&]() -> Result<void> {
    std::vector<std::pair<std::string, std::string>> references;
    forEachColumn<Record>(
        [&](const auto& each) { collectId(each.name, each.of(record), references); });
    EDAMORI_RETURN_IF_ERROR(checkReferences(connection, Table<Record>::kName, references));
    EDAMORI_RETURN_IF_ERROR(Table<Record>::check(connection, record));
    SQLite::Statement upsert(connection.database(), upsertText<Record>());
    int index = 1;
    forEachColumn<Record>([&](const auto& each) { bindValue(upsert, index++, each.of(record)); });
    upsert.exec();
    return {};
  });
}

// The rows of "FROM table AS r <tail>", e.g. "WHERE r.removed_at IS NULL AND r.tree = ?".
template <typename Record, typename... Parameters>
Result<std::vector<Record>> selectRecords(Garden::Connection& connection,
                                          const std::string& tail,
                                          const Parameters&... parameters) {
  return guarded(connection.folder(), [&]() -> Result<std::vector<Record>> {
    SQLite::Statement query(
        connection.database(),
        "SELECT " + selectedColumns<Record>() + " FROM " + Table<Record>::kName + " AS r " + tail);
    int index = 1;
    (bindValue(query, index++, parameters), ...);
    std::vector<Record> records;
    while (query.executeStep()) {
      records.push_back(readRow<Record>(query));
    }
    return records;
  });
}

template <typename Record, typename... Parameters>
Result<std::optional<Record>> selectOne(Garden::Connection& connection,
                                        const std::string& tail,
                                        const Parameters&... parameters) {
  auto records = selectRecords<Record>(connection, tail, parameters...);
  if (!records) {
    return std::move(records).error();
  }
  return records->empty() ? std::optional<Record>{} : std::optional{std::move(records->front())};
}

template <typename Record, typename Tag>
Result<std::optional<Record>> findRecord(Garden::Connection& connection, const Id<Tag>& id) {
  return selectOne<Record>(connection, "WHERE r.id = ? AND r.removed_at IS NULL", id.text);
}

template <typename Record>
Result<int> readEvery(Garden::Connection& connection) {
  return selectRecords<Record>(connection, "").transform([](const std::vector<Record>& records) {
    return static_cast<int>(records.size());
  });
}

// True when another record out of the bin has the same text in this column
// (of the tree with the id `ofTree`, unless that is empty).
[[nodiscard]] bool isTaken(Garden::Connection& connection,
                           const std::string& table,
                           const std::string& column,
                           const std::string& text,
                           const std::string& ownId,
                           const std::string& ofTree = "");

// Errors: InvalidArgument "a <what> must not be empty".
Result<void> checkNotBlank(const std::string& text, const std::string& what);
// At least 3 vertices, all finite. Errors: InvalidArgument.
Result<void> checkPolygon(const Polygon& polygon, const std::string& what);
// Errors: InvalidArgument when the number is NaN or infinite.
Result<void> checkFinite(double number, const std::string& what);

}  // namespace edamori::store::sql
