// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/values_internal.h"

#include <nlohmann/json.hpp>

namespace edamori::store::sql {

namespace {

using Json = nlohmann::json;

std::string dumped(const Json& json) {
  // Text of a person may hold bytes that are no UTF-8; they become U+FFFD here.
  return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Json jsonOf(const Polygon& polygon) {
  Json json = Json::array();
  for (const PointPx& point : polygon) {
    json.push_back({point.x, point.y});
  }
  return json;
}

Polygon polygonOf(const Json& json) {
  Polygon polygon;
  for (const Json& point : json) {
    polygon.push_back({.x = point.at(0).get<double>(), .y = point.at(1).get<double>()});
  }
  return polygon;
}

// Parses the column and hands it to `read`; any surprise is damage.
template <typename Read>
auto readJson(const SQLite::Column& column, Read&& read) {
  try {
    return read(Json::parse(column.getString()));
  } catch (const Json::exception&) {
    throw DamagedValue(std::string("column ") + column.getName() + " holds unreadable JSON");
  }
}

template <typename Value>
void take(Result<Value> parsed, const SQLite::Column& column, Value& value) {
  if (!parsed) {
    throw DamagedValue(std::string("column ") + column.getName() + ": " + parsed.error().message);
  }
  value = std::move(parsed).value();
}

}  // namespace

void bindValue(SQLite::Statement& statement, int index, const std::string& value) {
  statement.bind(index, value);
}
void bindValue(SQLite::Statement& statement, int index, int value) { statement.bind(index, value); }
void bindValue(SQLite::Statement& statement, int index, std::int64_t value) {
  statement.bind(index, value);
}
void bindValue(SQLite::Statement& statement, int index, double value) {
  statement.bind(index, value);
}
void bindValue(SQLite::Statement& statement, int index, bool value) {
  statement.bind(index, value ? 1 : 0);
}
void bindValue(SQLite::Statement& statement, int index, const LocalTime& value) {
  statement.bind(index, toText(value));
}
void bindValue(SQLite::Statement& statement, int index, std::chrono::year_month_day value) {
  statement.bind(index, toText(value));
}
void bindValue(SQLite::Statement& statement, int index, const Polygon& value) {
  statement.bind(index, dumped(jsonOf(value)));
}
void bindValue(SQLite::Statement& statement, int index, const std::vector<Polygon>& value) {
  Json json = Json::array();
  for (const Polygon& polygon : value) {
    json.push_back(jsonOf(polygon));
  }
  statement.bind(index, dumped(json));
}
void bindValue(SQLite::Statement& statement, int index, const std::vector<Caution>& value) {
  Json json = Json::array();
  for (const Caution& caution : value) {
    json.push_back({{"code", caution.code}, {"text", caution.text}});
  }
  statement.bind(index, dumped(json));
}
void bindValue(SQLite::Statement& statement, int index, const std::vector<double>& value) {
  statement.bind(index, dumped(Json(value)));
}
void bindValue(SQLite::Statement& statement, int index, const std::vector<std::string>& value) {
  statement.bind(index, dumped(Json(value)));
}

void readValue(const SQLite::Column& column, std::string& value) { value = column.getString(); }
void readValue(const SQLite::Column& column, int& value) { value = column.getInt(); }
void readValue(const SQLite::Column& column, std::int64_t& value) { value = column.getInt64(); }
void readValue(const SQLite::Column& column, double& value) { value = column.getDouble(); }
void readValue(const SQLite::Column& column, bool& value) { value = column.getInt() != 0; }
void readValue(const SQLite::Column& column, LocalTime& value) {
  take(parseLocalTime(column.getString()), column, value);
}
void readValue(const SQLite::Column& column, std::chrono::year_month_day& value) {
  take(parseDate(column.getString()), column, value);
}
void readValue(const SQLite::Column& column, Polygon& value) {
  value = readJson(column, polygonOf);
}
void readValue(const SQLite::Column& column, std::vector<Polygon>& value) {
  value = readJson(column, [](const Json& json) {
    std::vector<Polygon> polygons;
    for (const Json& polygon : json) {
      polygons.push_back(polygonOf(polygon));
    }
    return polygons;
  });
}
void readValue(const SQLite::Column& column, std::vector<Caution>& value) {
  value = readJson(column, [](const Json& json) {
    std::vector<Caution> cautions;
    for (const Json& caution : json) {
      cautions.push_back({.code = caution.at("code").get<std::string>(),
                          .text = caution.at("text").get<std::string>()});
    }
    return cautions;
  });
}
void readValue(const SQLite::Column& column, std::vector<double>& value) {
  value = readJson(column, [](const Json& json) { return json.get<std::vector<double>>(); });
}
void readValue(const SQLite::Column& column, std::vector<std::string>& value) {
  value = readJson(column, [](const Json& json) { return json.get<std::vector<std::string>>(); });
}

void readValue(const SQLite::Column& column, BranchKind& value) {
  take(parseBranchKind(column.getString()), column, value);
}
void readValue(const SQLite::Column& column, DateSource& value) {
  take(parseDateSource(column.getString()), column, value);
}
void readValue(const SQLite::Column& column, View& value) {
  take(parseView(column.getString()), column, value);
}
void readValue(const SQLite::Column& column, Finding& value) {
  take(parseFinding(column.getString()), column, value);
}
void readValue(const SQLite::Column& column, MarkKind& value) {
  take(parseMarkKind(column.getString()), column, value);
}
void readValue(const SQLite::Column& column, Stage& value) {
  take(parseStage(column.getString()), column, value);
}
void readValue(const SQLite::Column& column, TreatmentKind& value) {
  take(parseTreatmentKind(column.getString()), column, value);
}
void readValue(const SQLite::Column& column, HintKind& value) {
  take(parseHintKind(column.getString()), column, value);
}
void readValue(const SQLite::Column& column, Subject& value) {
  take(parseSubject(column.getString()), column, value);
}

}  // namespace edamori::store::sql
