// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

namespace edamori::store {

template <>
struct sql::Table<Treatment> {
  static constexpr const char* kName = "treatment";
  static auto columns() {
    return std::tuple{column("id", &Treatment::id),
                      column("tree", &Treatment::tree),
                      column("branch", &Treatment::branch),
                      column("kind", &Treatment::kind),
                      column("done_at", &Treatment::doneAt),
                      column("product", &Treatment::product),
                      column("registration_number", &Treatment::registrationNumber),
                      column("amount", &Treatment::amount),
                      column("dose", &Treatment::dose),
                      column("area_treated", &Treatment::areaTreated),
                      column("place", &Treatment::place),
                      column("who", &Treatment::who),
                      column("certificate_number", &Treatment::certificateNumber),
                      column("reentry_hours", &Treatment::reentryHours),
                      column("note", &Treatment::note)};
  }

  static Result<void> check(Garden::Connection&, const Treatment& treatment) {
    if (treatment.tree.isEmpty()) {
      return fail(ErrorCode::InvalidArgument, "a treatment needs a tree");
    }
    const double hours = treatment.reentryHours.value_or(0.0);
    EDAMORI_RETURN_IF_ERROR(checkFinite(hours, "a re-entry time"));
    if (hours < 0.0) {
      return fail(ErrorCode::InvalidArgument, "a re-entry time cannot be negative");
    }
    return {};
  }
};

template Result<int> sql::readEvery<Treatment>(Garden::Connection& connection);

Result<void> Garden::put(const Treatment& treatment) {
  return sql::putRecord(connection(), treatment);
}
Result<void> Garden::remove(const TreatmentId& id) {
  return sql::moveToBin(connection(), sql::Table<Treatment>::kName, id.text);
}
Result<void> Garden::restore(const TreatmentId& id) {
  return sql::takeFromBin(connection(), sql::Table<Treatment>::kName, id.text);
}
Result<std::optional<Treatment>> Garden::find(const TreatmentId& id) const {
  return sql::findRecord<Treatment>(connection(), id);
}

Result<std::vector<Treatment>> Garden::treatments(const TreeId& tree) const {
  return sql::selectRecords<Treatment>(
      connection(),
      "WHERE r.removed_at IS NULL AND r.tree = ? ORDER BY r.done_at, r.id",
      tree.text);
}

}  // namespace edamori::store
