// SPDX-License-Identifier: GPL-3.0-or-later
// Taking photos into a garden.
#pragma once

#include "app/work/carry_outlines.h"
#include "store/garden/garden.h"
#include "vision/values/result.h"

#include <filesystem>
#include <functional>
#include <string>
#include <vector>

namespace edamori::work {

struct ImportRequest {
  std::vector<std::filesystem::path> paths;  // files and folders; folders are walked
  store::TreeId tree;                        // empty: left unfiled
};

struct ImportedPhoto {
  std::filesystem::path file;
  store::Photo photo;
  bool isMended = false;  // known already, but its stored original was missing or damaged; now whole
};

struct RefusedFile {
  std::filesystem::path file;
  std::string reason;
  ErrorCode code = ErrorCode::Unreadable;
};

// What became of every file: each is in exactly one of the first three lists.
struct ImportReport {
  std::vector<ImportedPhoto> takenIn;
  std::vector<ImportedPhoto> alreadyThere;  // the same bytes were stored before
  std::vector<RefusedFile> refused;
  bool cancelled = false;                   // what was taken in before stays, without carried outlines
  CarriedTally carried;                     // from earlier photos of the same tree to those taken in
};

struct ImportProgress {
  int done = 0;   // files finished, and then new photos looked through for outlines
  int total = 0;  // files found, and then new photos as well
  std::filesystem::path current;
};

// Called before each step; returning false cancels.
using ImportListener = std::function<bool(const ImportProgress&)>;

// Copies each photo into the garden (bytes verified), reads its metadata, checks that it
// decodes, makes its previews and files it under the tree. A photo that is already there
// without a tree is filed under request.tree now. Goes on after a bad file.
//
// Errors: InvalidArgument when no path is given; Io when the disk is full (the report's lists up to
//         then are lost to the caller, but every photo already recorded stays; nothing half stored);
//         Conflict.
Result<ImportReport> importPhotos(store::Garden& garden,
                                  const ImportRequest& request,
                                  const ImportListener& listener = {});

// "12 taken in, 3 already there, 1 refused" and a line for each refusal.
[[nodiscard]] std::string toText(const ImportReport& report);

}  // namespace edamori::work
