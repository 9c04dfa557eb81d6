// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

namespace edamori::store {

template <>
struct sql::Table<Tree> {
  static constexpr const char* kName = "tree";
  static auto columns() {
    return std::tuple{column("id", &Tree::id),
                      column("tag", &Tree::tag),
                      column("species", &Tree::species),
                      column("cultivar", &Tree::cultivar),
                      column("owner", &Tree::owner),
                      column("place", &Tree::place),
                      column("note", &Tree::note),
                      column("subject", &Tree::subject)};
  }

  static Result<void> check(Garden::Connection& connection, const Tree& tree) {
    EDAMORI_RETURN_IF_ERROR(checkNotBlank(tree.tag, "a tree's tag"));
    if (isTaken(connection, kName, "tag", tree.tag, tree.id.text)) {
      return fail(
          ErrorCode::InvalidArgument,
          "another tree in this garden has the tag \"" + tree.tag + "\"; choose another one");
    }
    return {};
  }
};

template Result<int> sql::readEvery<Tree>(Garden::Connection& connection);

Result<void> Garden::put(const Tree& tree) { return sql::putRecord(connection(), tree); }
Result<void> Garden::remove(const TreeId& id) {
  return sql::moveToBin(connection(), sql::Table<Tree>::kName, id.text);
}
Result<void> Garden::restore(const TreeId& id) {
  return sql::takeFromBin(connection(), sql::Table<Tree>::kName, id.text);
}
Result<std::optional<Tree>> Garden::find(const TreeId& id) const {
  return sql::findRecord<Tree>(connection(), id);
}

Result<std::optional<Tree>> Garden::findTreeByTag(const std::string& tag) const {
  return sql::selectOne<Tree>(connection(), "WHERE r.tag = ? AND r.removed_at IS NULL", tag);
}
Result<std::vector<Tree>> Garden::trees() const {
  return sql::selectRecords<Tree>(
      connection(), "WHERE r.removed_at IS NULL ORDER BY r.tag COLLATE NOCASE, r.tag");
}

Result<std::vector<Tree>> Garden::removedTrees() const {
  return sql::selectRecords<Tree>(
      connection(), "WHERE r.removed_at IS NOT NULL ORDER BY r.removed_at DESC, r.tag COLLATE NOCASE");
}

}  // namespace edamori::store
