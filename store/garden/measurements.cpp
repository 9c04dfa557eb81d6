// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/files_internal.h"
#include "store/garden/table_internal.h"

namespace edamori::store {

template <>
struct sql::Table<Measurement> {
  static constexpr const char* kName = "measurement";
  static auto columns() {
    return std::tuple{column("id", &Measurement::id),
                      column("photo", &Measurement::photo),
                      column("branch", &Measurement::branch),
                      column("outline", &Measurement::outline),
                      column("baseline_photo", &Measurement::baselinePhoto),
                      column("figure", &Measurement::figure),
                      column("value", &Measurement::estimate, &Estimate::value),
                      column("low", &Measurement::estimate, &Estimate::low),
                      column("high", &Measurement::estimate, &Estimate::high),
                      column("unit", &Measurement::unit),
                      column("verdict", &Measurement::verdict),
                      column("method_name", &Measurement::method, &Method::name),
                      column("method_version", &Measurement::method, &Method::version),
                      column("method_parameters", &Measurement::method, &Method::parameters),
                      column("cautions", &Measurement::cautions),
                      column("label_mask", &Measurement::labelMask),
                      column("hint_mask", &Measurement::hintMask),
                      column("made_at", &Measurement::madeAt)};
  }

  static Result<void> check(Garden::Connection&, const Measurement& measurement) {
    if (measurement.photo.isEmpty()) {
      return fail(ErrorCode::InvalidArgument, "a measurement needs a photo");
    }
    EDAMORI_RETURN_IF_ERROR(checkNotBlank(measurement.figure, "a measurement's figure"));
    const Estimate& estimate = measurement.estimate;
    for (const double number : {estimate.value, estimate.low, estimate.high}) {
      EDAMORI_RETURN_IF_ERROR(checkFinite(number, "a measurement's value"));
    }
    if (estimate.low > estimate.value || estimate.value > estimate.high) {
      return fail(ErrorCode::InvalidArgument, "a measurement's value must lie within its interval");
    }
    for (const std::string& mask : {measurement.labelMask, measurement.hintMask}) {
      if (!mask.empty() && !isPathBelow(mask)) {
        return fail(ErrorCode::InvalidArgument,
                    "a label mask must lie in the garden folder, not at " + mask);
      }
    }
    return {};
  }
};

template Result<int> sql::readEvery<Measurement>(Garden::Connection& connection);

Result<void> Garden::put(const Measurement& measurement) {
  return sql::putRecord(connection(), measurement);
}
Result<void> Garden::remove(const MeasurementId& id) {
  return sql::moveToBin(connection(), sql::Table<Measurement>::kName, id.text);
}
Result<void> Garden::restore(const MeasurementId& id) {
  return sql::takeFromBin(connection(), sql::Table<Measurement>::kName, id.text);
}
Result<std::optional<Measurement>> Garden::find(const MeasurementId& id) const {
  return sql::findRecord<Measurement>(connection(), id);
}

Result<std::vector<Measurement>> Garden::measurements(const PhotoId& photo) const {
  return sql::selectRecords<Measurement>(
      connection(),
      "WHERE r.removed_at IS NULL AND r.photo = ? ORDER BY r.made_at, r.id",
      photo.text);
}
Result<std::vector<Measurement>> Garden::measurementsOfTree(const TreeId& tree) const {
  return sql::selectRecords<Measurement>(connection(),
                                         "JOIN photo ON photo.id = r.photo "
                                         "WHERE r.removed_at IS NULL AND photo.tree = ? "
                                         "ORDER BY photo.taken_at, photo.id, r.made_at, r.id",
                                         tree.text);
}

}  // namespace edamori::store
