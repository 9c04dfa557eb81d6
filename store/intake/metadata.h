// SPDX-License-Identifier: GPL-3.0-or-later
// What a photo file says of itself: date, orientation, camera.
#pragma once

#include "store/records/records.h"
#include "store/records/time.h"
#include "vision/values/result.h"

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace edamori::store {

struct PhotoMetadata {
  LocalTime takenAt;                                 // never unknown: the file time is the last resort
  DateSource dateSource = DateSource::FileTime;      // Camera or FileTime
  int exifOrientation = 1;                           // 1…8; missing or out of range counts as 1
  std::string cameraMake, cameraModel, lens;
  std::optional<double> focalLengthMm;
  bool hasPosition = false;
  std::vector<std::string> keywords;                 // for later use; may be empty
};

// Reads Exif 2.32 (CIPA DC-008-2019) through exiv2, HEIC included.
//
// Order of dates: DateTimeOriginal with OffsetTimeOriginal and SubSecTimeOriginal,
// then DateTimeDigitized with its own, then DateTime with its own; zeros and blanks count as
// absent; without any, the file's modification time with dateSource FileTime.
// A missing offset stays missing.
// Errors: NotFound, Unreadable. Damaged metadata is no error: what can be read is returned.
Result<PhotoMetadata> readMetadata(const std::filesystem::path& file);

// The embedded Exif thumbnail's JPEG bytes, if any; not turned.
Result<std::optional<std::vector<std::byte>>> readThumbnail(const std::filesystem::path& file);

}  // namespace edamori::store
