// SPDX-License-Identifier: GPL-3.0-or-later
#include "statistics.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstddef>
#include <vector>

namespace edamori::accuracy {
namespace {

constexpr double kNormal975 = 1.959963984540054;  // 97.5 % point of the normal distribution
constexpr double kLimitFactor = 1.96;             // as the limits of agreement are usually printed

// Means and central moments by 1/n.
struct Moments {
  double meanX = 0.0, meanY = 0.0;
  double varianceX = 0.0, varianceY = 0.0, covariance = 0.0;
};

Moments momentsOf(std::span<const double> x, std::span<const double> y) {
  Moments moments{.meanX = meanOf(x), .meanY = meanOf(y)};
  const auto count = static_cast<double>(x.size());
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double dx = x[i] - moments.meanX;
    const double dy = y[i] - moments.meanY;
    moments.varianceX += dx * dx / count;
    moments.varianceY += dy * dy / count;
    moments.covariance += dx * dy / count;
  }
  return moments;
}

std::optional<Limits> intervalOf(const Concordance& c, std::size_t count) {
  const double p2 = c.value * c.value;
  const double r2 = c.correlation * c.correlation;
  // Rounding may leave a perfect agreement a last digit below 1.
  constexpr double kPerfect = 1.0 - 1e-12;
  if (count < 3 || std::abs(c.value) >= kPerfect || r2 == 0.0) {
    return std::nullopt;
  }
  const double u2 = c.locationShift * c.locationShift;
  const double variance =
      ((1 - r2) * p2 * (1 - p2) / r2 + 2 * p2 * c.value * (1 - c.value) * u2 / c.correlation -
       p2 * p2 * u2 * u2 / (2 * r2)) /
      static_cast<double>(count - 2);
  const double error = std::sqrt(std::max(0.0, variance)) / (1 - p2);
  const double z = std::atanh(c.value);
  return Limits{.low = std::tanh(z - kNormal975 * error),
                .high = std::tanh(z + kNormal975 * error)};
}

std::vector<double> absolutesOf(std::span<const double> values) {
  std::vector<double> absolutes(values.begin(), values.end());
  std::ranges::transform(
      absolutes, absolutes.begin(), [](double value) { return std::abs(value); });
  return absolutes;
}

}  // namespace

std::optional<Concordance> concordance(std::span<const double> x, std::span<const double> y) {
  assert(x.size() == y.size());
  const Moments m = momentsOf(x, y);
  if (x.empty() || m.varianceX <= 0.0 || m.varianceY <= 0.0) {
    return std::nullopt;
  }
  const double shift = m.meanY - m.meanX;
  const double product = std::sqrt(m.varianceX * m.varianceY);
  Concordance result{.value = 2 * m.covariance / (m.varianceX + m.varianceY + shift * shift),
                     .interval95 = std::nullopt,
                     .correlation = m.covariance / product,
                     .scaleShift = std::sqrt(m.varianceY / m.varianceX),
                     .locationShift = shift / std::sqrt(product)};
  result.biasCorrection =
      2 / (result.scaleShift + 1 / result.scaleShift + result.locationShift * result.locationShift);
  result.interval95 = intervalOf(result, x.size());
  return result;
}

std::optional<Differences> limitsOfAgreement(std::span<const double> differences) {
  if (differences.empty()) {
    return std::nullopt;
  }
  Differences result{.mean = meanOf(differences)};
  double squares = 0.0;
  for (const double difference : differences) {
    squares += (difference - result.mean) * (difference - result.mean);
  }
  if (differences.size() > 1) {
    result.standardDeviation = std::sqrt(squares / static_cast<double>(differences.size() - 1));
  }
  const double half = kLimitFactor * result.standardDeviation;
  result.limits95 = {.low = result.mean - half, .high = result.mean + half};
  return result;
}

double meanOf(std::span<const double> values) {
  double sum = 0.0;
  for (const double value : values) {
    sum += value;
  }
  return values.empty() ? 0.0 : sum / static_cast<double>(values.size());
}

double meanAbsolute(std::span<const double> values) { return meanOf(absolutesOf(values)); }

double quantileOf(std::span<const double> values, double share) {
  if (values.empty()) {
    return 0.0;
  }
  std::vector<double> sorted(values.begin(), values.end());
  std::ranges::sort(sorted);
  const double place = std::clamp(share, 0.0, 1.0) * static_cast<double>(sorted.size() - 1);
  const auto below = static_cast<std::size_t>(place);
  const std::size_t above = std::min(below + 1, sorted.size() - 1);
  return std::lerp(sorted[below], sorted[above], place - static_cast<double>(below));
}

double quantileOfAbsolute(std::span<const double> values, double share) {
  return quantileOf(absolutesOf(values), share);
}

}  // namespace edamori::accuracy
