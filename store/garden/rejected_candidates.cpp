// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

namespace edamori::store {

template <>
struct sql::Table<RejectedCandidate> {
  static constexpr const char* kName = "rejected_candidate";
  static auto columns() {
    return std::tuple{column("id", &RejectedCandidate::id),
                      column("photo", &RejectedCandidate::photo),
                      column("finding", &RejectedCandidate::finding),
                      column("centre_x_px", &RejectedCandidate::centre, &PointPx::x),
                      column("centre_y_px", &RejectedCandidate::centre, &PointPx::y),
                      column("radius_px", &RejectedCandidate::radiusPx)};
  }

  static Result<void> check(Garden::Connection&, const RejectedCandidate& candidate) {
    if (candidate.photo.isEmpty()) {
      return fail(ErrorCode::InvalidArgument, "a rejected candidate needs a photo");
    }
    for (const double number : {candidate.centre.x, candidate.centre.y, candidate.radiusPx}) {
      EDAMORI_RETURN_IF_ERROR(checkFinite(number, "a rejected candidate's place or radius"));
    }
    if (candidate.radiusPx <= 0.0) {
      return fail(ErrorCode::InvalidArgument, "a rejected candidate needs a radius above 0 px");
    }
    return {};
  }
};

template Result<int> sql::readEvery<RejectedCandidate>(Garden::Connection& connection);

Result<void> Garden::put(const RejectedCandidate& candidate) {
  return sql::putRecord(connection(), candidate);
}
Result<void> Garden::remove(const RejectedCandidateId& id) {
  return sql::moveToBin(connection(), sql::Table<RejectedCandidate>::kName, id.text);
}
Result<void> Garden::restore(const RejectedCandidateId& id) {
  return sql::takeFromBin(connection(), sql::Table<RejectedCandidate>::kName, id.text);
}
Result<std::optional<RejectedCandidate>> Garden::find(const RejectedCandidateId& id) const {
  return sql::findRecord<RejectedCandidate>(connection(), id);
}
Result<std::vector<RejectedCandidate>> Garden::rejectedCandidates(const PhotoId& photo) const {
  return sql::selectRecords<RejectedCandidate>(
      connection(), "WHERE r.removed_at IS NULL AND r.photo = ? ORDER BY r.id", photo.text);
}

}  // namespace edamori::store
