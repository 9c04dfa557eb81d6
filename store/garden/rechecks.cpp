// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

namespace edamori::store {

template <>
struct sql::Table<Recheck> {
  static constexpr const char* kName = "recheck";
  static auto columns() {
    return std::tuple{column("id", &Recheck::id),
                      column("tree", &Recheck::tree),
                      column("branch", &Recheck::branch),
                      column("due", &Recheck::due),
                      column("reason", &Recheck::reason),
                      column("done_at", &Recheck::doneAt)};
  }

  static Result<void> check(Garden::Connection&, const Recheck& recheck) {
    if (recheck.tree.isEmpty()) {
      return fail(ErrorCode::InvalidArgument, "a recheck needs a tree");
    }
    if (!recheck.due.ok()) {
      return fail(ErrorCode::InvalidArgument, "a recheck needs a date that exists");
    }
    return {};
  }
};

template Result<int> sql::readEvery<Recheck>(Garden::Connection& connection);

Result<void> Garden::put(const Recheck& recheck) { return sql::putRecord(connection(), recheck); }
Result<void> Garden::remove(const RecheckId& id) {
  return sql::moveToBin(connection(), sql::Table<Recheck>::kName, id.text);
}
Result<void> Garden::restore(const RecheckId& id) {
  return sql::takeFromBin(connection(), sql::Table<Recheck>::kName, id.text);
}
Result<std::optional<Recheck>> Garden::find(const RecheckId& id) const {
  return sql::findRecord<Recheck>(connection(), id);
}

Result<std::vector<Recheck>> Garden::rechecks(const TreeId& tree) const {
  return sql::selectRecords<Recheck>(
      connection(), "WHERE r.removed_at IS NULL AND r.tree = ? ORDER BY r.due, r.id", tree.text);
}
Result<std::vector<Recheck>> Garden::openRechecks() const {
  return sql::selectRecords<Recheck>(
      connection(), "WHERE r.removed_at IS NULL AND r.done_at IS NULL ORDER BY r.due, r.id");
}

}  // namespace edamori::store
