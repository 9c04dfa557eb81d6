// SPDX-License-Identifier: GPL-3.0-or-later
#include "report.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <iomanip>
#include <iterator>
#include <map>
#include <ostream>
#include <sstream>

#include "statistics.h"

namespace edamori::accuracy {
namespace {

constexpr const char* kNone = "–";

std::string fixed(double value, int decimals) {
  std::ostringstream text;
  text << std::fixed << std::setprecision(decimals) << value;
  return text.str();
}

std::string range(const Limits& limits, int decimals) {
  return fixed(limits.low, decimals) + " … " + fixed(limits.high, decimals);
}

std::string concordanceText(std::span<const Pair> pairs) {
  std::vector<double> truth;
  std::vector<double> measured;
  for (const Pair& pair : pairs) {
    truth.push_back(pair.truth);
    measured.push_back(pair.measured.value);
  }
  const auto result = concordance(truth, measured);
  if (!result) {
    return kNone;
  }
  return fixed(result->value, 3) +
         (result->interval95 ? " (" + range(*result->interval95, 3) + ")" : "");
}

// Share of the intervals that hold the truth, per cent. What is stored in binary is
// compared with a little room, so that an interval that ends at the truth holds it.
double coveragePercent(std::span<const Pair> pairs) {
  constexpr double kRoom = 1e-9;
  const auto held = std::ranges::count_if(pairs, [](const Pair& pair) {
    return pair.measured.low <= pair.truth + kRoom && pair.truth <= pair.measured.high + kRoom;
  });
  return 100.0 * static_cast<double>(held) / static_cast<double>(pairs.size());
}

double meanWidth(std::span<const Pair> pairs) {
  double sum = 0.0;
  for (const Pair& pair : pairs) {
    sum += pair.measured.high - pair.measured.low;
  }
  return sum / static_cast<double>(pairs.size());
}

void writeFigureRow(std::ostream& out, const std::string& title, std::span<const Pair> pairs) {
  if (pairs.empty()) {
    return;
  }
  const std::vector<double> errors = errorsOf(pairs);
  const auto differences = limitsOfAgreement(errors);
  out << "| " << title << " | " << pairs.size() << " | " << fixed(meanAbsolute(errors), 2) << " | "
      << fixed(meanOf(errors), 2) << " | " << fixed(quantileOfAbsolute(errors, 0.95), 2) << " | "
      << concordanceText(pairs) << " | "
      << (differences ? range(differences->limits95, 2) : std::string(kNone)) << " | "
      << fixed(coveragePercent(pairs), 1) << " | " << fixed(meanWidth(pairs), 2) << " |\n";
}

PixelTally pooled(std::span<const Outcome> outcomes) {
  PixelTally sum;
  for (const Outcome& outcome : outcomes) {
    sum.foliageInBoth += outcome.pixels.foliageInBoth;
    sum.foliageInEither += outcome.pixels.foliageInEither;
    sum.spotFound += outcome.pixels.spotFound;
    sum.spotMissed += outcome.pixels.spotMissed;
    sum.spotFalse += outcome.pixels.spotFalse;
  }
  return sum;
}

std::string ratio(std::int64_t part, std::int64_t whole) {
  return whole > 0 ? fixed(static_cast<double>(part) / static_cast<double>(whole), 3) : kNone;
}

bool knowsCover(const Outcome& outcome) { return outcome.kind != TruthKind::Lesions; }
bool knowsSpots(const Outcome& outcome) { return outcome.kind != TruthKind::Cover; }

std::vector<Outcome> selected(std::span<const Outcome> outcomes, bool (*isWanted)(const Outcome&)) {
  std::vector<Outcome> kept;
  std::ranges::copy_if(outcomes, std::back_inserter(kept), isWanted);
  return kept;
}

std::string soundText(std::span<const Outcome> outcomes) {
  double sum = 0.0;
  double most = 0.0;
  std::size_t count = 0;
  for (const Pair& pair : pairsOf(outcomes, FigureKind::Spot)) {
    if (pair.truth == 0.0) {
      sum += pair.measured.value;
      most = std::max(most, pair.measured.value);
      ++count;
    }
  }
  if (count == 0) {
    return std::string("0 | ") + kNone + " | " + kNone;
  }
  return std::to_string(count) + " | " + fixed(sum / static_cast<double>(count), 2) + " | " +
         fixed(most, 2);
}

void writePixelRow(std::ostream& out, const std::string& title, std::span<const Outcome> outcomes) {
  const PixelTally cover = pooled(selected(outcomes, knowsCover));
  const PixelTally spots = pooled(selected(outcomes, knowsSpots));
  out << "| " << title << " | " << ratio(cover.foliageInBoth, cover.foliageInEither) << " | "
      << ratio(2 * spots.spotFound, 2 * spots.spotFound + spots.spotMissed + spots.spotFalse)
      << " | " << ratio(spots.spotFound, spots.spotFound + spots.spotFalse) << " | "
      << ratio(spots.spotFound, spots.spotFound + spots.spotMissed) << " | " << soundText(outcomes)
      << " |\n";
}

bool isMeasured(const Outcome& outcome) { return outcome.refusal.empty(); }

// Medians, without strokes: of measuring an outline, all outlines of a photo, and of decoding.
void writeTimes(std::ostream& out, const SetOutcome& set) {
  std::vector<double> outlineMs;
  std::map<std::string, double> msOfPhoto;
  for (const Outcome& outcome : selected(set.first, isMeasured)) {
    outlineMs.push_back(outcome.measureMs);
    msOfPhoto[outcome.file] += outcome.measureMs;
  }
  std::vector<double> photoMs;
  for (const auto& [file, ms] : msOfPhoto) {
    photoMs.push_back(ms);
  }
  const double measure = quantileOf(photoMs, 0.5);
  const double decode = quantileOf(set.decodeMs, 0.5);
  out << "\nMedian times: measuring " << fixed(quantileOf(outlineMs, 0.5), 1) << " ms an outline, "
      << fixed(measure, 1) << " ms a photo; decoding " << fixed(decode, 1)
      << " ms a photo; measuring by decoding, a photo "
      << (decode > 0.0 ? fixed(measure / decode, 1) : std::string(kNone)) << ".\n\n";
}

std::string strokesTitle(std::span<const Outcome> outcomes) {
  double sum = 0.0;
  for (const Outcome& outcome : outcomes) {
    sum += outcome.strokes;
  }
  return "with 3 strokes (mean painted " +
         fixed(outcomes.empty() ? 0.0 : sum / static_cast<double>(outcomes.size()), 1) + ")";
}

std::string quoted(const std::string& text) {
  if (text.find_first_of(",\"\r\n") == std::string::npos) {
    return text;
  }
  std::string result = "\"";
  for (const char letter : text) {
    result += letter == '"' ? std::string("\"\"") : std::string(1, letter);
  }
  return result + '"';
}

std::string field(const std::optional<double>& value) { return value ? fixed(*value, 6) : ""; }

std::string fields(const std::optional<Estimate>& e) {
  return e ? fixed(e->value, 6) + ',' + fixed(e->low, 6) + ',' + fixed(e->high, 6) : ",,";
}

std::string joined(const std::vector<std::string>& words) {
  std::string text;
  for (const std::string& word : words) {
    text += (text.empty() ? "" : " ") + word;
  }
  return text;
}

void writeCsvRow(std::ostream& out, const std::string& set, const Outcome& outcome) {
  if (!isMeasured(outcome)) {
    return;
  }
  out << quoted(set) << ',' << quoted(outcome.file) << ','
      << (outcome.subject == Subject::Leaf ? "leaf" : "needles") << ',' << outcome.outlinePx << ','
      << field(outcome.truth.cover) << ',' << fields(outcome.cover) << ','
      << field(outcome.truth.spot) << ',' << fields(outcome.spot) << ','
      << fixed(outcome.measureMs, 2) << ',' << joined(outcome.cautionCodes) << ','
      << outcome.strokes << '\n';
}

}  // namespace

std::vector<Pair> pairsOf(std::span<const Outcome> outcomes, FigureKind figure) {
  std::vector<Pair> pairs;
  for (const Outcome& outcome : outcomes) {
    const bool isCover = figure == FigureKind::Cover;
    const auto& truth = isCover ? outcome.truth.cover : outcome.truth.spot;
    const auto& measured = isCover ? outcome.cover : outcome.spot;
    if (truth && measured) {
      pairs.push_back({.truth = 100 * *truth,
                       .measured = {.value = 100 * measured->value,
                                    .low = 100 * measured->low,
                                    .high = 100 * measured->high}});
    }
  }
  return pairs;
}

std::vector<double> errorsOf(std::span<const Pair> pairs) {
  std::vector<double> errors;
  for (const Pair& pair : pairs) {
    errors.push_back(pair.measured.value - pair.truth);
  }
  return errors;
}

void writeTables(std::ostream& out, const SetOutcome& set) {
  const auto refused =
      static_cast<std::int64_t>(set.first.size()) - std::ranges::count_if(set.first, isMeasured);
  out << "### " << set.name << "\n\n"
      << set.decodeMs.size() << " photos, " << set.first.size() << " outlines, " << refused
      << " refused. Errors, limits and widths in percentage points.\n\n"
      << "| figure | n | mean absolute error | bias | 95 % of errors below | concordance (95 %) | "
         "limits of agreement | intervals that hold, % | mean width |\n"
      << "|---|---|---|---|---|---|---|---|---|\n";
  const std::string strokes = strokesTitle(set.withStrokes);
  for (const FigureKind figure : {FigureKind::Cover, FigureKind::Spot}) {
    const std::string title = figure == FigureKind::Cover ? "foliage cover" : "spotted share";
    writeFigureRow(out, title, pairsOf(set.first, figure));
    writeFigureRow(out, title + ", with 3 strokes", pairsOf(set.withStrokes, figure));
  }
  out << "\n| pixels | foliage IoU | spot F1 | spot precision | spot recall | n of sound foliage | "
         "mean spotted % on it | most |\n"
      << "|---|---|---|---|---|---|---|---|\n";
  writePixelRow(out, "as measured", set.first);
  if (!set.withStrokes.empty()) {
    writePixelRow(out, strokes, set.withStrokes);
  }
  writeTimes(out, set);
}

void writeCsvHeader(std::ostream& out) {
  out << "set,file,subject,outline_px,true_cover,cover,cover_low,cover_high,true_spot,spot,"
         "spot_low,spot_high,ms,cautions,strokes\n";
}

void writeCsvRows(std::ostream& out, const SetOutcome& set) {
  for (const Outcome& outcome : set.first) {
    writeCsvRow(out, set.name, outcome);
  }
  for (const Outcome& outcome : set.withStrokes) {
    writeCsvRow(out, set.name, outcome);
  }
}

}  // namespace edamori::accuracy
