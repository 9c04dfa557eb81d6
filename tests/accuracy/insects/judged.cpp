// SPDX-License-Identifier: GPL-3.0-or-later
#include "judged.h"

#include <algorithm>
#include <cmath>

namespace edamori::accuracy {

namespace {
double ratio(double part, double whole) { return whole > 0 ? part / whole : 0.0; }

int countFrom(const std::vector<double>& scores, double least) {
  return static_cast<int>(std::ranges::count_if(scores, [least](double score) { return score >= least; }));
}
}  // namespace

Judged judged(const std::vector<vision::InsectCandidate>& answers,
              const std::vector<scenes::TrueInsect>& truth) {
  Judged result;
  result.isBare = truth.empty();
  result.mustFind = static_cast<int>(
      std::ranges::count_if(truth, [](const auto& insect) { return insect.visible >= kMustBeSeen; }));
  std::vector<bool> isTaken(truth.size(), false);
  for (const vision::InsectCandidate& answer : answers) {
    std::size_t best = truth.size();
    double nearest = 1.0;
    for (std::size_t k = 0; k < truth.size(); ++k) {
      const auto& insect = truth[k];
      const double away = std::hypot(answer.centrePx.x - static_cast<double>(insect.x),
                                     answer.centrePx.y - static_cast<double>(insect.y)) /
                          static_cast<double>(insect.radiusPx);
      if (!isTaken[k] && away < nearest) {
        nearest = away;
        best = k;
      }
    }
    if (best == truth.size()) {
      result.falseOnes.push_back(answer.score);
      continue;
    }
    isTaken[best] = true;
    if (truth[best].visible >= kMustBeSeen) {
      result.right.push_back(answer.score);
      result.rightRadius.push_back(answer.radiusPx);
      result.trueRadius.push_back(static_cast<double>(truth[best].radiusPx));
    }
  }
  return result;
}

double Totals::recall() const { return ratio(found, mustFind); }
double Totals::falsePerTrue() const { return ratio(falseOnInsects, found); }
double Totals::precision() const { return ratio(found, found + falseOnInsects); }
double Totals::falsePerBarePhoto() const { return ratio(falseOnBare, barePhotos); }

Totals totalsAt(const std::vector<Judged>& photos, double leastScore) {
  Totals totals;
  for (const Judged& photo : photos) {
    ++totals.photos;
    totals.barePhotos += photo.isBare ? 1 : 0;
    totals.mustFind += photo.mustFind;
    totals.found += countFrom(photo.right, leastScore);
    (photo.isBare ? totals.falseOnBare : totals.falseOnInsects) += countFrom(photo.falseOnes, leastScore);
  }
  return totals;
}

std::vector<Bin> calibrationOf(const std::vector<Judged>& photos) {
  std::vector<Bin> bins(10);
  const auto add = [&bins](double score, int right) {
    Bin& bin = bins[static_cast<std::size_t>(std::clamp(static_cast<int>(10 * score), 0, 9))];
    ++bin.answers;
    bin.right += right;
    bin.meanScore += score;
  };
  for (const Judged& photo : photos) {
    std::ranges::for_each(photo.right, [&add](double score) { add(score, 1); });
    std::ranges::for_each(photo.falseOnes, [&add](double score) { add(score, 0); });
  }
  for (Bin& bin : bins) {
    bin.meanScore = ratio(bin.meanScore, bin.answers);
  }
  return bins;
}

}  // namespace edamori::accuracy
