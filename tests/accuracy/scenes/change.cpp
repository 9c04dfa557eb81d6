// SPDX-License-Identifier: GPL-3.0-or-later
#include "change.h"

#include "branch_depth.h"
#include "garden.h"

#include "generator/render.h"
#include "generator/truth.h"

#include <algorithm>
#include <array>
#include <cmath>

#include <opencv2/imgproc.hpp>

namespace edamori::scenes {
namespace {

// Pairs are drawn from other dice than the gardens of the same set and number.
constexpr std::uint64_t kFirstIndex = 1ULL << 40U;

// Light of another day: a little less varied, as people wait for a day that is fit.
constexpr LightRanges kOtherLight{.elevationDeg = {28.0F, 68.0F},
                                  .cloudySun = {0.25F, 0.7F},
                                  .clearSun = {1.3F, 3.2F},
                                  .mostWarmth = 0.35F,
                                  .mostBlue = 0.35F,
                                  .softBelow = 0.75F,
                                  .softPenumbraMm = {10.0F, 24.0F},
                                  .hardPenumbraMm = {1.0F, 6.0F}};

void fallIll(std::vector<BranchHealth>& health, bool areNeedles, Rng& rng) {
  for (BranchHealth& branch : health) {
    float& share = areNeedles ? branch.blightFraction : branch.spotFraction;
    share = std::max(share, rng.range(0.05F, areNeedles ? 0.7F : 0.35F));
  }
}

void happen(Happened happened, bool areNeedles, SceneDescription& before, SceneDescription& after, Rng& rng) {
  if (happened == Happened::CleanUp) {
    fallIll(before.health, areNeedles, rng);
  } else if (happened == Happened::Growth) {
    for (BranchHealth& branch : before.health) {
      branch.cover = std::min(branch.cover, rng.range(0.45F, 0.8F));
    }
  }
  after.health = before.health;
  for (BranchHealth& branch : after.health) {
    const float ill = areNeedles ? branch.blightFraction : 2.0F * branch.spotFraction;
    switch (happened) {
      case Happened::CleanUp:
        branch.cover *= 1.0F - rng.range(0.5F, 1.0F) * ill;
        branch.blightFraction *= rng.range(0.0F, 0.35F);
        branch.spotFraction *= rng.range(0.0F, 0.35F);
        break;
      case Happened::Thinning:
        branch.cover *= rng.range(0.5F, 0.92F);
        break;
      case Happened::Growth:
        branch.cover = std::min(1.0F, branch.cover * rng.range(1.1F, 1.8F));
        break;
      case Happened::Nothing:
      case Happened::NextSpring:
        break;
    }
  }
  if (happened == Happened::NextSpring) {
    after.foliage.seed = hashed(before.foliage.seed);
  }
}

std::vector<cv::Point2d> cornersOf(const BranchOutline& outline) {
  std::vector<cv::Point2d> corners;
  for (const cv::Point& p : outline.polygon) {
    corners.emplace_back(p.x, p.y);
  }
  return corners;
}

struct Shares {
  double cover = 0.0;
  std::optional<double> spotted;
};

Shares sharesWithin(const cv::Mat& labels, const std::vector<cv::Point>& polygon) {
  cv::Mat inside = cv::Mat::zeros(labels.size(), CV_8U);
  cv::fillPoly(inside, std::vector<std::vector<cv::Point>>{polygon}, cv::Scalar(255));
  const double all = cv::countNonZero(inside);
  const double foliage = cv::countNonZero((labels > 0) & inside);
  const double spotted = cv::countNonZero((labels == 255) & inside);
  return {.cover = all > 0.0 ? foliage / all : 0.0,
          .spotted = foliage > 0.0 ? std::optional(spotted / foliage) : std::nullopt};
}

}  // namespace

std::string_view nameOf(Happened happened) {
  static constexpr std::array<std::string_view, 5> kNames{"nothing", "clean-up", "thinning", "growth", "next-spring"};
  return kNames.at(static_cast<std::size_t>(happened));
}

LightLook drawnLightOfAnotherDay(Rng& rng) { return drawnLight(kOtherLight, rng); }

CameraLook cameraAgain(const CameraLook& first, bool isCareful, Rng& rng) {
  CameraLook camera = first;
  const float yaw = radians(isCareful ? rng.range(-8.0F, 8.0F) : rng.range(-20.0F, 20.0F));
  const Vec3 aside{rng.range(-12.0F, 12.0F), rng.range(-10.0F, 10.0F), 0.0F};
  camera.target = first.target + aside;
  const Vec3 arm = rotated(first.eye - first.target, {0.0F, 1.0F, 0.0F}, yaw);
  camera.eye = camera.target + arm + Vec3{0.0F, rng.range(-0.04F, 0.04F) * length(arm), 0.0F};
  camera.rollDeg += isCareful ? rng.range(-5.0F, 5.0F) : rng.range(-20.0F, 20.0F);
  const float most = isCareful ? std::log(1.15F) : std::log(1.5F);
  camera.focalPx *= std::exp(rng.range(-most, most));
  camera.exposureEv = rng.range(-0.5F, 0.5F);
  camera.whiteBalance = {rng.range(0.9F, 1.1F), 1.0F, rng.range(0.88F, 1.12F)};
  camera.noise = rng.range(0.3F, 2.2F);
  camera.seed = hashed(first.seed + 1U);
  return camera;
}

DrawnChange drawnChange(SceneSet set, std::uint64_t index, int longSidePx) {
  Rng rng(seedOf(set, kFirstIndex + index));
  DrawnChange change;
  change.happened = static_cast<Happened>(index % 5U);
  change.before = drawnGarden(set, kFirstIndex + index, longSidePx);
  change.after = change.before;
  happen(change.happened, bearsNeedles(change.before), change.before, change.after, rng);
  change.stillView = change.after;
  change.after.light = drawnLightOfAnotherDay(rng);
  change.after.camera = cameraAgain(change.before.camera, rng.uniform() < 0.8F, rng);
  return change;
}

ChangePictures renderChange(const DrawnChange& change) {
  constexpr double kLeastCover = 0.05;
  const RenderedScene before = renderScene(change.before);
  const cv::Mat later = renderScene(change.stillView).labels;
  BranchDepth depth(change.before);
  depth.takeDrawn(before.nearness);
  ChangePictures pictures{.before = before.picture, .after = renderScene(change.after).picture, .branches = {}};
  for (const BranchOutline& outline : outlineBranches(change.before, before)) {
    const Shares shares = sharesWithin(before.labels, outline.polygon);
    if (outline.branch == change.before.tree.trunkName || shares.cover < kLeastCover) {
      continue;
    }
    const Shares sharesLater = sharesWithin(later, outline.polygon);
    const auto corners = cornersOf(outline);
    pictures.branches.push_back(
        {.branch = outline.branch,
         .outlineBefore = corners,
         .outlineAfter = depth.carried(depth.branchNamed(outline.branch), corners, change.after.camera),
         .coverBefore = shares.cover,
         .coverAfter = sharesLater.cover,
         .spottedBefore = shares.spotted,
         .spottedAfter = sharesLater.spotted});
  }
  return pictures;
}

}  // namespace edamori::scenes
