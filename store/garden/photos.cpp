// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

namespace edamori::store {

template <>
struct sql::Table<Photo> {
  static constexpr const char* kName = "photo";
  static auto columns() {
    return std::tuple{column("id", &Photo::id),
                      column("tree", &Photo::tree),
                      column("sha256", &Photo::sha256),
                      column("size_bytes", &Photo::sizeBytes),
                      column("original_name", &Photo::originalName),
                      column("format", &Photo::format),
                      column("width_px", &Photo::widthPx),
                      column("height_px", &Photo::heightPx),
                      column("exif_orientation", &Photo::exifOrientation),
                      column("taken_at", &Photo::takenAt),
                      column("date_source", &Photo::dateSource),
                      column("camera_make", &Photo::cameraMake),
                      column("camera_model", &Photo::cameraModel),
                      column("lens", &Photo::lens),
                      column("focal_length_mm", &Photo::focalLengthMm),
                      column("has_position", &Photo::hasPosition),
                      column("view", &Photo::view),
                      column("note", &Photo::note)};
  }

  static Result<void> check(Garden::Connection& connection, const Photo& photo) {
    constexpr auto hexDigits = "0123456789abcdef";
    if (photo.sha256.size() != 64 ||
        photo.sha256.find_first_not_of(hexDigits) != std::string::npos) {
      return fail(
          ErrorCode::InvalidArgument,
          "a photo's SHA-256 must be 64 lower-case hex digits, not \"" + photo.sha256 + "\"");
    }
    if (photo.sizeBytes < 0 || photo.widthPx < 0 || photo.heightPx < 0) {
      return fail(ErrorCode::InvalidArgument, "a photo's size cannot be negative");
    }
    if (photo.exifOrientation < 1 || photo.exifOrientation > 8) {
      return fail(ErrorCode::InvalidArgument, "a photo's Exif orientation goes from 1 to 8");
    }
    if (isTaken(connection, kName, "sha256", photo.sha256, photo.id.text)) {
      return fail(ErrorCode::InvalidArgument,
                  "the photo " + photo.originalName + " is in this garden already");
    }
    return {};
  }
};

template Result<int> sql::readEvery<Photo>(Garden::Connection& connection);

Result<void> Garden::put(const Photo& photo) { return sql::putRecord(connection(), photo); }
Result<void> Garden::remove(const PhotoId& id) {
  return sql::moveToBin(connection(), sql::Table<Photo>::kName, id.text);
}
Result<void> Garden::restore(const PhotoId& id) {
  return sql::takeFromBin(connection(), sql::Table<Photo>::kName, id.text);
}
Result<std::optional<Photo>> Garden::find(const PhotoId& id) const {
  return sql::findRecord<Photo>(connection(), id);
}

Result<std::optional<Photo>> Garden::findPhotoByHash(const std::string& sha256) const {
  return sql::selectOne<Photo>(connection(), "WHERE r.sha256 = ? AND r.removed_at IS NULL", sha256);
}
Result<std::vector<Photo>> Garden::photos(const TreeId& tree) const {
  return sql::selectRecords<Photo>(
      connection(),
      "WHERE r.removed_at IS NULL AND r.tree = ? ORDER BY r.taken_at, r.id",
      tree.text);
}
Result<std::vector<Photo>> Garden::unfiledPhotos() const {
  return sql::selectRecords<Photo>(
      connection(), "WHERE r.removed_at IS NULL AND r.tree IS NULL ORDER BY r.taken_at, r.id");
}
Result<std::vector<Photo>> Garden::allPhotos() const {
  return sql::selectRecords<Photo>(connection(),
                                   "WHERE r.removed_at IS NULL ORDER BY r.taken_at, r.id");
}

}  // namespace edamori::store
