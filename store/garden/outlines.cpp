// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

namespace edamori::store {

template <>
struct sql::Table<OutlineRecord> {
  static constexpr const char* kName = "outline";
  static auto columns() {
    return std::tuple{column("id", &OutlineRecord::id),
                      column("photo", &OutlineRecord::photo),
                      column("branch", &OutlineRecord::branch),
                      column("polygon", &OutlineRecord::shape, &Outline::polygon),
                      column("holes", &OutlineRecord::shape, &Outline::holes),
                      column("carried_from", &OutlineRecord::carriedFrom),
                      column("residual_px", &OutlineRecord::residualPx),
                      column("confirmed", &OutlineRecord::confirmed)};
  }

  static Result<void> check(Garden::Connection&, const OutlineRecord& outline) {
    if (outline.photo.isEmpty() || outline.branch.isEmpty()) {
      return fail(ErrorCode::InvalidArgument, "an outline needs a photo and a branch");
    }
    EDAMORI_RETURN_IF_ERROR(checkPolygon(outline.shape.polygon, "an outline"));
    for (const Polygon& hole : outline.shape.holes) {
      EDAMORI_RETURN_IF_ERROR(checkPolygon(hole, "a hole of an outline"));
    }
    return checkFinite(outline.residualPx.value_or(0.0), "an outline's residual");
  }
};

template Result<int> sql::readEvery<OutlineRecord>(Garden::Connection& connection);

Result<void> Garden::put(const OutlineRecord& outline) {
  return sql::putRecord(connection(), outline);
}
Result<void> Garden::remove(const OutlineId& id) {
  return sql::moveToBin(connection(), sql::Table<OutlineRecord>::kName, id.text);
}
Result<void> Garden::restore(const OutlineId& id) {
  return sql::takeFromBin(connection(), sql::Table<OutlineRecord>::kName, id.text);
}
Result<std::optional<OutlineRecord>> Garden::find(const OutlineId& id) const {
  return sql::findRecord<OutlineRecord>(connection(), id);
}

Result<std::vector<OutlineRecord>> Garden::outlines(const PhotoId& photo) const {
  return sql::selectRecords<OutlineRecord>(connection(),
                                           "JOIN branch ON branch.id = r.branch "
                                           "WHERE r.removed_at IS NULL AND r.photo = ? "
                                           "ORDER BY branch.sort_order, branch.name, r.id",
                                           photo.text);
}
Result<std::vector<OutlineRecord>> Garden::outlines(const BranchId& branch) const {
  return sql::selectRecords<OutlineRecord>(connection(),
                                           "JOIN photo ON photo.id = r.photo "
                                           "WHERE r.removed_at IS NULL AND r.branch = ? "
                                           "ORDER BY photo.taken_at, photo.id, r.id",
                                           branch.text);
}

}  // namespace edamori::store
