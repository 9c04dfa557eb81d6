// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

namespace edamori::store {

template <>
struct sql::Table<Owner> {
  static constexpr const char* kName = "owner";
  static auto columns() {
    return std::tuple{column("id", &Owner::id),
                      column("name", &Owner::name),
                      column("contact", &Owner::contact),
                      column("note", &Owner::note)};
  }

  static Result<void> check(Garden::Connection&, const Owner& owner) {
    return checkNotBlank(owner.name, "an owner's name");
  }
};

template Result<int> sql::readEvery<Owner>(Garden::Connection& connection);

Result<void> Garden::put(const Owner& owner) { return sql::putRecord(connection(), owner); }
Result<void> Garden::remove(const OwnerId& id) {
  return sql::moveToBin(connection(), sql::Table<Owner>::kName, id.text);
}
Result<void> Garden::restore(const OwnerId& id) {
  return sql::takeFromBin(connection(), sql::Table<Owner>::kName, id.text);
}
Result<std::optional<Owner>> Garden::find(const OwnerId& id) const {
  return sql::findRecord<Owner>(connection(), id);
}

Result<std::vector<Owner>> Garden::owners() const {
  return sql::selectRecords<Owner>(
      connection(), "WHERE r.removed_at IS NULL ORDER BY r.name COLLATE NOCASE, r.name, r.id");
}

}  // namespace edamori::store
