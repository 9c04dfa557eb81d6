// SPDX-License-Identifier: GPL-3.0-or-later
#include "outcome.h"

#include "vision/figures/measure.h"
#include "vision/figures/region.h"

#include <algorithm>
#include <chrono>
#include <utility>

#include "strokes.h"

namespace edamori::accuracy {
namespace {

// With less foliage than this share of the outline a spotted share means nothing,
// in the truth as in what is measured.
constexpr double kMinFoliageShare = 0.005;

struct Counts {
  std::int64_t inside = 0, foliage = 0, spotted = 0;
};

Counts countLabels(const LabelImage& labels, const Mask& inside) {
  Counts counts;
  for (std::size_t i = 0; i < inside.byteCount(); ++i) {
    if (inside.data()[i] != 0) {
      const auto label = static_cast<Label>(labels.data()[i]);
      ++counts.inside;
      counts.foliage += label != Label::NotFoliage ? 1 : 0;
      counts.spotted += label == Label::Spotted ? 1 : 0;
    }
  }
  return counts;
}

double shareOf(std::int64_t part, std::int64_t whole) {
  return whole > 0 ? static_cast<double>(part) / static_cast<double>(whole) : 0.0;
}

TrueFractions trueFractions(const TruthCase& truth, const Mask& inside) {
  const Counts counts = countLabels(truth.labels, inside);
  TrueFractions fractions;
  if (truth.kind != TruthKind::Lesions) {
    fractions.cover = shareOf(counts.foliage, counts.inside);
  }
  if (truth.kind != TruthKind::Cover &&
      shareOf(counts.foliage, counts.inside) >= kMinFoliageShare) {
    fractions.spot = shareOf(counts.spotted, counts.foliage);
  }
  return fractions;
}

PixelTally tallyOf(const LabelImage& found, const LabelImage& truth, const Mask& inside) {
  PixelTally tally;
  for (std::size_t i = 0; i < inside.byteCount(); ++i) {
    if (inside.data()[i] == 0) {
      continue;
    }
    const auto seen = static_cast<Label>(found.data()[i]);
    const auto real = static_cast<Label>(truth.data()[i]);
    const bool isSeen = seen != Label::NotFoliage;
    const bool isReal = real != Label::NotFoliage;
    tally.foliageInBoth += isSeen && isReal ? 1 : 0;
    tally.foliageInEither += isSeen || isReal ? 1 : 0;
    tally.spotFound += seen == Label::Spotted && real == Label::Spotted ? 1 : 0;
    tally.spotMissed += seen != Label::Spotted && real == Label::Spotted ? 1 : 0;
    tally.spotFalse += seen == Label::Spotted && real != Label::Spotted ? 1 : 0;
  }
  return tally;
}

// The truth of lesions is a share of the frame: S/O = S/F · F/O, and so are its limits.
std::optional<Estimate> comparableSpot(const vision::MeasureResult& result,
                                       const Counts& found,
                                       TruthKind kind) {
  if (kind != TruthKind::Lesions) {
    return result.spot;
  }
  if (!result.spot) {
    return Estimate{};
  }
  const double cover = shareOf(found.foliage, found.inside);
  return Estimate{.value = shareOf(found.spotted, found.inside),
                  .low = result.spot->low * cover,
                  .high = result.spot->high * cover};
}

void fillFrom(const vision::MeasureResult& result,
              const TruthCase& truth,
              const Mask& inside,
              Outcome& outcome) {
  outcome.outlinePx = result.outlinePx;
  outcome.cover = result.foliage;
  outcome.spot = comparableSpot(result, countLabels(result.labels, inside), truth.kind);
  outcome.pixels = tallyOf(result.labels, truth.labels, inside);
  for (const Caution& caution : result.cautions) {
    outcome.cautionCodes.push_back(caution.code);
  }
}

struct Measured {
  Outcome outcome;
  LabelImage labels;  // empty after a refusal
};

Measured measureOutline(const RgbImage& photo,
                        const TruthCase& truth,
                        const vision::MeasureRequest& request,
                        const Mask& inside) {
  Measured measured;
  Outcome& outcome = measured.outcome;
  outcome.file = truth.name;
  outcome.kind = truth.kind;
  outcome.subject = truth.subject;
  outcome.truth = trueFractions(truth, inside);
  const auto start = std::chrono::steady_clock::now();
  auto result = vision::measure(photo, request);
  const std::chrono::duration<double, std::milli> spent = std::chrono::steady_clock::now() - start;
  outcome.measureMs = spent.count();
  if (result) {
    fillFrom(*result, truth, inside, outcome);
    measured.labels = std::move(*result).labels;
  } else {
    outcome.refusal = result.error().message;
  }
  return measured;
}

// Nothing to paint leaves the first figures as they are.
Outcome measureAgain(const RgbImage& photo,
                     const TruthCase& truth,
                     vision::MeasureRequest request,
                     const Mask& inside,
                     const Measured& first) {
  if (first.labels.isEmpty()) {
    return first.outcome;
  }
  PaintedStrokes painted = simulateStrokes(first.labels, truth.labels, inside);
  if (painted.count == 0) {
    return first.outcome;
  }
  request.hints = std::move(painted.hints);
  Outcome outcome = measureOutline(photo, truth, request, inside).outcome;
  outcome.strokes = painted.count;
  return outcome;
}

Outcome unusableOutline(const TruthCase& truth, const Error& error) {
  Outcome outcome;
  outcome.file = truth.name;
  outcome.kind = truth.kind;
  outcome.subject = truth.subject;
  outcome.refusal = error.message;
  return outcome;
}

}  // namespace

void measureCase(const RgbImage& photo, const TruthCase& truth, Strokes strokes, SetOutcome& set) {
  for (const std::optional<Outline>& outline : truth.outlines) {
    const auto inside = vision::maskOf(outline, photo.width(), photo.height());
    if (!inside) {
      set.first.push_back(unusableOutline(truth, inside.error()));
      continue;
    }
    const vision::MeasureRequest request{
        .outline = outline, .subject = truth.subject, .hints = std::nullopt};
    const Measured first = measureOutline(photo, truth, request, *inside);
    set.first.push_back(first.outcome);
    if (strokes == Strokes::Simulated) {
      set.withStrokes.push_back(measureAgain(photo, truth, request, *inside, first));
    }
  }
}

}  // namespace edamori::accuracy
