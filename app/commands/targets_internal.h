// SPDX-License-Identifier: GPL-3.0-or-later
// Whether a command may write where it was told to.
#pragma once

#include "vision/values/result.h"

#include <string>
#include <vector>

namespace edamori::commands {

enum class TargetKind { Json, Png };

// A target may be new, or hold what the same option wrote before: a script may run again. Nothing
// else is written over, least of all a photo. "" and "-" are no files.
//
// Errors: InvalidArgument when `target` is one of the files that are read; Conflict when it holds
//         something else than JSON or a PNG picture.
Result<void> checkTarget(const std::string& target, TargetKind kind, const std::vector<std::string>& read);

}  // namespace edamori::commands
