// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/depth_internal.h"
#include "vision/align/plane.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <random>

#include <opencv2/calib3d.hpp>

namespace edamori::vision {

namespace {

// Brings coordinates near 1, which keeps the equations well posed.
constexpr double kUnitPx = 800.0;

double wrapped(double degrees) { return std::remainder(degrees, 360.0); }

cv::Vec3d unitPoint(cv::Point2d p) { return {p.x / kUnitPx, p.y / kUnitPx, 1.0}; }
cv::Vec3d unitPoint(PointPx p) { return {p.x / kUnitPx, p.y / kUnitPx, 1.0}; }

float distanceOf(const cv::Mat& a, int i, const cv::Mat& b, int j) {
  const auto* p = a.ptr<float>(i);
  const auto* q = b.ptr<float>(j);
  constexpr int kLanes = 8;  // sums side by side, as wide registers have them
  std::array<float, kLanes> sums{};
  for (int k = 0; k < 128; k += kLanes) {
    for (int lane = 0; lane < kLanes; ++lane) {
      sums[static_cast<std::size_t>(lane)] += p[k + lane] * q[k + lane];
    }
  }
  const float dot = std::accumulate(sums.begin(), sums.end(), 0.0F);
  return std::sqrt(std::max(0.0F, 2.0F - 2.0F * dot));  // both of length 1
}

cv::Matx33d skew(const cv::Vec3d& e) { return {0, -e[2], e[1], e[2], 0, -e[0], -e[1], e[0], 0}; }

}  // namespace

FeatureGrid::FeatureGrid(const Features& features, cv::Size frame)
    : m_columns(static_cast<int>(frame.width / kCellPx) + 1),
      m_rows(static_cast<int>(frame.height / kCellPx) + 1),
      m_cells(static_cast<std::size_t>(m_columns * m_rows)) {
  for (std::size_t i = 0; i < features.points.size(); ++i) {
    const int column = std::clamp(static_cast<int>(features.points[i].x / kCellPx), 0, m_columns - 1);
    const int row = std::clamp(static_cast<int>(features.points[i].y / kCellPx), 0, m_rows - 1);
    m_cells[static_cast<std::size_t>(row * m_columns + column)].push_back(static_cast<int>(i));
  }
}

namespace {

// The partner of one feature, if it is clearly the best around.
std::optional<GuidedPair> partnerOf(int index,
                                    const Features& before,
                                    const Features& after,
                                    const FeatureGrid& grid,
                                    const Guide& guide) {
  const auto i = static_cast<std::size_t>(index);
  const cv::Point2d from = before.points[i];
  const PointPx expected = mapped(guide.reference, {.x = from.x, .y = from.y});
  const LocalStretch local = stretchAt(guide.reference, {.x = from.x, .y = from.y});
  std::optional<cv::Vec3d> line;
  double searchPx = guide.reachPx;
  if (guide.fundamental) {
    // A strip of the same length wherever it is shifted to.
    searchPx = std::hypot(guide.reachPx, std::abs(guide.shiftPx) + 4.0 * guide.widthPx);
    line = *guide.fundamental * cv::Vec3d(from.x, from.y, 1.0);
    *line /= std::hypot((*line)[0], (*line)[1]);
    (*line)[2] += guide.shiftPx;
  }
  const double expectedSize = before.sizes[i] * local.scale;
  const double least = expectedSize / guide.sizeFactor;
  const double most = expectedSize * guide.sizeFactor;
  const double expectedDeg = before.anglesDeg[i] + local.turnDeg;
  const auto isAround = [&](cv::Point2d to) {
    const double dx = to.x - expected.x;
    const double dy = to.y - expected.y;
    return line ? std::abs((*line)[0] * to.x + (*line)[1] * to.y + (*line)[2]) <= guide.widthPx &&
                      std::abs((*line)[0] * dy - (*line)[1] * dx) <= guide.reachPx
                : dx * dx + dy * dy <= guide.reachPx * guide.reachPx;
  };
  GuidedPair best{.before = index, .after = -1, .distance = HUGE_VAL};
  std::vector<std::pair<double, int>> seen;
  grid.around({expected.x, expected.y}, searchPx, line, guide.widthPx, [&](int candidate) {
    const auto j = static_cast<std::size_t>(candidate);
    if (after.sizes[j] < least || after.sizes[j] > most || !isAround(after.points[j]) ||
        std::abs(wrapped(after.anglesDeg[j] - expectedDeg)) > guide.turnDeg) {
      return;
    }
    const double d = distanceOf(before.descriptors, index, after.descriptors, candidate);
    seen.emplace_back(d, candidate);
    if (d < best.distance) {
      best = {.before = index, .after = candidate, .distance = d};
    }
  });
  if (best.after < 0) {
    return std::nullopt;
  }
  // The same spot often carries several features; only those elsewhere rival the best.
  constexpr double kSameSpotPx = 3.0;
  const cv::Point2d at = after.points[static_cast<std::size_t>(best.after)];
  for (const auto& [d, candidate] : seen) {
    const cv::Point2d other = after.points[static_cast<std::size_t>(candidate)];
    if (best.distance > guide.ratio * d && std::hypot(other.x - at.x, other.y - at.y) > kSameSpotPx) {
      return std::nullopt;
    }
  }
  // Unit descriptors of unrelated patches are about 0.8 apart.
  constexpr double kMaxDistance = 0.75;
  return best.distance <= kMaxDistance ? std::optional(best) : std::nullopt;
}

}  // namespace

std::vector<GuidedPair> guidedPairs(const Features& before,
                                    const Features& after,
                                    const FeatureGrid& gridAfter,
                                    const std::vector<int>& chosen,
                                    const Guide& guide) {
  std::vector<GuidedPair> best(after.points.size());
  for (const int index : chosen) {
    const auto pair = partnerOf(index, before, after, gridAfter, guide);
    if (!pair) {
      continue;
    }
    GuidedPair& taken = best[static_cast<std::size_t>(pair->after)];
    if (taken.distance == 0.0 || pair->distance < taken.distance) {
      taken = *pair;
    }
  }
  std::vector<GuidedPair> pairs;
  for (const GuidedPair& pair : best) {
    if (pair.distance > 0.0) {
      pairs.push_back(pair);
    }
  }
  return pairs;
}

namespace {

struct Voted {
  Homography h;
  double votes = 0.0;
  std::vector<std::size_t> voters;
};

// The similarity that one pair's place, size and direction ask for.
Homography askedBy(const PointPair& pair) {
  const double a = pair.scale * std::cos(pair.turnDeg * CV_PI / 180.0);
  const double b = pair.scale * std::sin(pair.turnDeg * CV_PI / 180.0);
  return {a, -b, pair.after.x - a * pair.before.x + b * pair.before.y,
          b, a, pair.after.y - b * pair.before.x - a * pair.before.y,
          0, 0, 1};
}

// The pairs that ask for about the same as `asking`.
Voted votedFor(const PointPair& asking, const std::vector<PointPair>& pairs, const std::vector<double>& weights,
               int longSidePx) {
  Voted voted{.h = askedBy(asking), .votes = 0.0, .voters = {}};
  for (std::size_t j = 0; j < pairs.size(); ++j) {
    const PointPx p = mapped(voted.h, {.x = pairs[j].before.x, .y = pairs[j].before.y});
    const double away = cv::norm(pairs[j].before - asking.before) * asking.scale;
    const double reach = 0.02 * longSidePx + 0.1 * away;
    if (std::hypot(p.x - pairs[j].after.x, p.y - pairs[j].after.y) <= reach &&
        std::abs(std::log(pairs[j].scale / asking.scale)) < 0.45 &&
        std::abs(wrapped(pairs[j].turnDeg - asking.turnDeg)) < 22.0) {
      voted.votes += weights[j];
      voted.voters.push_back(j);
    }
  }
  return voted;
}

// Least squares of a, b and the shift over the voters.
std::optional<Homography> fittedTo(const std::vector<std::size_t>& voters, const std::vector<PointPair>& pairs,
                                   const std::vector<double>& weights) {
  cv::Mat matrix = cv::Mat::zeros(4, 4, CV_64F), right = cv::Mat::zeros(4, 1, CV_64F);
  for (const std::size_t i : voters) {
    const cv::Vec3d p = unitPoint(pairs[i].before);
    const cv::Mat j = (cv::Mat_<double>(2, 4) << p[0], -p[1], 1, 0, p[1], p[0], 0, 1);
    const cv::Mat to = (cv::Mat_<double>(2, 1) << pairs[i].after.x / kUnitPx,
                        pairs[i].after.y / kUnitPx);
    matrix += weights[i] * j.t() * j;
    right += weights[i] * j.t() * to;
  }
  cv::Mat s;
  if (!cv::solve(matrix, right, s, cv::DECOMP_CHOLESKY)) {
    return std::nullopt;
  }
  const auto at = [&s](int i) { return s.at<double>(i, 0); };
  return Homography{at(0), -at(1), at(2) * kUnitPx, at(1), at(0), at(3) * kUnitPx, 0, 0, 1};
}

}  // namespace

std::vector<Homography> votedSimilarities(const std::vector<PointPair>& pairs,
                                          const std::vector<double>& weights,
                                          int longSidePx,
                                          std::size_t most) {
  std::vector<Voted> all;
  for (const PointPair& pair : pairs) {
    if (pair.scale >= 0.25 && pair.scale <= 4.0) {
      all.push_back(votedFor(pair, pairs, weights, longSidePx));
    }
  }
  std::stable_sort(all.begin(), all.end(), [](const Voted& x, const Voted& y) {
    return x.votes > y.votes;
  });
  std::vector<Homography> result;
  std::vector<bool> isTaken(pairs.size(), false);
  for (const Voted& voted : all) {
    const auto fresh = std::count_if(voted.voters.begin(), voted.voters.end(), [&](std::size_t i) {
      return !isTaken[i];
    });
    if (result.size() >= most || voted.voters.size() < 4) {
      break;
    }
    if (fresh * 2 < static_cast<std::ptrdiff_t>(voted.voters.size())) {
      continue;
    }
    for (const std::size_t i : voted.voters) {
      isTaken[i] = true;
    }
    if (const auto similarity = fittedTo(voted.voters, pairs, weights)) {
      result.push_back(*similarity);
    }
  }
  return result;
}

double lineDistance(const cv::Matx33d& fundamental, cv::Point2d before, cv::Point2d after) {
  const cv::Vec3d line = fundamental * cv::Vec3d(before.x, before.y, 1.0);
  return (line[0] * after.x + line[1] * after.y + line[2]) / std::hypot(line[0], line[1]);
}

namespace {

// The pairs that lie within `widthPx` of their epipolar line.
std::vector<std::size_t> supportOf(const cv::Matx33d& fundamental,
                                   const std::vector<cv::Point2d>& before,
                                   const std::vector<cv::Point2d>& after,
                                   double widthPx) {
  std::vector<std::size_t> support;
  for (std::size_t i = 0; i < before.size(); ++i) {
    if (std::abs(lineDistance(fundamental, before[i], after[i])) <= widthPx) {
      support.push_back(i);
    }
  }
  return support;
}

std::vector<cv::Point2d> chosenOf(const std::vector<cv::Point2d>& points,
                                  const std::vector<std::size_t>& indices) {
  std::vector<cv::Point2d> chosen;
  for (const std::size_t i : indices) {
    chosen.push_back(points[i]);
  }
  return chosen;
}

}  // namespace

std::optional<EpipolarFit> epipolarFit(const std::vector<cv::Point2d>& before,
                                       const std::vector<cv::Point2d>& after) {
  constexpr std::size_t kLeast = 14;
  constexpr double kWidthPx = 2.5;
  if (before.size() < kLeast) {
    return std::nullopt;
  }
  std::vector<cv::Point2f> from(before.begin(), before.end());
  std::vector<cv::Point2f> to(after.begin(), after.end());
  cv::UsacParams parameters;
  parameters.confidence = 0.999;
  parameters.isParallel = false;
  parameters.loIterations = 10;
  parameters.loMethod = cv::LOCAL_OPTIM_SIGMA;
  parameters.loSampleSize = 50;
  parameters.maxIterations = 4000;
  parameters.neighborsSearch = cv::NEIGH_GRID;
  parameters.randomGeneratorState = 0;
  parameters.sampler = cv::SAMPLING_UNIFORM;
  parameters.score = cv::SCORE_METHOD_MAGSAC;
  parameters.threshold = kWidthPx;
  cv::Mat mask;
  cv::Mat f = cv::findFundamentalMat(from, to, mask, parameters);
  if (f.rows != 3 || f.cols != 3) {
    return std::nullopt;
  }
  EpipolarFit fit{.fundamental = cv::Matx33d(f.ptr<double>()), .support = {}};
  constexpr int kRounds = 4;
  for (int round = 0; round <= kRounds; ++round) {
    const auto support = supportOf(fit.fundamental, before, after, kWidthPx);
    if (support.size() < kLeast || support.size() < fit.support.size()) {
      break;
    }
    fit.support = support;
    if (round == kRounds) {
      break;
    }
    const cv::Mat next = cv::findFundamentalMat(
        chosenOf(before, support), chosenOf(after, support), cv::FM_8POINT);
    if (next.rows != 3) {
      break;
    }
    const cv::Matx33d refined(next.ptr<double>());
    if (supportOf(refined, before, after, kWidthPx).size() < support.size()) {
      break;
    }
    fit.fundamental = refined;
  }
  return fit.support.size() >= kLeast ? std::optional(fit) : std::nullopt;
}

PlaneFamily::PlaneFamily(const cv::Matx33d& fundamental) {
  const cv::Matx33d scaled(kUnitPx, 0, 0, 0, kUnitPx, 0, 0, 0, 1);
  const cv::Matx33d f = scaled * fundamental * scaled;
  cv::Mat w, u, vt;
  cv::SVD::compute(cv::Mat(f), w, u, vt);
  epipole = {u.at<double>(0, 2), u.at<double>(1, 2), u.at<double>(2, 2)};
  base = skew(epipole) * (f * (1.0 / w.at<double>(0)));
}

Homography PlaneFamily::plane(const cv::Vec3d& v) const {
  cv::Matx33d h = base + epipole * v.t();
  const cv::Matx33d toPx(kUnitPx, 0, 0, 0, kUnitPx, 0, 0, 0, 1);
  h = toPx * h * toPx.inv();
  Homography result{};
  for (int i = 0; i < 9; ++i) {
    result[static_cast<std::size_t>(i)] = h.val[i] / h(2, 2);
  }
  return result;
}

namespace {

// One pair as an equation for v: u = v·x₁, and how far a change of u moves the point, px.
struct Reading {
  cv::Vec3d from;
  double u = 0.0;
  double pxPerU = 0.0;
  double acrossPx = 0.0;  // distance from the epipolar line
  double weight = 0.0;
};

Reading readingOf(const PlaneFamily& family, const cv::Vec3d& from, const cv::Vec3d& to) {
  const cv::Vec3d m = family.base * from;
  const cv::Vec3d toE = to.cross(family.epipole);
  Reading reading{.from = from};
  reading.u = -toE.dot(to.cross(m)) / std::max(toE.dot(toE), 1e-18);
  const cv::Vec3d at = m + family.epipole * reading.u;
  // Derivative of at by u, after division.
  const double w = at[2];
  const double dx = (family.epipole[0] * w - at[0] * family.epipole[2]) / (w * w);
  const double dy = (family.epipole[1] * w - at[1] * family.epipole[2]) / (w * w);
  reading.pxPerU = kUnitPx * std::hypot(dx, dy);
  reading.acrossPx = kUnitPx * std::hypot(at[0] / w - to[0], at[1] / w - to[1]);
  return reading;
}

// How far the plane v puts the pair from where it is, px along its epipolar line. For Reading and
// PlaneReadings::One.
double offPx(const auto& r, const cv::Vec3d& v) { return r.pxPerU * std::abs(v.dot(r.from) - r.u); }

double scoreOf(const auto& readings, const cv::Vec3d& v, double tolerancePx) {
  double sum = 0.0;
  for (const auto& r : readings) {
    const double share = offPx(r, v) / tolerancePx;
    sum += share < 1.0 ? r.weight * (1.0 - share * share) : 0.0;
  }
  return sum;
}

// A start for the plane: the slopes of `like`, moved through each pair in turn.
cv::Vec3d bestShift(const std::vector<Reading>& readings, const cv::Vec3d& like, double tolerancePx) {
  constexpr double kMinWeight = 0.2;
  cv::Vec3d best = like;
  double bestScore = scoreOf(readings, best, tolerancePx);
  for (const Reading& r : readings) {
    if (r.weight < kMinWeight) {
      continue;
    }
    cv::Vec3d v = like;
    v[2] += r.u - v.dot(r.from);
    const double score = scoreOf(readings, v, tolerancePx);
    if (score > bestScore) {
      best = v;
      bestScore = score;
    }
  }
  return best;
}

// The v whose plane is closest to a homography around some points.
std::optional<cv::Vec3d> planeLike(const PlaneFamily& family,
                                   const Homography& reference,
                                   const std::vector<PointPx>& points) {
  cv::Matx33d matrix = cv::Matx33d::zeros();
  cv::Vec3d right(0, 0, 0);
  for (const PointPx& p : points) {
    const Reading r = readingOf(family, unitPoint(p), unitPoint(mapped(reference, p)));
    const double w = r.pxPerU * r.pxPerU;
    matrix += r.from * r.from.t() * w;
    right += r.from * (w * r.u);
  }
  cv::Vec3d v;
  return cv::solve(matrix, right, v, cv::DECOMP_CHOLESKY) ? std::optional(v) : std::nullopt;
}

// Farthest corner from the middle of all, unit coordinates.
double extentOf(const std::vector<PointPx>& corners) {
  cv::Vec3d middle(0, 0, 0);
  double extent = 0.0;
  for (const PointPx& corner : corners) {
    middle += unitPoint(corner) * (1.0 / static_cast<double>(corners.size()));
  }
  for (const PointPx& corner : corners) {
    extent = std::max(extent, cv::norm(unitPoint(corner) - middle));
  }
  return extent;
}

struct NormalEquations {
  cv::Matx33d matrix = cv::Matx33d::zeros();
  cv::Vec3d right{0, 0, 0};
};

// Of the readings near v, weighted by Tukey's biweight of `scalePx`; held to `like` by `slopePrior`
// on the slopes.
NormalEquations normalEquations(const std::vector<Reading>& readings, const cv::Vec3d& v, double scalePx,
                                const cv::Vec3d& like, double slopePrior) {
  NormalEquations sums;
  const double reach = 2.5 * scalePx;
  for (const Reading& r : readings) {
    const double residual = offPx(r, v);
    if (residual > reach) {
      continue;
    }
    const double t = 1.0 - residual * residual / (reach * reach);
    const double w = r.weight * t * t * r.pxPerU * r.pxPerU / (scalePx * scalePx);
    sums.matrix += r.from * r.from.t() * w;
    sums.right += r.from * (w * r.u);
  }
  sums.matrix(0, 0) += slopePrior;
  sums.matrix(1, 1) += slopePrior;
  sums.right[0] += slopePrior * like[0];
  sums.right[1] += slopePrior * like[1];
  return sums;
}

// Fills in who supports v, with what weight and how well; false when nobody does.
bool findSupport(const std::vector<Reading>& readings, const cv::Vec3d& v, double tolerancePx, PlaneFit& fit) {
  std::vector<double> residuals;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    if (offPx(readings[i], v) <= tolerancePx) {
      fit.support.push_back(i);
      fit.weight += readings[i].weight;
      residuals.push_back(std::hypot(offPx(readings[i], v), readings[i].acrossPx));
    }
  }
  if (residuals.empty()) {
    return false;
  }
  std::nth_element(residuals.begin(),
                   residuals.begin() + static_cast<std::ptrdiff_t>(residuals.size() / 2),
                   residuals.end());
  fit.medianResidual = residuals[residuals.size() / 2];
  return true;
}

}  // namespace

