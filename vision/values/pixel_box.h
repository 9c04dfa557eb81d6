// SPDX-License-Identifier: GPL-3.0-or-later
// An upright box of whole pixels.
#pragma once

namespace edamori {

// Pixels left … left + width − 1, top … top + height − 1; empty when a side is 0.
struct PixelBox {
  int left = 0, top = 0, width = 0, height = 0;  // px
  friend bool operator==(const PixelBox&, const PixelBox&) = default;
};

}  // namespace edamori
