// SPDX-License-Identifier: GPL-3.0-or-later
// Outcomes as tables to read and as rows to compute with.
#pragma once

#include "vision/values/figure.h"

#include <iosfwd>
#include <span>
#include <string>
#include <vector>

#include "outcome.h"

namespace edamori::accuracy {

enum class FigureKind { Cover, Spot };

// A measured figure and what is true, both in per cent.
struct Pair {
  double truth = 0.0;
  Estimate measured;
};

// The pairs that have both members.
[[nodiscard]] std::vector<Pair> pairsOf(std::span<const Outcome> outcomes, FigureKind figure);

// Measured less true, percentage points.
[[nodiscard]] std::vector<double> errorsOf(std::span<const Pair> pairs);

// Tables of a set in Markdown.
void writeTables(std::ostream& out, const SetOutcome& set);

// A row a measured outline, RFC 4180 but for line ends, fractions from 0 to 1; a field is
// empty where the truth or the measuring says nothing.
void writeCsvHeader(std::ostream& out);
void writeCsvRows(std::ostream& out, const SetOutcome& set);

}  // namespace edamori::accuracy
