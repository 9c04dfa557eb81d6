// SPDX-License-Identifier: GPL-3.0-or-later
// The letter: one tree's condition report for its owner, as PDF or HTML.
#pragma once

#include "app/work/overview.h"
#include "store/garden/garden.h"
#include "vision/values/result.h"

#include <QString>

#include <chrono>
#include <filesystem>
#include <optional>

namespace edamori::letter {

struct LetterRequest {
  store::TreeId tree;
  // Photos, their figures, treatments and notes within, both included; open rechecks are always
  // listed. A change or pair counts by its after photo: its baseline may be earlier. What has no
  // known date is in no stated period.
  std::optional<std::chrono::year_month_day> from, to;
  std::chrono::year_month_day today{};                  // printed as the letter's date
};

// Composes the letter as one self-contained HTML page (pictures embedded).
// Errors: NotFound when the tree is gone; InvalidArgument when from is after to.
Result<QString> composeHtml(const store::Garden& garden, const LetterRequest& request);

// Writes .pdf (A4, page numbers, repeated table heads) or .html by the name's ending; whole or not at all.
// Needs a QGuiApplication. Errors: InvalidArgument (another ending), Io.
Result<void> writeLetter(const store::Garden& garden,
                         const LetterRequest& request,
                         const std::filesystem::path& file);

}  // namespace edamori::letter
