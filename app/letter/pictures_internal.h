// SPDX-License-Identifier: GPL-3.0-or-later
// The garden's photos as the letter's pictures: cropped, outlined, marked.
#pragma once

#include "app/letter/compose_internal.h"

namespace edamori::letter {

// `garden` must outlive the source.
[[nodiscard]] PictureSource picturesOf(const store::Garden& garden);

// Paints the outline (if any) and the marks onto a picture that shows `shown` (in px of the
// photo) of the photo; lines two-toned, so that they stand out on any photo.
void paintFindings(QImage& picture, const QRectF& shown, const std::optional<Outline>& outline,
                   const std::vector<store::Mark>& marks);

// What paintFindings paints, each kind of line and symbol once: the outline first, then marks
// in order; empty without marks.
[[nodiscard]] std::vector<LegendEntry> legendOf(const std::optional<Outline>& outline,
                                                const std::vector<store::Mark>& marks);

}  // namespace edamori::letter
