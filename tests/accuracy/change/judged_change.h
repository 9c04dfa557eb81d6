// SPDX-License-Identifier: GPL-3.0-or-later
// What compare() says of a branch, and what is true.
#pragma once

#include "vision/align/cover_shift.h"
#include "vision/values/figure.h"
#include "vision/values/result.h"

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace edamori::accuracy {

enum class Way {
  Alone,       // the program laid the photos on each other
  ByOutlines,  // it did not, and took the outline drawn on each of them
  ByPlaces,    // that failed too, and four places were named, each a click of 2 px off
  NotAtAll
};

struct JudgedChange {
  std::string photo, branch, happened, subject;
  Way way = Way::NotAtAll;
  double trueLoss = 0.0, trueCoverBefore = 0.0;
  std::optional<double> trueSpotChange;
  Estimate coverBefore, coverAfter;  // as measured
  std::optional<Estimate> spottedBefore, spottedAfter;
  vision::CoverShift byShift;  // what moving the outline by errorPx does to both shares after
  std::optional<Estimate> loss, spotChange;
  Verdict verdict = Verdict::CannotTell;
};

// Judges every branch of NNNNN.json and its two photos (edamori_scene_set, changes).
//
// Errors: NotFound, Corrupt or those of loadPhoto().
Result<std::vector<JudgedChange>> judgedChanges(const std::filesystem::path& json);

}  // namespace edamori::accuracy
