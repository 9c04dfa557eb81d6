// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

namespace edamori::store {

template <>
struct sql::Table<Mark> {
  static constexpr const char* kName = "mark";
  static auto columns() {
    return std::tuple{column("id", &Mark::id),
                      column("photo", &Mark::photo),
                      column("branch", &Mark::branch),
                      column("finding", &Mark::finding),
                      column("kind", &Mark::kind),
                      column("stage", &Mark::stage),
                      column("count", &Mark::count),
                      column("centre_x_px", &Mark::centre, &PointPx::x),
                      column("centre_y_px", &Mark::centre, &PointPx::y),
                      column("radius_px", &Mark::radiusPx),
                      column("patch", &Mark::patch),
                      column("note", &Mark::note)};
  }

  static Result<void> check(Garden::Connection&, const Mark& mark) {
    if (mark.photo.isEmpty()) {
      return fail(ErrorCode::InvalidArgument, "a mark needs a photo");
    }
    if (mark.count < 0) {
      return fail(ErrorCode::InvalidArgument, "a mark cannot stand for a negative number");
    }
    for (const double number : {mark.centre.x, mark.centre.y, mark.radiusPx}) {
      EDAMORI_RETURN_IF_ERROR(checkFinite(number, "a mark's place or radius"));
    }
    if (mark.radiusPx < 0.0) {
      return fail(ErrorCode::InvalidArgument, "a mark's radius cannot be negative");
    }
    return mark.kind == MarkKind::Patch ? checkPolygon(mark.patch, "a patch") : Result<void>{};
  }
};

template Result<int> sql::readEvery<Mark>(Garden::Connection& connection);

Result<void> Garden::put(const Mark& mark) { return sql::putRecord(connection(), mark); }
Result<void> Garden::remove(const MarkId& id) {
  return sql::moveToBin(connection(), sql::Table<Mark>::kName, id.text);
}
Result<void> Garden::restore(const MarkId& id) {
  return sql::takeFromBin(connection(), sql::Table<Mark>::kName, id.text);
}
Result<std::optional<Mark>> Garden::find(const MarkId& id) const {
  return sql::findRecord<Mark>(connection(), id);
}

Result<std::vector<Mark>> Garden::marks(const PhotoId& photo) const {
  return sql::selectRecords<Mark>(
      connection(), "WHERE r.removed_at IS NULL AND r.photo = ? ORDER BY r.id", photo.text);
}
Result<std::vector<Mark>> Garden::marksOfTree(const TreeId& tree) const {
  return sql::selectRecords<Mark>(connection(),
                                  "JOIN photo ON photo.id = r.photo "
                                  "WHERE r.removed_at IS NULL AND photo.tree = ? "
                                  "ORDER BY photo.taken_at, photo.id, r.id",
                                  tree.text);
}

}  // namespace edamori::store
