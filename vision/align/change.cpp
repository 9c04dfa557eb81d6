// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/change.h"

#include <algorithm>
#include <cmath>

namespace edamori::vision {

namespace {

Estimate oneMinus(const Estimate& ratio) {
  return {.value = 1.0 - ratio.value, .low = 1.0 - ratio.high, .high = 1.0 - ratio.low};
}

// A cover of 1 within an interval would be an endless depth; a gap too small for a photo
// to show stands for it.
constexpr double kLeastGap = 1e-4;

// −ln G: how much foliage light has to pass. Grows with cover.
Estimate opticalDepth(const Estimate& cover) {
  const auto depth = [](double c) { return -std::log(std::max(1.0 - c, kLeastGap)); };
  return {.value = depth(cover.value), .low = depth(cover.low), .high = depth(cover.high)};
}

bool isUsableGap(const Estimate& cover) {
  // The margin keeps a cover such as 0.98, whose gap is 0.020000000000000018 or a
  // hair less in binary, on the usable side.
  constexpr double kRounding = 1e-9;
  const double gap = 1.0 - cover.value;
  return gap >= kMinGapFraction - kRounding && gap <= kMaxGapFraction + kRounding;
}

bool isEnoughBefore(const Estimate& coverBefore) { return coverBefore.low >= kLeastCoverBefore; }

}  // namespace

std::optional<Estimate> ratioOf(const Estimate& numerator, const Estimate& denominator) {
  const double n = numerator.value;
  const double d = denominator.value;
  // Limits solve (n − R·d)² = (n − limit of n)² + R² (d − limit of d)².
  const double leadOfHigh = denominator.low * (2.0 * d - denominator.low);
  if (!(d > 0.0) || !(leadOfHigh > 0.0)) {
    return std::nullopt;
  }
  const double leadOfLow = denominator.high * (2.0 * d - denominator.high);
  const double restOfLow = numerator.low * (2.0 * n - numerator.low);
  const double restOfHigh = numerator.high * (2.0 * n - numerator.high);
  const double product = n * d;
  const double rootOfLow = std::sqrt(std::max(product * product - leadOfLow * restOfLow, 0.0));
  const double rootOfHigh = std::sqrt(std::max(product * product - leadOfHigh * restOfHigh, 0.0));
  // This form of the smaller root needs no division by leadOfLow, which may be 0.
  const double sum = product + rootOfLow;
  const double low = sum > 0.0 ? restOfLow / sum : 0.0;
  const double ratio = n / d;
  return Estimate{.value = ratio,
                  .low = std::clamp(low, 0.0, ratio),
                  .high = std::max((product + rootOfHigh) / leadOfHigh, ratio)};
}

Estimate differenceOf(const Estimate& a, const Estimate& b) {
  const double difference = a.value - b.value;
  return {.value = difference,
          .low = difference - std::hypot(a.value - a.low, b.high - b.value),
          .high = difference + std::hypot(a.high - a.value, b.value - b.low)};
}

Estimate widened(const Estimate& fraction, double halfWidth) {
  const double low = fraction.value - std::hypot(fraction.value - fraction.low, halfWidth);
  const double high = fraction.value + std::hypot(fraction.high - fraction.value, halfWidth);
  return {.value = fraction.value,
          .low = std::clamp(low, 0.0, fraction.low),
          .high = std::clamp(high, fraction.high, std::max(1.0, fraction.high))};
}

Estimate narrowed(const Estimate& fraction, double share) {
  // Where a limit was clipped to 0…1, the other one tells the half-width.
  const double halfWidth = share * std::max(fraction.value - fraction.low, fraction.high - fraction.value);
  return {.value = fraction.value,
          .low = std::max(0.0, fraction.value - halfWidth),
          .high = std::min(std::max(1.0, fraction.high), fraction.value + halfWidth)};
}

std::optional<Estimate> lossByCover(const Estimate& coverBefore, const Estimate& coverAfter) {
  if (!isEnoughBefore(coverBefore)) {
    return std::nullopt;
  }
  const auto ratio = ratioOf(coverAfter, coverBefore);
  return ratio ? std::optional(oneMinus(*ratio)) : std::nullopt;
}

std::optional<Estimate> lossByLight(const Estimate& coverBefore, const Estimate& coverAfter) {
  if (!isUsableGap(coverBefore) || !isUsableGap(coverAfter) || !isEnoughBefore(coverBefore)) {
    return std::nullopt;
  }
  const auto ratio = ratioOf(opticalDepth(coverAfter), opticalDepth(coverBefore));
  return ratio ? std::optional(oneMinus(*ratio)) : std::nullopt;
}

Verdict verdictFor(const Estimate& loss) {
  if (!std::isfinite(loss.low) || !std::isfinite(loss.high)) {
    return Verdict::CannotTell;
  }
  if (loss.low > 0.0) {
    return Verdict::ClearLoss;
  }
  if (loss.high < 0.0) {
    return Verdict::ClearGain;
  }
  return loss.high - loss.low > kWidestUsefulInterval ? Verdict::CannotTell : Verdict::NoClearChange;
}

}  // namespace edamori::vision
