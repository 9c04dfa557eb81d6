// SPDX-License-Identifier: GPL-3.0-or-later
// Colour values: sRGB to linear light, CIELAB and excess green.
#pragma once

#include <cstdint>

namespace edamori::vision {

// CIELAB under D65: l 0…100; a and b about −110…110.
struct Lab {
  double l = 0.0, a = 0.0, b = 0.0;
};

// Linear light of an sRGB sample, 0…1. Source: IEC 61966-2-1.
[[nodiscard]] double linearOf(std::uint8_t sample);

// Source: IEC 61966-2-1 (matrix with 4 decimals, white 0.9505, 1, 1.0890), CIE 15.
// Exact to about 0.001; safe to call from any thread.
[[nodiscard]] Lab labOf(std::uint8_t r, std::uint8_t g, std::uint8_t b);

// Chroma, ≥ 0, and hue angle in degrees, 0 … 360 (0 for a grey).
[[nodiscard]] double chromaOf(const Lab& lab);
[[nodiscard]] double hueDegOf(const Lab& lab);

// Excess green 2g − r − b of the chromatic coordinates, −1…2; 0 for black, which has none.
// Source: Woebbecke et al. 1995, Trans. ASAE 38(1), 259–269.
[[nodiscard]] double excessGreenOf(std::uint8_t r, std::uint8_t g, std::uint8_t b);

// ln(R / G) of linear light, each raised by 0.01 against sensor noise: about −4.6…4.6.
// Shade leaves it as it is; green tissue is below 0, yellow near 0, brown and red above.
[[nodiscard]] double rednessOf(std::uint8_t r, std::uint8_t g);

}  // namespace edamori::vision
