// SPDX-License-Identifier: GPL-3.0-or-later
// The tree that --garden and --tree name.
#pragma once

#include "store/garden/garden.h"
#include "vision/values/result.h"

#include <string>

namespace edamori::commands {

// Errors: InvalidArgument when no tree has the tag; those of reading.
Result<store::Tree> treeWithTag(const store::Garden& garden, const std::string& tag);

}  // namespace edamori::commands
