// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/looks_internal.h"

#include "vision/align/plane.h"

#include <array>
#include <cmath>
#include <cstddef>

namespace edamori::vision {

namespace {

constexpr double kLeastStepPx = 0.3;

// Climbs by steps of one parameter at a time, smaller and smaller. `worth` takes the parameters.
template <std::size_t kCount, typename Worth>
void climb(std::array<double, kCount>& at, double step, double leastStep, const Worth& worth) {
  double best = worth(at);
  for (; step > leastStep; step *= 0.6) {
    for (int round = 0; round < 4; ++round) {
      bool isBetter = false;
      for (std::size_t i = 0; i < kCount; ++i) {
        for (const double way : {step, -step}) {
          auto next = at;
          next.at(i) += way;
          const double value = worth(next);
          if (value > best) {
            best = value;
            at = next;
            isBetter = true;
            break;
          }
        }
      }
      if (!isBetter) {
        break;
      }
    }
  }
}

// Moves points around the centre by the first two, and what lies `extentPx` beside it by the others, px.
Homography bend(const std::array<double, 6>& by, PointPx centre, double extentPx) {
  const double a = 1.0 + by[2] / extentPx;
  const double b = by[3] / extentPx;
  const double c = by[4] / extentPx;
  const double d = 1.0 + by[5] / extentPx;
  return {a, b, centre.x + by[0] - a * centre.x - b * centre.y,
          c, d, centre.y + by[1] - c * centre.x - d * centre.y,
          0, 0, 1};
}

double half(double value) { return 0.5 * value * value; }

// Bent within the picture so that more of it looks right.
Homography bentToLook(const LookRequest& request, const Homography& plane) {
  const auto worth = [&](const std::array<double, 6>& by) {
    double off = 0.0;
    for (const double px : by) {
      off += half(px / request.tolerancePx);
    }
    return request.windows.at(composed(plane, bend(by, request.centre, request.extentPx))).worth() - off;
  };
  std::array<double, 6> by{};
  climb(by, 3.0, kLeastStepPx, worth);
  return composed(plane, bend(by, request.centre, request.extentPx));
}

}  // namespace

Homography placedByLook(const LookRequest& request, const cv::Vec3d& start) {
  const double units = unitsPerPx(request.family, start, request.centre);
  const std::array<cv::Vec3d, 3> ways{
      planeChange(units, request.centre, 0.0, 0.0, 0.0),
      planeChange(units, request.centre, request.axisX, request.axisY, request.extentPx),
      planeChange(units, request.centre, -request.axisY, request.axisX, request.extentPx)};
  const auto planeOf = [&](const std::array<double, 3>& by) {
    return start + ways[0] * by[0] + ways[1] * by[1] + ways[2] * by[2];
  };
  const auto worth = [&](const std::array<double, 3>& by) {
    const cv::Vec3d v = planeOf(by);
    return request.windows.at(request.family.plane(v)).worth() + request.readings.score(v, request.tolerancePx) -
           half(std::hypot(by[1], by[2]) / (2.5 * request.tolerancePx));
  };
  std::array<double, 3> along{};
  double best = worth(along);
  constexpr int kSteps = 20;
  for (int i = -kSteps; i <= kSteps; ++i) {
    const std::array<double, 3> next{request.reachPx * i / kSteps, 0.0, 0.0};
    const double value = worth(next);
    if (value > best) {
      best = value;
      along = next;
    }
  }
  climb(along, request.reachPx / kSteps, kLeastStepPx, worth);
  return bentToLook(request, request.family.plane(planeOf(along)));
}

}  // namespace edamori::vision
