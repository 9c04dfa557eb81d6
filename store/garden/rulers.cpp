// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

namespace edamori::store {

template <>
struct sql::Table<Ruler> {
  static constexpr const char* kName = "ruler";
  static auto columns() {
    return std::tuple{column("id", &Ruler::id),
                      column("photo", &Ruler::photo),
                      column("from_x_px", &Ruler::from, &PointPx::x),
                      column("from_y_px", &Ruler::from, &PointPx::y),
                      column("to_x_px", &Ruler::to, &PointPx::x),
                      column("to_y_px", &Ruler::to, &PointPx::y),
                      column("length_mm", &Ruler::lengthMm),
                      column("click_px", &Ruler::clickPx)};
  }

  static Result<void> check(Garden::Connection&, const Ruler& ruler) {
    if (ruler.photo.isEmpty()) {
      return fail(ErrorCode::InvalidArgument, "a ruler needs a photo");
    }
    for (const double number :
         {ruler.from.x, ruler.from.y, ruler.to.x, ruler.to.y, ruler.lengthMm, ruler.clickPx}) {
      EDAMORI_RETURN_IF_ERROR(checkFinite(number, "a ruler's end or length"));
    }
    if (ruler.from == ruler.to || ruler.lengthMm <= 0.0 || ruler.clickPx < 0.0) {
      return fail(ErrorCode::InvalidArgument,
                  "a ruler needs two points apart and a length above 0 mm");
    }
    return {};
  }
};

template Result<int> sql::readEvery<Ruler>(Garden::Connection& connection);

Result<void> Garden::put(const Ruler& ruler) { return sql::putRecord(connection(), ruler); }
Result<void> Garden::remove(const RulerId& id) {
  return sql::moveToBin(connection(), sql::Table<Ruler>::kName, id.text);
}
Result<void> Garden::restore(const RulerId& id) {
  return sql::takeFromBin(connection(), sql::Table<Ruler>::kName, id.text);
}
Result<std::optional<Ruler>> Garden::find(const RulerId& id) const {
  return sql::findRecord<Ruler>(connection(), id);
}
Result<std::vector<Ruler>> Garden::rulers(const PhotoId& photo) const {
  return sql::selectRecords<Ruler>(
      connection(), "WHERE r.removed_at IS NULL AND r.photo = ? ORDER BY r.id", photo.text);
}

}  // namespace edamori::store
