// SPDX-License-Identifier: GPL-3.0-or-later
// Agreement of measured values with true ones.
#pragma once

#include <optional>
#include <span>

namespace edamori::accuracy {

struct Limits {
  double low = 0.0;
  double high = 0.0;
};

// How well the pairs lie on the line of identity.
struct Concordance {
  double value = 0.0;                // ρc = r·C_b, −1…1
  std::optional<Limits> interval95;  // absent with fewer than 3 pairs and when ρc is ±1
  double correlation = 0.0;          // Pearson's r
  double biasCorrection = 0.0;       // C_b, 0…1
  double scaleShift = 0.0;           // v = s_y / s_x
  double locationShift = 0.0;        // u = (ȳ − x̄) / √(s_x·s_y)
};

// Concordance correlation of `y` with `x`, moments by 1/n, interval by the Z-transform.
//
// Input:  as many y as x.
// Output: none when either varies not at all, or with no pair.
// Source: Lin 1989, Biometrics 45:255–268; variance as corrected in 2000, 56:324–325.
[[nodiscard]] std::optional<Concordance> concordance(std::span<const double> x,
                                                     std::span<const double> y);

// Differences between two methods; unit of the values.
struct Differences {
  double mean = 0.0;               // bias
  double standardDeviation = 0.0;  // by n − 1; 0 for a single difference
  Limits limits95{};               // mean ∓ 1.96 standard deviations
};

// Limits of agreement; none without a difference.
//
// Source: Bland and Altman 1986, Lancet i:307–310.
[[nodiscard]] std::optional<Differences> limitsOfAgreement(std::span<const double> differences);

// Means and ranks; 0 for no values.
[[nodiscard]] double meanOf(std::span<const double> values);
[[nodiscard]] double meanAbsolute(std::span<const double> values);
// Straight line between the two nearest ranks (Hyndman and Fan's type 7); share 0…1.
[[nodiscard]] double quantileOf(std::span<const double> values, double share);
[[nodiscard]] double quantileOfAbsolute(std::span<const double> values, double share);

}  // namespace edamori::accuracy
