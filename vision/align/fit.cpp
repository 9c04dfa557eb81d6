// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/fit_internal.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <numeric>
#include <random>
#include <utility>

#include <opencv2/calib3d.hpp>

namespace edamori::vision {

namespace {

constexpr std::size_t kMinPairsToFit = 6;
// A feature's own size and direction are good to about a third of an octave and one
// or two of 36 bins; perspective adds to both.
constexpr double kMaxScaleDisagreement = 1.6;
constexpr double kMaxTurnDisagreementDeg = 25.0;
// Half the working size: brings coordinates near −1…1, which keeps the equations well posed.
constexpr double kUnitPx = 800.0;

double distance(const Homography& h, const PointPair& pair) {
  const PointPx p = mapped(h, {.x = pair.before.x, .y = pair.before.y});
  return std::hypot(p.x - pair.after.x, p.y - pair.after.y);
}

bool agreesInSizeAndDirection(const Homography& h, const PointPair& pair) {
  const LocalStretch local = stretchAt(h, {.x = pair.before.x, .y = pair.before.y});
  const double disagreement = std::abs(std::log(pair.scale / local.scale));
  return local.determinant > 0.0 && disagreement <= std::log(kMaxScaleDisagreement) &&
         std::abs(std::remainder(pair.turnDeg - local.turnDeg, 360.0)) <= kMaxTurnDisagreementDeg;
}

double medianOf(std::vector<double> values) {
  if (values.empty()) {
    return 0.0;
  }
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

// ---- Start: robust fits by OpenCV.

struct PointLists {
  std::vector<cv::Point2f> before, after;
};

PointLists listsOf(const std::vector<PointPair>& pairs, const std::vector<std::size_t>& chosen) {
  PointLists lists;
  for (const std::size_t i : chosen) {
    lists.before.emplace_back(pairs[i].before);
    lists.after.emplace_back(pairs[i].after);
  }
  return lists;
}

cv::UsacParams consensusParameters() {
  cv::UsacParams parameters;
  parameters.confidence = 0.999;
  parameters.isParallel = false;  // Results in parallel depend on timing.
  parameters.loIterations = 10;
  parameters.loMethod = cv::LOCAL_OPTIM_SIGMA;
  parameters.loSampleSize = 50;
  parameters.maxIterations = 5000;
  parameters.neighborsSearch = cv::NEIGH_GRID;
  parameters.randomGeneratorState = 0;
  parameters.sampler = cv::SAMPLING_UNIFORM;
  parameters.score = cv::SCORE_METHOD_MAGSAC;
  parameters.threshold = kSupportPx;
  return parameters;
}

std::optional<Homography> roughHomography(const PointLists& lists) {
  cv::Mat mask;
  const cv::Mat h = cv::findHomography(lists.before, lists.after, mask, consensusParameters());
  if (h.empty() || h.rows != 3 || h.at<double>(2, 2) == 0.0) {
    return std::nullopt;
  }
  Homography result{};
  for (int i = 0; i < 9; ++i) {
    result[static_cast<std::size_t>(i)] = h.at<double>(i / 3, i % 3) / h.at<double>(2, 2);
  }
  return result;
}

std::optional<Homography> roughSimilarity(const PointLists& lists) {
  const cv::Mat m = cv::estimateAffinePartial2D(
      lists.before, lists.after, cv::noArray(), cv::RANSAC, kSupportPx, 5000, 0.999, 10);
  if (m.empty()) {
    return std::nullopt;
  }
  return Homography{m.at<double>(0, 0),
                    m.at<double>(0, 1),
                    m.at<double>(0, 2),
                    m.at<double>(1, 0),
                    m.at<double>(1, 1),
                    m.at<double>(1, 2),
                    0,
                    0,
                    1};
}

// ---- Refinement: weighted least squares of the distances in the after photo.

int parameterCount(AlignmentModel model) { return model == AlignmentModel::Homography ? 8 : 4; }

// Derivatives of the mapped point's x and y by the parameters: h[0]…h[7] of a homography, or
// a, b, x, y of the similarity [a −b x; b a y], which leaves the last four 0.
using Jacobian = cv::Matx<double, 2, 8>;

Jacobian jacobian(AlignmentModel model, const Homography& h, PointPx p) {
  if (model == AlignmentModel::Similarity) {
    return {p.x, -p.y, 1, 0, 0, 0, 0, 0,  //
            p.y, p.x, 0, 1, 0, 0, 0, 0};
  }
  const double w = h[6] * p.x + h[7] * p.y + h[8];
  const PointPx image = mapped(h, p);
  const double x = p.x / w;
  const double y = p.y / w;
  return {x, y, 1.0 / w, 0, 0, 0, -image.x * x, -image.x * y,  //
          0, 0, 0, x, y, 1.0 / w, -image.y * x, -image.y * y};
}

Homography stepped(AlignmentModel model, const Homography& h, const cv::Mat& step) {
  const auto at = [&step](int i) { return step.at<double>(i, 0); };
  Homography result = h;
  if (model == AlignmentModel::Similarity) {
    const double a = h[0] + at(0);
    const double b = h[3] + at(1);
    return {a, -b, h[2] + at(2), b, a, h[5] + at(3), 0, 0, 1};
  }
  for (int i = 0; i < 8; ++i) {
    result[static_cast<std::size_t>(i)] += at(i);
  }
  return result;
}

// Coordinates in kUnitPx, so that a homography's small and large elements meet.
Homography inUnits(const Homography& h) {
  return {
      h[0], h[1], h[2] / kUnitPx, h[3], h[4], h[5] / kUnitPx, h[6] * kUnitPx, h[7] * kUnitPx, 1};
}
Homography inPixels(const Homography& h) {
  return {
      h[0], h[1], h[2] * kUnitPx, h[3], h[4], h[5] * kUnitPx, h[6] / kUnitPx, h[7] / kUnitPx, 1};
}

struct Normals {
  cv::Mat matrix;  // Σ w JᵀJ
  cv::Mat right;   // Σ w Jᵀr
};

Normals normalsOf(AlignmentModel model,
                  const Homography& h,
                  const std::vector<PointPair>& pairs,
                  const std::vector<std::size_t>& chosen,
                  const std::vector<double>& weights) {
  cv::Matx<double, 8, 8> matrix = cv::Matx<double, 8, 8>::zeros();
  cv::Matx<double, 8, 1> right = cv::Matx<double, 8, 1>::zeros();
  for (const std::size_t i : chosen) {
    const PointPx p{.x = pairs[i].before.x / kUnitPx, .y = pairs[i].before.y / kUnitPx};
    const PointPx image = mapped(h, p);
    const cv::Vec2d residual(pairs[i].after.x / kUnitPx - image.x, pairs[i].after.y / kUnitPx - image.y);
    const double px = cv::norm(residual) * kUnitPx;
    const double weight = weights[i] / (1.0 + px * px);  // Cauchy, scale 1 px
    const Jacobian j = jacobian(model, h, p);
    const auto weighted = (weight * j).t();
    matrix += weighted * j;
    right += weighted * residual;
  }
  const cv::Range used(0, parameterCount(model));
  return {.matrix = cv::Mat(matrix)(used, used).clone(), .right = cv::Mat(right).rowRange(used).clone()};
}

// Standard error in px of where the fit puts the worst corner.
double cornerErrorOf(const Fit& fit, const std::vector<PointPair>& pairs, const Focus& focus) {
  const Homography h = inUnits(fit.afterFromBefore);
  const Normals normals = normalsOf(fit.model, h, pairs, fit.support, focus.weights);
  cv::Mat inverse;
  if (cv::invert(normals.matrix, inverse, cv::DECOMP_CHOLESKY) == 0.0) {
    return HUGE_VAL;
  }
  // A quarter pixel is about what a feature's place is good to, however well a few agree.
  const double sigma = std::max(fit.medianResidual * 0.85, 0.25);
  double worst = 0.0;
  for (const PointPx corner : focus.corners) {
    const Jacobian all = jacobian(fit.model, h, {.x = corner.x / kUnitPx, .y = corner.y / kUnitPx});
    const cv::Mat j = cv::Mat(all).colRange(0, inverse.rows);
    const cv::Mat covariance = j * inverse * j.t();
    worst = std::max(worst, sigma * std::sqrt(cv::trace(covariance)[0]));
  }
  return std::isfinite(worst) ? worst : HUGE_VAL;
}

void takeSupport(Fit& fit, const std::vector<PointPair>& pairs) {
  fit.support.clear();
  std::vector<double> distances;
  double inPlace = 0.0;
  for (std::size_t i = 0; i < pairs.size(); ++i) {
    const double d = distance(fit.afterFromBefore, pairs[i]);
    if (!(d <= kSupportPx)) {
      continue;
    }
    inPlace += 1.0;
    if (agreesInSizeAndDirection(fit.afterFromBefore, pairs[i])) {
      fit.support.push_back(i);
      distances.push_back(d);
    }
  }
  fit.medianResidual = medianOf(std::move(distances));
  fit.placeShare = inPlace > 0.0 ? static_cast<double>(fit.support.size()) / inPlace : 0.0;
}

Fit refined(AlignmentModel model,
            const Homography& start,
            const std::vector<PointPair>& pairs,
            const Focus& focus) {
  Fit fit{.model = model, .afterFromBefore = start, .support = {}};
  takeSupport(fit, pairs);
  constexpr int kRounds = 8;
  for (int round = 0; round < kRounds && fit.support.size() >= kMinPairsToFit; ++round) {
    const Homography h = inUnits(fit.afterFromBefore);
    const Normals normals = normalsOf(model, h, pairs, fit.support, focus.weights);
    cv::Mat step;
    if (!cv::solve(normals.matrix, normals.right, step, cv::DECOMP_CHOLESKY)) {
      break;
    }
    Fit next{.model = model, .afterFromBefore = inPixels(stepped(model, h, step)), .support = {}};
    takeSupport(next, pairs);
    if (next.support.size() * 2 < fit.support.size()) {
      break;  // The step left the basin.
    }
    fit = std::move(next);
  }
  fit.cornerError =
      fit.support.size() >= kMinPairsToFit ? cornerErrorOf(fit, pairs, focus) : HUGE_VAL;
  return fit;
}

// ---- Choice.

double weightedSupport(const Fit& fit, const Focus& focus) {
  double sum = 0.0;
  for (const std::size_t i : fit.support) {
    sum += focus.weights[i];
  }
  return sum;
}

std::optional<Fit> bestOfModel(AlignmentModel model,
                               const std::vector<PointPair>& pairs,
                               const Focus& focus) {
  if (pairs.size() < kMinPairsToFit) {
    return std::nullopt;
  }
  std::vector<std::size_t> all(pairs.size());
  for (std::size_t i = 0; i < all.size(); ++i) {
    all[i] = i;
  }
  // A second start from the outline's surroundings alone: when the background lies
  // at another depth, it would win the vote of all pairs.
  std::vector<const std::vector<std::size_t>*> starts{&all};
  constexpr std::size_t kMinNear = 15;
  if (focus.near.size() >= kMinNear && focus.near.size() < all.size()) {
    starts.push_back(&focus.near);
  }
  std::optional<Fit> best;
  for (const auto* start : starts) {
    const PointLists lists = listsOf(pairs, *start);
    const auto rough =
        model == AlignmentModel::Homography ? roughHomography(lists) : roughSimilarity(lists);
    if (!rough) {
      continue;
    }
    Fit fit = refined(model, *rough, pairs, focus);
    if (!best || weightedSupport(fit, focus) > weightedSupport(*best, focus)) {
      best = std::move(fit);
    }
  }
  return best;
}

// Bayesian information criterion over the pairs that either model supports;
// distances beyond the support limit count as the limit.
double criterion(const Fit& fit,
                 const Fit& other,
                 const std::vector<PointPair>& pairs,
                 const Focus& focus) {
  std::vector<std::size_t> either;
  std::set_union(fit.support.begin(),
                 fit.support.end(),
                 other.support.begin(),
                 other.support.end(),
                 std::back_inserter(either));
  double squares = 0.0;
  double count = 0.0;
  for (const std::size_t i : either) {
    const double d = std::min(distance(fit.afterFromBefore, pairs[i]), kSupportPx);
    squares += focus.weights[i] * d * d;
    count += 2.0 * focus.weights[i];
  }
  constexpr double kFloorPx2 = 0.01;  // Finer than a feature can be placed.
  return count * std::log(squares / count + kFloorPx2) +
         parameterCount(fit.model) * std::log(std::max(count, 2.0));
}

}  // namespace

std::optional<Fit> bestFit(const std::vector<PointPair>& pairs, const Focus& focus) {
  auto homography = bestOfModel(AlignmentModel::Homography, pairs, focus);
  auto similarity = bestOfModel(AlignmentModel::Similarity, pairs, focus);
  if (!homography || !similarity) {
    return homography ? homography : similarity;
  }
  // A homography from few or bunched pairs swings freely away from them.
  constexpr std::size_t kMinForHomography = 16;
  constexpr double kMaxCornerError = 2.0;
  const bool isFirm =
      homography->support.size() >= kMinForHomography && homography->cornerError <= kMaxCornerError;
  const bool isBetter = criterion(*homography, *similarity, pairs, focus) <
                        criterion(*similarity, *homography, pairs, focus);
  return isFirm && isBetter ? homography : similarity;
}

std::vector<Fit> rivalFits(const std::vector<PointPair>& pairs, const Focus& focus) {
  std::vector<Fit> fits;
  std::vector<std::size_t> left(pairs.size());
  std::iota(left.begin(), left.end(), std::size_t{0});
  while (fits.size() < kMaxRivals) {
    std::vector<PointPair> rest;
    Focus restFocus{.weights = {}, .near = {}, .corners = focus.corners};
    for (const std::size_t i : left) {
      if (std::binary_search(focus.near.begin(), focus.near.end(), i)) {
        restFocus.near.push_back(rest.size());
      }
      rest.push_back(pairs[i]);
      restFocus.weights.push_back(focus.weights[i]);
    }
    auto fit = bestFit(rest, restFocus);
    if (!fit || fit->support.size() < kMinRivalSupport) {
      break;
    }
    for (std::size_t& i : fit->support) {
      i = left[i];
    }
    // Pairs a little beyond the support limit belong to the same thing.
    const Homography h = fit->afterFromBefore;
    const auto belongs = [&](std::size_t i) { return distance(h, pairs[i]) <= 3.0 * kSupportPx; };
    left.erase(std::remove_if(left.begin(), left.end(), belongs), left.end());
    fits.push_back(*std::move(fit));
  }
  return fits;
}

std::size_t supportByChance(const std::vector<PointPair>& pairs, const Focus& focus) {
  constexpr int kDeals = 4;
  std::mt19937 random(20240229);
  std::size_t most = 0;
  for (int deal = 0; deal < kDeals; ++deal) {
    std::vector<PointPair> dealt = pairs;
    for (std::size_t i = dealt.size(); i > 1; --i) {
      // std::shuffle and the distributions differ between libraries.
      const std::size_t j = random() % i;
      std::swap(dealt[i - 1].after, dealt[j].after);
    }
    for (const auto model : {AlignmentModel::Homography, AlignmentModel::Similarity}) {
      if (const auto fit = bestOfModel(model, dealt, focus)) {
        most = std::max(most, fit->support.size());
      }
    }
  }
  return most;
}

}  // namespace edamori::vision
