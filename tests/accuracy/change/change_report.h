// SPDX-License-Identifier: GPL-3.0-or-later
// The tables of what compare() says against what is true.
#pragma once

#include "judged_change.h"

#include <iosfwd>
#include <vector>

namespace edamori::accuracy {

// A row a kind of change, losses and spots; fractions in percentage points.
void printChanges(const std::vector<JudgedChange>& all, std::ostream& out);

// A row a branch; fractions 0…1, empty where there is none.
void writeChangesCsv(const std::vector<JudgedChange>& all, std::ostream& out);

}  // namespace edamori::accuracy
