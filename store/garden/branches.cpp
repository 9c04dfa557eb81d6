// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

namespace edamori::store {

template <>
struct sql::Table<Branch> {
  static constexpr const char* kName = "branch";
  static auto columns() {
    return std::tuple{column("id", &Branch::id),
                      column("tree", &Branch::tree),
                      column("kind", &Branch::kind),
                      column("name", &Branch::name),
                      column("sort_order", &Branch::order)};
  }

  static Result<void> check(Garden::Connection& connection, const Branch& branch) {
    EDAMORI_RETURN_IF_ERROR(checkNotBlank(branch.name, "a branch's name"));
    if (branch.tree.isEmpty()) {
      return fail(ErrorCode::InvalidArgument, "a branch needs a tree");
    }
    if (isTaken(connection, kName, "name", branch.name, branch.id.text, branch.tree.text)) {
      return fail(
          ErrorCode::InvalidArgument,
          "another branch of this tree has the name \"" + branch.name + "\"; choose another one");
    }
    return {};
  }
};

template Result<int> sql::readEvery<Branch>(Garden::Connection& connection);

Result<void> Garden::put(const Branch& branch) { return sql::putRecord(connection(), branch); }
Result<void> Garden::remove(const BranchId& id) {
  return sql::moveToBin(connection(), sql::Table<Branch>::kName, id.text);
}
Result<void> Garden::restore(const BranchId& id) {
  return sql::takeFromBin(connection(), sql::Table<Branch>::kName, id.text);
}
Result<std::optional<Branch>> Garden::find(const BranchId& id) const {
  return sql::findRecord<Branch>(connection(), id);
}

Result<std::vector<Branch>> Garden::branches(const TreeId& tree) const {
  return sql::selectRecords<Branch>(connection(),
                                    "WHERE r.removed_at IS NULL AND r.tree = ? "
                                    "ORDER BY r.sort_order, r.name",
                                    tree.text);
}

}  // namespace edamori::store
