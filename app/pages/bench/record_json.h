// SPDX-License-Identifier: GPL-3.0-or-later
// Steps of work as JSON text, as they lie in the garden between two runs of the program.
#pragma once

#include "app/pages/bench/record_edit.h"

namespace edamori::pages {

// What a step changed, and the measurements it set aside.
struct KeptStep {
  RecordChanges changes;
  std::vector<store::MeasurementId> outdatedByRedo, outdatedByUndo;
};

// Numbers come back bit for bit.
[[nodiscard]] std::string toJson(const KeptStep& step);
// `what` is not in the text. Errors: Storage for text that toJson() did not write.
Result<KeptStep> stepFromJson(const std::string& text);

}  // namespace edamori::pages