std::optional<PlaneFit> planeFit(const PlaneFamily& family,
                                 const std::vector<cv::Point2d>& before,
                                 const std::vector<cv::Point2d>& after,
                                 const std::vector<double>& weights,
                                 const Homography& reference,
                                 double tolerancePx,
                                 const std::vector<PointPx>& corners) {
  const auto like = planeLike(family, reference, corners);
  if (!like || before.empty()) {
    return std::nullopt;
  }
  std::vector<Reading> readings;
  double meanPxPerU = 0.0;
  for (std::size_t i = 0; i < before.size(); ++i) {
    readings.push_back(readingOf(family, unitPoint(before[i]), unitPoint(after[i])));
    readings.back().weight = weights[i];
    meanPxPerU += readings.back().pxPerU / static_cast<double>(before.size());
  }
  // Slopes may move the rim by about the tolerance unless the pairs want more.
  const double slopeSigmaPx = 2.5 * tolerancePx;
  const double slopePrior = std::pow(meanPxPerU * std::max(extentOf(corners), 1e-6) / slopeSigmaPx, 2);
  cv::Vec3d v = bestShift(readings, *like, tolerancePx);
  NormalEquations sums;
  for (int round = 0; round < 10; ++round) {
    const double scalePx = round < 4 ? tolerancePx * 0.6 : tolerancePx * 0.35;
    sums = normalEquations(readings, v, scalePx, *like, slopePrior);
    cv::Vec3d next;
    if (!cv::solve(sums.matrix, sums.right, next, cv::DECOMP_CHOLESKY)) {
      return std::nullopt;
    }
    v = next;
  }
  PlaneFit fit;
  if (!findSupport(readings, v, tolerancePx, fit)) {
    return std::nullopt;
  }
  const cv::Matx33d covariance = sums.matrix.inv();
  for (const PointPx& corner : corners) {
    const cv::Vec3d at = unitPoint(corner);
    const double variance = at.dot(covariance * at);
    fit.cornerError = std::max(fit.cornerError, meanPxPerU * std::sqrt(std::max(0.0, variance)));
  }
  fit.v = v;
  fit.afterFromBefore = family.plane(v);
  return fit;
}

