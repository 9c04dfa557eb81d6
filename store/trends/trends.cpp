// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/trends/trends.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <boost/math/special_functions/gamma.hpp>

namespace edamori::store {

namespace {

// 0.975 quantile of the normal distribution (R 4.2.2: qnorm(0.975)).
constexpr double kNormal975 = 1.959963984540054;
constexpr double kTail = 0.025;

bool isPercentage(double pct) { return pct >= 0.0 && pct <= 100.0; }  // false for NaN

Error notAPercentage(const std::string& what, double pct) {
  return fail(ErrorCode::InvalidArgument,
              what + " of " + std::to_string(pct) + " % is outside 0 to 100 %");
}

Result<std::vector<Visit>> sortedVisits(std::span<const Visit> visits) {
  if (visits.size() < 2) {
    return fail(ErrorCode::InvalidArgument, "a progress curve needs at least two visits");
  }
  std::vector<Visit> sorted(visits.begin(), visits.end());
  for (const Visit& visit : sorted) {
    if (!std::isfinite(visit.day)) {
      return fail(ErrorCode::InvalidArgument, "a visit has no day");
    }
    if (!isPercentage(visit.severityPct)) {
      return notAPercentage("a severity", visit.severityPct);
    }
  }
  std::ranges::sort(sorted, {}, &Visit::day);
  if (std::ranges::adjacent_find(sorted, {}, &Visit::day) != sorted.end()) {
    return fail(ErrorCode::InvalidArgument,
                "two visits are on the same day; keep one of them or their mean");
  }
  return sorted;
}

Result<void> checkCounts(std::span<const double> counts) {
  const auto isCount = [](double count) { return std::isfinite(count) && count >= 0.0; };
  if (!std::ranges::all_of(counts, isCount)) {
    return fail(ErrorCode::InvalidArgument, "a count of insects cannot be negative");
  }
  return {};
}

}  // namespace

Result<ProgressAreas> progressAreas(std::span<const Visit> visits) {
  auto sorted = sortedVisits(visits);
  if (!sorted) {
    return std::move(sorted).error();
  }
  const auto& curve = *sorted;
  ProgressAreas areas;
  for (std::size_t i = 1; i < curve.size(); ++i) {
    areas.audpc +=
        (curve[i - 1].severityPct + curve[i].severityPct) / 2.0 * (curve[i].day - curve[i - 1].day);
  }
  const double days = curve.back().day - curve.front().day;
  const auto count = static_cast<double>(curve.size());
  areas.standardisedAudpc = areas.audpc / days;
  areas.audps = areas.audpc +
                (curve.front().severityPct + curve.back().severityPct) / 2.0 * days / (count - 1.0);
  areas.standardisedAudps = areas.audps / (days * count / (count - 1.0));
  return areas;
}

Result<double> abbottEfficacyPct(double treatedAfter, double controlAfter) {
  EDAMORI_RETURN_IF_ERROR(checkCounts(std::array{treatedAfter, controlAfter}));
  if (controlAfter == 0.0) {
    return fail(ErrorCode::InvalidArgument,
                "no insect survived on the untreated branch, so there is nothing to compare with");
  }
  return 100.0 * (1.0 - treatedAfter / controlAfter);
}

Result<Efficacy> hendersonTiltonEfficacy(double controlBefore,
                                         double controlAfter,
                                         double treatedBefore,
                                         double treatedAfter) {
  EDAMORI_RETURN_IF_ERROR(
      checkCounts(std::array{controlBefore, controlAfter, treatedBefore, treatedAfter}));
  if (controlBefore == 0.0 || controlAfter == 0.0) {
    return fail(ErrorCode::InvalidArgument,
                "the untreated branch had no insects before or after, so there is nothing to "
                "compare with");
  }
  if (treatedBefore == 0.0) {
    return fail(ErrorCode::InvalidArgument, "the treated branch had no insects before");
  }
  const double ratio = treatedAfter * controlBefore / (treatedBefore * controlAfter);
  Efficacy efficacy{.pct = 100.0 * (1.0 - ratio), .interval = std::nullopt};
  if (treatedAfter > 0.0) {
    const double standardError = std::sqrt(1.0 / treatedAfter + 1.0 / treatedBefore +
                                           1.0 / controlAfter + 1.0 / controlBefore);
    const double factor = std::exp(kNormal975 * standardError);
    efficacy.interval = Estimate{.value = efficacy.pct,
                                 .low = 100.0 * (1.0 - ratio * factor),
                                 .high = 100.0 * (1.0 - ratio / factor)};
  }
  return efficacy;
}

Result<Estimate> poissonInterval(int count) {
  if (count < 0) {
    return fail(ErrorCode::InvalidArgument, "a count cannot be negative");
  }
  // Half the chi-square quantile with 2k degrees of freedom is the inverse of
  // the regularised incomplete gamma function with shape k.
  const double k = count;
  return Estimate{.value = k,
                  .low = count == 0 ? 0.0 : boost::math::gamma_p_inv(k, kTail),
                  .high = boost::math::gamma_q_inv(k + 1.0, kTail)};
}

Result<int> horsfallBarrattGrade(double severityPct) {
  if (!isPercentage(severityPct)) {
    return notAPercentage("a severity", severityPct);
  }
  if (severityPct >= 100.0) {
    return 12;
  }
  // Upper bounds of grades 1 to 11, as the 1945 abstract prints them; grade 11 ends below 100.
  constexpr std::array upperPct = {0.0, 3.0, 6.0, 12.0, 25.0, 50.0, 75.0, 87.0, 94.0, 97.0, 100.0};
  const auto grade = std::ranges::lower_bound(upperPct, severityPct);
  return static_cast<int>(grade - upperPct.begin()) + 1;
}

Result<int> defoliationClass(double lossPct) {
  if (!isPercentage(lossPct)) {
    return notAPercentage("a loss", lossPct);
  }
  if (lossPct >= 100.0) {
    return 4;
  }
  constexpr std::array upperPct = {10.0, 25.0, 60.0};
  return static_cast<int>(std::ranges::lower_bound(upperPct, lossPct) - upperPct.begin());
}

std::string defoliationName(int defoliationClass) {
  constexpr std::array names = {"none", "slight", "moderate", "severe", "dead"};
  const bool isKnown = defoliationClass >= 0 && defoliationClass < static_cast<int>(names.size());
  return isKnown ? names.at(static_cast<std::size_t>(defoliationClass)) : "unknown";
}

}  // namespace edamori::store
