// SPDX-License-Identifier: GPL-3.0-or-later
// The sections of a letter, each as blocks; empty where there is nothing to say.
#pragma once

#include "app/letter/compose_internal.h"
#include "app/letter/matter_internal.h"

namespace edamori::letter {

using Blocks = std::vector<Block>;

// In plain words, built from the figures and verdicts; every figure with its interval.
[[nodiscard]] Blocks summarySection(const Matter& matter);

[[nodiscard]] Blocks pictureSection(const Matter& matter, const PictureSource& pictures);
[[nodiscard]] Blocks figureSection(const Matter& matter);
[[nodiscard]] Blocks pestSection(const Matter& matter);
[[nodiscard]] Blocks chartSection(const Matter& matter);
[[nodiscard]] Blocks treatmentSection(const Matter& matter);
[[nodiscard]] Blocks recheckSection(const Matter& matter);
[[nodiscard]] Blocks noteSection(const Matter& matter);
[[nodiscard]] Blocks cautionSection(const Matter& matter);
[[nodiscard]] Blocks traceSection(const Matter& matter);

}  // namespace edamori::letter
