// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

namespace edamori::store {

template <>
struct sql::Table<PairHelp> {
  static constexpr const char* kName = "pair_help";
  static auto columns() {
    return std::tuple{column("id", &PairHelp::id),
                      column("branch", &PairHelp::branch),
                      column("before_photo", &PairHelp::before),
                      column("after_photo", &PairHelp::after),
                      column("points_before", &PairHelp::pointsBefore),
                      column("points_after", &PairHelp::pointsAfter),
                      column("outline_after", &PairHelp::outlineAfter),
                      column("holes_after", &PairHelp::holesAfter)};
  }

  static Result<void> check(Garden::Connection&, const PairHelp& help) {
    if (help.branch.isEmpty() || help.before.isEmpty() || help.after.isEmpty() ||
        help.before == help.after) {
      return fail(ErrorCode::InvalidArgument,
                  "help with a pair needs a branch and two different photos");
    }
    const std::size_t points = help.pointsBefore.size();
    if (points != help.pointsAfter.size() || points == 1 || points > 4) {
      return fail(ErrorCode::InvalidArgument,
                  "give 2 to 4 places that are the same on both photos");
    }
    for (const Polygon* each : {&help.pointsBefore, &help.pointsAfter}) {
      for (const PointPx& point : *each) {
        EDAMORI_RETURN_IF_ERROR(checkFinite(point.x, "a place on a photo"));
        EDAMORI_RETURN_IF_ERROR(checkFinite(point.y, "a place on a photo"));
      }
    }
    if (!help.outlineAfter.empty()) {
      EDAMORI_RETURN_IF_ERROR(checkPolygon(help.outlineAfter, "an outline"));
    }
    for (const Polygon& hole : help.holesAfter) {
      EDAMORI_RETURN_IF_ERROR(checkPolygon(hole, "a part left out of an outline"));
    }
    return {};
  }
};

template Result<int> sql::readEvery<PairHelp>(Garden::Connection& connection);

Result<void> Garden::put(const PairHelp& help) { return sql::putRecord(connection(), help); }
Result<void> Garden::remove(const PairHelpId& id) {
  return sql::moveToBin(connection(), sql::Table<PairHelp>::kName, id.text);
}
Result<void> Garden::restore(const PairHelpId& id) {
  return sql::takeFromBin(connection(), sql::Table<PairHelp>::kName, id.text);
}
Result<std::optional<PairHelp>> Garden::find(const PairHelpId& id) const {
  return sql::findRecord<PairHelp>(connection(), id);
}
Result<std::optional<PairHelp>> Garden::pairHelp(const BranchId& branch,
                                                 const PhotoId& before,
                                                 const PhotoId& after) const {
  return sql::selectOne<PairHelp>(connection(),
                                  "WHERE r.removed_at IS NULL AND r.branch = ? AND "
                                  "r.before_photo = ? AND r.after_photo = ? ORDER BY r.id DESC",
                                  branch.text,
                                  before.text,
                                  after.text);
}

}  // namespace edamori::store
