// SPDX-License-Identifier: GPL-3.0-or-later
// How single values go into a column and come out of it.
//
// Text is UTF-8; an empty id is NULL; times are ISO 8601 text, "" when unknown;
// polygons are JSON [[x,y],…] in px; enumerators are the words of toText().
// readValue throws DamagedValue for what toText() would never have written.
#pragma once

#include "store/garden/connection_internal.h"
#include "store/records/records.h"

#include <optional>
#include <string>
#include <type_traits>
#include <vector>

namespace edamori::store::sql {

void bindValue(SQLite::Statement& statement, int index, const std::string& value);
void bindValue(SQLite::Statement& statement, int index, int value);
void bindValue(SQLite::Statement& statement, int index, std::int64_t value);
void bindValue(SQLite::Statement& statement, int index, double value);
void bindValue(SQLite::Statement& statement, int index, bool value);
void bindValue(SQLite::Statement& statement, int index, const LocalTime& value);
void bindValue(SQLite::Statement& statement, int index, std::chrono::year_month_day value);
void bindValue(SQLite::Statement& statement, int index, const Polygon& value);
void bindValue(SQLite::Statement& statement, int index, const std::vector<Polygon>& value);
void bindValue(SQLite::Statement& statement, int index, const std::vector<Caution>& value);
void bindValue(SQLite::Statement& statement, int index, const std::vector<double>& value);
void bindValue(SQLite::Statement& statement, int index, const std::vector<std::string>& value);

void readValue(const SQLite::Column& column, std::string& value);
void readValue(const SQLite::Column& column, int& value);
void readValue(const SQLite::Column& column, std::int64_t& value);
void readValue(const SQLite::Column& column, double& value);
void readValue(const SQLite::Column& column, bool& value);
void readValue(const SQLite::Column& column, LocalTime& value);
void readValue(const SQLite::Column& column, std::chrono::year_month_day& value);
void readValue(const SQLite::Column& column, Polygon& value);
void readValue(const SQLite::Column& column, std::vector<Polygon>& value);
void readValue(const SQLite::Column& column, std::vector<Caution>& value);
void readValue(const SQLite::Column& column, std::vector<double>& value);
void readValue(const SQLite::Column& column, std::vector<std::string>& value);

void readValue(const SQLite::Column& column, BranchKind& value);
void readValue(const SQLite::Column& column, DateSource& value);
void readValue(const SQLite::Column& column, View& value);
void readValue(const SQLite::Column& column, Finding& value);
void readValue(const SQLite::Column& column, MarkKind& value);
void readValue(const SQLite::Column& column, Stage& value);
void readValue(const SQLite::Column& column, TreatmentKind& value);
void readValue(const SQLite::Column& column, Subject& value);
void readValue(const SQLite::Column& column, HintKind& value);

template <typename Enum>
  requires std::is_enum_v<Enum>
void bindValue(SQLite::Statement& statement, int index, Enum value) {
  statement.bind(index, toText(value));
}

template <typename Tag>
void bindValue(SQLite::Statement& statement, int index, const Id<Tag>& id) {
  if (id.isEmpty()) {
    statement.bind(index);
  } else {
    statement.bind(index, id.text);
  }
}

template <typename Tag>
void readValue(const SQLite::Column& column, Id<Tag>& id) {
  id.text = column.isNull() ? std::string{} : column.getString();
}

template <typename Value>
void bindValue(SQLite::Statement& statement, int index, const std::optional<Value>& value) {
  if (value) {
    bindValue(statement, index, *value);
  } else {
    statement.bind(index);
  }
}

template <typename Value>
void readValue(const SQLite::Column& column, std::optional<Value>& value) {
  value.reset();
  if (!column.isNull()) {
    readValue(column, value.emplace());
  }
}

}  // namespace edamori::store::sql
