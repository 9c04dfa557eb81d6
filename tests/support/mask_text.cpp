// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/support/mask_text.h"

#include <vector>

namespace edamori::test {

Mask maskFromText(std::string_view text) {
  std::vector<std::string> rows(1);
  for (const char c : text) {
    if (c == '#' || c == '.') {
      rows.back() += c;
    } else if (c == '\n' && !rows.back().empty()) {
      rows.emplace_back();
    }
  }
  if (rows.back().empty()) {
    rows.pop_back();
  }
  const int width = rows.empty() ? 0 : static_cast<int>(rows.front().size());
  Mask mask(width, static_cast<int>(rows.size()), 0);
  for (int y = 0; y < mask.height(); ++y) {
    for (int x = 0; x < width; ++x) {
      mask.at(x, y) = rows[static_cast<std::size_t>(y)].at(static_cast<std::size_t>(x)) == '#' ? 255 : 0;
    }
  }
  return mask;
}

std::string textFromMask(const Mask& mask) {
  std::string text = "\n";
  for (int y = 0; y < mask.height(); ++y) {
    for (int x = 0; x < mask.width(); ++x) {
      text += mask.at(x, y) != 0 ? '#' : '.';
    }
    text += '\n';
  }
  return text;
}

}  // namespace edamori::test
