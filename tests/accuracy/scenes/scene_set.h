// SPDX-License-Identifier: GPL-3.0-or-later
// Which pictures may be used for what: nothing of one set is ever drawn in another.
#pragma once

#include "generator/rng.h"

#include <cstdint>
#include <stdexcept>
#include <string>

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

// "tuning", "calibration" or "held-out"; throws std::invalid_argument otherwise.
inline SceneSet sceneSetNamed(const std::string& name) {
  if (name == "tuning") {
    return SceneSet::Tuning;
  }
  if (name == "calibration") {
    return SceneSet::Calibration;
  }
  if (name == "held-out") {
    return SceneSet::HeldOut;
  }
  throw std::invalid_argument(name + " is no set of scenes; choose tuning, calibration or held-out");
}

// Name of a picture, five digits: 00042.
inline std::string numbered(std::uint64_t index) {
  const std::string digits = std::to_string(index);
  return std::string(digits.size() < 5 ? 5 - digits.size() : 0, '0') + digits;
}

}  // namespace edamori::scenes
