// SPDX-License-Identifier: GPL-3.0-or-later
// Photos filed under a tree, and its outlines carried over to them.
#pragma once

#include "app/pages/page_services.h"
#include "app/work/carry_outlines.h"

#include <QString>
#include <vector>

namespace edamori::pages {

// "3 outlines carried over, to be confirmed on the Bench; …"; empty when nothing was looked for.
[[nodiscard]] QString carriedWords(const work::CarriedTally& tally);

// Writes photos that go to another tree, offers to take it back, and carries the outlines of their
// new tree over to them away from the window's thread; then says `said` again with what came of it.
// `before` and `after` are the same photos in the same order; `context` is the page that asked.
void filePhotos(const PageServices& services,
                QObject* context,
                const std::vector<store::Photo>& before,
                const std::vector<store::Photo>& after,
                const QString& said);

}  // namespace edamori::pages
