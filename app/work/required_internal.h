// SPDX-License-Identifier: GPL-3.0-or-later
// Records that have to be there.
#pragma once

#include "store/garden/garden.h"

#include <string>
#include <type_traits>
#include <utility>

namespace edamori::work {

// The record, or NotFound with "the <what> is no longer in the garden".
template <typename Id>
auto require(const store::Garden& garden, const Id& id, const std::string& what) {
  auto found = garden.find(id);
  using Record = std::remove_cvref_t<decltype(**found)>;
  if (!found) {
    return Result<Record>(found.error());
  }
  if (!found->has_value()) {
    return Result<Record>(fail(ErrorCode::NotFound,
                               "the " + what + " is no longer in the garden; choose another one"));
  }
  return Result<Record>(std::move(**found));
}

}  // namespace edamori::work
