// SPDX-License-Identifier: GPL-3.0-or-later
// Pure arithmetic on figures: areas under the progress curve, efficacy, classes, intervals of counts.
#pragma once

#include "vision/values/figure.h"
#include "vision/values/result.h"

#include <optional>
#include <span>
#include <string>

namespace edamori::store {

struct Visit {
  double day = 0.0;         // days since any fixed date
  double severityPct = 0.0; // 0…100
};

struct ProgressAreas {
  double audpc = 0.0;              // %·day, trapezoids (Shaner & Finney 1977)
  double standardisedAudpc = 0.0;  // %, AUDPC / D
  double audps = 0.0;              // %·day (Simko & Piepho 2012)
  double standardisedAudps = 0.0;  // %, AUDPS / (D·n/(n−1))
};

// Areas under the disease progress curve; visits in any order.
//
// Errors: InvalidArgument for fewer than 2 visits, two on the same day, or a severity outside 0…100.
// Source: Shaner & Finney 1977, Phytopathology 67:1051–1056; Simko & Piepho 2012, Phytopathology 102:381–389.
Result<ProgressAreas> progressAreas(std::span<const Visit> visits);

// Percent efficacy from counts after, treated against control; may be negative.
// Errors: InvalidArgument for negative counts or no control insects. Source: Abbott 1925.
Result<double> abbottEfficacyPct(double treatedAfter, double controlAfter);

// Percent efficacy with an untreated branch, unequal starts; interval from the Poisson log ratio,
// absent when a count is 0. Errors: InvalidArgument as above.
// Source: Henderson & Tilton 1955, J. Econ. Entomol. 48:157–161.
struct Efficacy {
  double pct = 0.0;
  std::optional<Estimate> interval;
};
Result<Efficacy> hendersonTiltonEfficacy(double controlBefore, double controlAfter,
                                         double treatedBefore, double treatedAfter);

// Exact 95 % limits of a Poisson mean for a count ≥ 0 (Garwood 1936, Biometrika 28:437).
Result<Estimate> poissonInterval(int count);

// Grade 1…12 of Horsfall & Barratt 1945 for a severity in %, bounds (lower, upper].
// Errors: InvalidArgument outside 0…100.
Result<int> horsfallBarrattGrade(double severityPct);

// Forest crown-condition defoliation class 0…4 for a loss in %, bounds (lower, upper].
// Errors: InvalidArgument outside 0…100. Source: UNECE/ICP Forests classes (Eurostat glossary "Degree of defoliation").
Result<int> defoliationClass(double lossPct);
[[nodiscard]] std::string defoliationName(int defoliationClass);  // "none", "slight", …

}  // namespace edamori::store
