// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

namespace edamori::store {

template <>
struct sql::Table<PhotoPair> {
  static constexpr const char* kName = "photo_pair";
  static auto columns() {
    return std::tuple{column("id", &PhotoPair::id),
                      column("tree", &PhotoPair::tree),
                      column("branch", &PhotoPair::branch),
                      column("before_photo", &PhotoPair::before),
                      column("after_photo", &PhotoPair::after),
                      column("title", &PhotoPair::title)};
  }

  static Result<void> check(Garden::Connection&, const PhotoPair& pair) {
    if (pair.tree.isEmpty() || pair.before.isEmpty() || pair.after.isEmpty()) {
      return fail(ErrorCode::InvalidArgument, "a pair needs a tree and two photos");
    }
    if (pair.before == pair.after) {
      return fail(ErrorCode::InvalidArgument, "a pair needs two different photos");
    }
    return {};
  }
};

template Result<int> sql::readEvery<PhotoPair>(Garden::Connection& connection);

Result<void> Garden::put(const PhotoPair& pair) { return sql::putRecord(connection(), pair); }
Result<void> Garden::remove(const PairId& id) {
  return sql::moveToBin(connection(), sql::Table<PhotoPair>::kName, id.text);
}
Result<void> Garden::restore(const PairId& id) {
  return sql::takeFromBin(connection(), sql::Table<PhotoPair>::kName, id.text);
}
Result<std::optional<PhotoPair>> Garden::find(const PairId& id) const {
  return sql::findRecord<PhotoPair>(connection(), id);
}

Result<std::vector<PhotoPair>> Garden::pairs(const TreeId& tree) const {
  return sql::selectRecords<PhotoPair>(connection(),
                                       "JOIN photo AS after ON after.id = r.after_photo "
                                       "WHERE r.removed_at IS NULL AND r.tree = ? "
                                       "ORDER BY after.taken_at, after.id, r.id",
                                       tree.text);
}

}  // namespace edamori::store
