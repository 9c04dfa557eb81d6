// SPDX-License-Identifier: GPL-3.0-or-later
// The program's style sheet, filled with the colours of a theme.
#pragma once

#include "app/look/theme.h"

namespace edamori::look {

// `a` for share 0, `b` for share 1, in sRGB.
[[nodiscard]] QColor mixed(const QColor& a, const QColor& b, double shareOfB);

// Edge of a field or button: contrast ≥ 3 : 1 with the grounds (WCAG 2.1, SC 1.4.11).
[[nodiscard]] QColor controlEdge(const Palette& palette);

// With text `textScale` times as large.
[[nodiscard]] QString styleSheet(const Palette& palette, double textScale);

}  // namespace edamori::look
