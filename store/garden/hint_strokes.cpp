// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

namespace edamori::store {

template <>
struct sql::Table<HintStroke> {
  static constexpr const char* kName = "hint_stroke";
  static auto columns() {
    return std::tuple{column("id", &HintStroke::id),
                      column("photo", &HintStroke::photo),
                      column("kind", &HintStroke::kind),
                      column("radius_px", &HintStroke::radiusPx),
                      column("points", &HintStroke::points)};
  }

  static Result<void> check(Garden::Connection&, const HintStroke& stroke) {
    if (stroke.photo.isEmpty()) {
      return fail(ErrorCode::InvalidArgument, "a hint needs a photo");
    }
    EDAMORI_RETURN_IF_ERROR(checkFinite(stroke.radiusPx, "a hint's width"));
    if (stroke.radiusPx <= 0.0 || stroke.points.empty()) {
      return fail(ErrorCode::InvalidArgument, "a hint needs a width and at least one point");
    }
    for (const PointPx& point : stroke.points) {
      EDAMORI_RETURN_IF_ERROR(checkFinite(point.x, "a hint's point"));
      EDAMORI_RETURN_IF_ERROR(checkFinite(point.y, "a hint's point"));
    }
    return {};
  }
};

template Result<int> sql::readEvery<HintStroke>(Garden::Connection& connection);

Result<void> Garden::put(const HintStroke& stroke) { return sql::putRecord(connection(), stroke); }
Result<void> Garden::remove(const HintStrokeId& id) {
  return sql::moveToBin(connection(), sql::Table<HintStroke>::kName, id.text);
}
Result<void> Garden::restore(const HintStrokeId& id) {
  return sql::takeFromBin(connection(), sql::Table<HintStroke>::kName, id.text);
}
Result<std::optional<HintStroke>> Garden::find(const HintStrokeId& id) const {
  return sql::findRecord<HintStroke>(connection(), id);
}
Result<std::vector<HintStroke>> Garden::hintStrokes(const PhotoId& photo) const {
  return sql::selectRecords<HintStroke>(
      connection(), "WHERE r.removed_at IS NULL AND r.photo = ? ORDER BY r.id", photo.text);
}

}  // namespace edamori::store
