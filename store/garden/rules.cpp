// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

#include <cmath>

namespace edamori::store::sql {

bool isTaken(Garden::Connection& connection,
             const std::string& table,
             const std::string& column,
             const std::string& text,
             const std::string& ownId,
             const std::string& ofTree) {
  std::string sql =
      "SELECT 1 FROM " + table + " WHERE removed_at IS NULL AND id <> ?1 AND " + column + " = ?2";
  if (!ofTree.empty()) {
    sql += " AND tree = ?3";
  }
  SQLite::Statement query(connection.database(), sql);
  query.bind(1, ownId);
  query.bind(2, text);
  if (!ofTree.empty()) {
    query.bind(3, ofTree);
  }
  return query.executeStep();
}

Result<void> checkNotBlank(const std::string& text, const std::string& what) {
  if (text.find_first_not_of(" \t\r\n") == std::string::npos) {
    return fail(ErrorCode::InvalidArgument, what + " must not be empty");
  }
  return {};
}

Result<void> checkFinite(double number, const std::string& what) {
  if (!std::isfinite(number)) {
    return fail(ErrorCode::InvalidArgument, what + " is not a number");
  }
  return {};
}

Result<void> checkPolygon(const Polygon& polygon, const std::string& what) {
  if (polygon.size() < 3) {
    return fail(ErrorCode::InvalidArgument, what + " needs at least 3 corners");
  }
  for (const PointPx& point : polygon) {
    EDAMORI_RETURN_IF_ERROR(checkFinite(point.x, "a corner of " + what));
    EDAMORI_RETURN_IF_ERROR(checkFinite(point.y, "a corner of " + what));
  }
  return {};
}

}  // namespace edamori::store::sql
