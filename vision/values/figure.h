// SPDX-License-Identifier: GPL-3.0-or-later
// Figures: estimated values with their intervals, and how they were made.
#pragma once

#include <string>
#include <vector>

namespace edamori {

// What kind of foliage the branch carries; needles are finer than leaves, so
// that texture is read at another size.
enum class Subject { Leaf, Needles };

// An estimate with its 95 % interval; low ≤ value ≤ high. Unit and range are
// those of the figure (fractions: 1, from 0 to 1; losses and differences may be negative).
struct Estimate {
  double value = 0.0;
  double low = 0.0;
  double high = 0.0;
  friend bool operator==(const Estimate&, const Estimate&) = default;
};

// A reason why a figure needs care. `code` is stable, `text` is for a person.
struct Caution {
  std::string code;  // "blur", "clipped", "small-outline", "colour-cast", "inseparable", …
  std::string text;  // one sentence in plain words
  friend bool operator==(const Caution&, const Caution&) = default;
};

// How a figure was made, kept with it so that it can be made again.
struct Method {
  std::string name;        // e.g. "foliage-and-spots"
  int version = 1;         // raised whenever the same photo could give another figure
  std::string parameters;  // JSON object with all that the result depends on
  friend bool operator==(const Method&, const Method&) = default;
};

// Words for a change, decided by its interval alone. Stored by text; never reword.
enum class Verdict { ClearLoss, ClearGain, NoClearChange, CannotTell };

// "clear loss", "clear gain", "no clear change", "cannot tell".
[[nodiscard]] std::string toText(Verdict verdict);

}  // namespace edamori
