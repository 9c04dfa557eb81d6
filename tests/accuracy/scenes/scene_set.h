// SPDX-License-Identifier: GPL-3.0-or-later
// Which pictures may be used for what: nothing of one set is ever drawn in another.
#pragma once

#include "generator/rng.h"

#include <cstdint>

namespace edamori::scenes {

enum class SceneSet {
  Tuning,       // trains the classifier
  Calibration,  // fits the intervals
  HeldOut,      // measures; looked at only to report
};

// Seed of one picture of a set. Sets are told apart by the top bits, so that no seed is shared.
constexpr std::uint64_t seedOf(SceneSet set, std::uint64_t index) {
  return hashed(((static_cast<std::uint64_t>(set) + 1U) << 56U) | index);
}

}  // namespace edamori::scenes
