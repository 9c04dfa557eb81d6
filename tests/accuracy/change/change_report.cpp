// SPDX-License-Identifier: GPL-3.0-or-later
#include "change_report.h"

#include "tests/accuracy/measure/statistics.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <map>
#include <ostream>
#include <string>

namespace edamori::accuracy {
namespace {

// A loss or gain that a grower would want to be told of.
constexpr double kPlain = 0.15;

struct Agreement {
  std::vector<double> errors, widths;
  int held = 0;

  void add(const Estimate& stated, double truth) {
    errors.push_back(stated.value - truth);
    widths.push_back(stated.high - stated.low);
    held += stated.low <= truth && truth <= stated.high ? 1 : 0;
  }
};

struct Row {
  int branches = 0, alone = 0, helped = 0;
  Agreement loss, spots;
  int stated = 0;           // branches with a verdict other than "cannot tell"
  int wrong = 0;            // a clear loss or gain of the wrong sign, or where nothing happened
  int plain = 0, told = 0;  // true changes of at least kPlain, and those told with the right sign
};

bool saysLoss(const JudgedChange& j) { return j.verdict == Verdict::ClearLoss; }
bool saysGain(const JudgedChange& j) { return j.verdict == Verdict::ClearGain; }

void add(const JudgedChange& j, Row& row) {
  ++row.branches;
  row.alone += j.way == Way::Alone ? 1 : 0;
  row.helped += j.way == Way::ByPlaces || j.way == Way::ByOutlines ? 1 : 0;
  if (j.loss) {
    row.loss.add(*j.loss, j.trueLoss);
    row.stated += j.verdict != Verdict::CannotTell ? 1 : 0;
    const bool isNothing = j.happened == "nothing";
    row.wrong += (saysLoss(j) && (isNothing || j.trueLoss <= 0.0)) || (saysGain(j) && (isNothing || j.trueLoss >= 0.0)) ? 1 : 0;
    row.plain += std::abs(j.trueLoss) >= kPlain ? 1 : 0;
    row.told += (saysLoss(j) && j.trueLoss >= kPlain) || (saysGain(j) && j.trueLoss <= -kPlain) ? 1 : 0;
  }
  if (j.spotChange && j.trueSpotChange) {
    row.spots.add(*j.spotChange, *j.trueSpotChange);
  }
}

// One decimal.
std::string number(double value) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), "%.1f", value);
  return text.data();
}

double share(int part, std::size_t whole) {
  return whole == 0 ? 0.0 : 100.0 * part / static_cast<double>(whole);
}

void print(const std::string& name, const Row& row, std::ostream& out) {
  const auto agreement = [&out](const Agreement& a) {
    out << " | " << a.errors.size() << " | " << number(100.0 * meanAbsolute(a.errors)) << " | "
        << number(100.0 * meanOf(a.errors)) << " | " << number(share(a.held, a.errors.size())) << " | "
        << number(100.0 * quantileOf(a.widths, 0.5));
  };
  const auto branches = static_cast<std::size_t>(std::max(0, row.branches));
  out << "| " << name << " | " << row.branches << " | " << number(share(row.branches - row.alone, branches))
      << " | " << number(share(row.branches - row.alone - row.helped, branches));
  agreement(row.loss);
  out << " | " << row.stated << " | " << row.wrong << " | " << row.told << " of " << row.plain;
  agreement(row.spots);
  out << " |\n";
}

std::string wayName(Way way) {
  switch (way) {
    case Way::Alone:
      return "laid on alone";
    case Way::ByOutlines:
      return "laid on by outlines";
    case Way::ByPlaces:
      return "laid on by places";
    default:
      return "not laid on";
  }
}

void cell(const std::optional<Estimate>& e, std::ostream& out) {
  if (e) {
    out << ',' << e->value << ',' << e->low << ',' << e->high;
  } else {
    out << ",,,";
  }
}

}  // namespace

void printChanges(const std::vector<JudgedChange>& all, std::ostream& out) {
  out << "| happened | branches | not laid on alone, % | nor with help, % | losses | mean absolute error | bias | intervals that hold, % | "
         "median width | verdicts | wrong | changes of 15 % told | spot changes | mean absolute error | bias | intervals that hold, % | "
         "median width |\n|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|\n";
  std::map<std::string, Row> rows;
  Row total;
  for (const JudgedChange& j : all) {
    add(j, rows[j.happened]);
    add(j, rows[j.subject]);
    add(j, rows[wayName(j.way)]);
    add(j, total);
  }
  for (const auto& [name, row] : rows) {
    print(name, row, out);
  }
  print("all", total, out);
}

void writeChangesCsv(const std::vector<JudgedChange>& all, std::ostream& out) {
  out << "photo,branch,happened,subject,way,true_loss,true_cover_before,true_spot_change,cover_before,cover_before_low,"
         "cover_before_high,cover_after,cover_after_low,cover_after_high,loss,loss_low,loss_high,spot_change,"
         "spot_change_low,spot_change_high,spotted_before,spotted_before_low,spotted_before_high,spotted_after,"
         "spotted_after_low,spotted_after_high,cover_by_shift,spotted_by_shift,verdict\n";
  for (const JudgedChange& j : all) {
    out << j.photo << ',' << j.branch << ',' << j.happened << ',' << j.subject << ',' << static_cast<int>(j.way) << ','
        << j.trueLoss << ',' << j.trueCoverBefore << ',';
    if (j.trueSpotChange) {
      out << *j.trueSpotChange;
    }
    const bool isMeasured = j.way != Way::NotAtAll;
    cell(isMeasured ? std::optional(j.coverBefore) : std::nullopt, out);
    cell(isMeasured ? std::optional(j.coverAfter) : std::nullopt, out);
    cell(j.loss, out);
    cell(j.spotChange, out);
    cell(j.spottedBefore, out);
    cell(j.spottedAfter, out);
    out << ',' << j.byShift.foliage << ',' << j.byShift.spot << ',' << static_cast<int>(j.verdict) << '\n';
  }
}

}  // namespace edamori::accuracy