PlaneReadings::PlaneReadings(const PlaneFamily& family,
                             const std::vector<cv::Point2d>& before,
                             const std::vector<cv::Point2d>& after,
                             const std::vector<double>& weights) {
  for (std::size_t i = 0; i < before.size(); ++i) {
    const Reading r = readingOf(family, unitPoint(before[i]), unitPoint(after[i]));
    m_all.push_back({r.from, r.u, r.pxPerU, weights[i]});
  }
}

double PlaneReadings::score(const cv::Vec3d& v, double tolerancePx) const {
  return scoreOf(m_all, v, tolerancePx);
}

double unitsPerPx(const PlaneFamily& family, const cv::Vec3d& v, PointPx at) {
  const cv::Vec3d from = unitPoint(at);
  const cv::Vec3d to = family.base * from + family.epipole * v.dot(from);
  const Reading r = readingOf(family, from, to * (1.0 / to[2]));
  return 1.0 / std::max(r.pxPerU, 1e-9);
}

cv::Vec3d planeChange(double units,
                      PointPx centre,
                      double directionX,
                      double directionY,
                      double extentPx) {
  if (extentPx <= 0.0) {
    return {0.0, 0.0, units};
  }
  const double a = units * kUnitPx / extentPx * directionX;
  const double b = units * kUnitPx / extentPx * directionY;
  return {a, b, -(a * centre.x + b * centre.y) / kUnitPx};
}

}  // namespace edamori::vision
