// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/appearance_internal.h"
#include "vision/align/branch_internal.h"
#include "vision/align/fit_internal.h"
#include "vision/align/likeness_internal.h"
#include "vision/align/placing_internal.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

namespace edamori::vision {

namespace {

// Below this many agreeing pairs even a good fit can be an accident. Chosen on the
// photos of tests/vision/align/photographs_test.cpp: unrelated pairs stay far below.
constexpr std::size_t kMinSupport = 18;
// Support must exceed what random partners reach by this factor and margin.
constexpr std::size_t kChanceFactor = 2;
constexpr std::size_t kChanceMargin = 6;
// So many pairs at such a share cannot come from chance; the deals need not be made.
constexpr std::size_t kPlainSupport = 60;
constexpr double kPlainShare = 0.3;
constexpr std::size_t kMinNearSupport = 8;
// Pairs that fit in place by accident are of any size and direction: about 1 in 50
// fits in both as well.
constexpr double kMinPlaceShare = 0.6;
// Cells of an 8 × 8 grid over the before photo that hold support.
constexpr int kGrid = 8;
constexpr std::size_t kMinCells = 4;
constexpr double kMaxCornerErrorPx = 8.0;  // working px: 0.5 % of the longer side
// Good enough to do without details close around the outline.
constexpr double kFirmCornerErrorPx = 4.0;
constexpr double kFirmAgreement = 0.5;
// A blurred backdrop has larger details than a branch in focus, on the generated tree
// series by a factor of 5 to 10.
constexpr double kMaxSizeOfOwn = 3.0;
constexpr std::size_t kMinOwnFeatures = 20;
// How the branch has to correlate where it is put; and how much better it may elsewhere.
// Chosen on the generated tree series, where branches lose or grow foliage in between.
constexpr double kMinAgreement = 0.3;
constexpr double kMaxBetterAgreement = 0.2;
constexpr double kAlikeAgreement = 0.05;
constexpr double kContradictionPx = 32.0;  // working px: 2 % of the longer side
// Pot, bench and backdrop are the same on photos of the next tree in that place: a plane counts
// only when the branch itself is found again in its outline, or looks plainly the same.
constexpr double kSameAgreement = 0.9;
constexpr double kLeastLikeness = 0.5;  // mean over the branch's cells
// The same of the whole photo, when no outline tells where the branch is.
constexpr double kFrameAgreement = 0.5;
// What nine of ten corners of accepted plane fits keep to; share of the longer side. Tuning set.
constexpr double kPlaneErrorShare = 0.026;
// √(−2 ln 0.1): radius that holds nine of ten points of a round Gaussian.
constexpr double kNineOfTen = 2.146;
// A branch in front of or behind its plane is off by more than the fit's scatter. Tuning set.
constexpr double kOffPlane = 2.4;
// A view in which so many of all pairs agree is that of one plane.
constexpr double kOnePlaneShare = 0.5;
// Few matches count only when there are so many times those of the mirror image.
constexpr double kMirrorFactor = 2.0;

Focus wholePhoto(std::size_t pairCount, const Outline& outline) {
  const BoundsPx b = boundsPx(outline.polygon);
  Focus focus{.weights = std::vector<double>(pairCount, 1.0),
              .near = {},
              .corners = {PointPx{b.left, b.top},
                          PointPx{b.right, b.top},
                          PointPx{b.right, b.bottom},
                          PointPx{b.left, b.bottom}}};
  for (std::size_t i = 0; i < pairCount; ++i) {
    focus.near.push_back(i);
  }
  return focus;
}

Focus around(const Outline& outline, const std::vector<PointPair>& pairs) {
  Focus focus = wholePhoto(pairs.size(), outline);
  focus.near.clear();
  const BoundsPx bounds = boundsPx(outline.polygon);
  const double diagonal = std::hypot(bounds.width(), bounds.height());
  constexpr double kNearShare = 0.25;  // of the outline's diagonal
  constexpr double kLeastWeight = 0.02;
  for (std::size_t i = 0; i < pairs.size(); ++i) {
    const PointPx p{.x = pairs[i].before.x, .y = pairs[i].before.y};
    const double away =
        contains(outline.polygon, p) ? 0.0 : distanceToEdgePx(outline.polygon, p) / diagonal;
    focus.weights[i] = std::max(std::exp(-0.5 * std::pow(away / kNearShare, 2)), kLeastWeight);
    if (away <= kNearShare) {
      focus.near.push_back(i);
    }
  }
  return focus;
}

Focus focusFor(const PlacingRequest& request, const std::vector<PointPair>& pairs) {
  return request.hasOutline ? around(request.outline, pairs)
                            : wholePhoto(pairs.size(), request.outline);
}

std::size_t cellsCovered(const Fit& fit, const std::vector<PointPair>& pairs, FrameSize frame) {
  std::vector<bool> isCovered(static_cast<std::size_t>(kGrid * kGrid), false);
  for (const std::size_t i : fit.support) {
    const int x = std::clamp(static_cast<int>(pairs[i].before.x * kGrid / frame.widthPx), 0, 7);
    const int y = std::clamp(static_cast<int>(pairs[i].before.y * kGrid / frame.heightPx), 0, 7);
    isCovered[static_cast<std::size_t>(y * kGrid + x)] = true;
  }
  return static_cast<std::size_t>(std::count(isCovered.begin(), isCovered.end(), true));
}

std::size_t nearSupport(const Fit& fit, const Focus& focus) {
  return static_cast<std::size_t>(
      std::count_if(fit.support.begin(), fit.support.end(), [&](std::size_t i) {
        return std::binary_search(focus.near.begin(), focus.near.end(), i);
      }));
}

bool beatsChance(const Fit& fit, const std::vector<PointPair>& pairs, const Focus& focus) {
  const auto support = fit.support.size();
  if (support >= kPlainSupport &&
      static_cast<double>(support) >= kPlainShare * static_cast<double>(pairs.size())) {
    return true;
  }
  return support >= kChanceFactor * supportByChance(pairs, focus) + kChanceMargin;
}

double lowerQuartile(std::vector<double> sizes) {
  const auto at = sizes.begin() + static_cast<std::ptrdiff_t>(sizes.size() / 4);
  std::nth_element(sizes.begin(), at, sizes.end());
  return *at;
}

// Ordered from the least to the most that a fit has in its favour.
enum class Evidence { TooFew, OnBackdrop, NotNear, Loose, LooksOther, Enough };

struct Judged {
  Fit fit;
  Appearance look;
  Evidence evidence = Evidence::TooFew;
  double share = 0.0;          // of all pairs that support the fit
  std::size_t ownSupport = 0;  // of the support, what lies within the outline
};

std::size_t supportWithin(const Outline& outline,
                          const Fit& fit,
                          const std::vector<PointPair>& pairs) {
  return static_cast<std::size_t>(
      std::count_if(fit.support.begin(), fit.support.end(), [&](std::size_t i) {
        return contains(outline.polygon, {.x = pairs[i].before.x, .y = pairs[i].before.y});
      }));
}

bool isOnBackdrop(const Fit& fit,
                  const std::vector<PointPair>& pairs,
                  const PlacingRequest& request) {
  std::vector<double> own;
  const Features& features = request.photos.featuresBefore;
  for (std::size_t i = 0; i < features.points.size(); ++i) {
    if (contains(request.outline.polygon, {.x = features.points[i].x, .y = features.points[i].y})) {
      own.push_back(features.sizes[i]);
    }
  }
  std::vector<double> found;
  for (const std::size_t i : fit.support) {
    found.push_back(pairs[i].sizePx);
  }
  if (own.size() < kMinOwnFeatures || found.empty()) {
    return false;
  }
  return lowerQuartile(std::move(found)) > kMaxSizeOfOwn * lowerQuartile(std::move(own));
}

Evidence evidenceOf(const Fit& fit,
                    const Appearance& look,
                    const std::vector<PointPair>& pairs,
                    const Focus& focus,
                    const PlacingRequest& request) {
  if (fit.support.size() < kMinSupport || fit.placeShare < kMinPlaceShare ||
      cellsCovered(fit, pairs, sizeOf(request.photos.before)) < kMinCells ||
      !beatsChance(fit, pairs, focus)) {
    return Evidence::TooFew;
  }
  if (isOnBackdrop(fit, pairs, request)) {
    return Evidence::OnBackdrop;
  }
  const bool isPlaced = fit.cornerError <= kFirmCornerErrorPx && look.here >= kFirmAgreement;
  if (nearSupport(fit, focus) < kMinNearSupport && !isPlaced) {
    return Evidence::NotNear;
  }
  if (!(fit.cornerError <= kMaxCornerErrorPx)) {
    return Evidence::Loose;
  }
  const bool looksSame = look.here >= kMinAgreement && look.best - look.here <= kMaxBetterAgreement;
  return looksSame ? Evidence::Enough : Evidence::LooksOther;
}

double displacement(const Fit& a, const Fit& b, const Focus& focus) {
  double most = 0.0;
  for (const PointPx corner : focus.corners) {
    const PointPx p = mapped(a.afterFromBefore, corner);
    const PointPx q = mapped(b.afterFromBefore, corner);
    most = std::max(most, std::hypot(p.x - q.x, p.y - q.y));
  }
  return most;
}

bool isPreferred(const Judged& a, const Judged& b) {
  if (a.evidence != b.evidence) {
    return a.evidence > b.evidence;
  }
  if (std::abs(a.look.here - b.look.here) > kAlikeAgreement) {
    return a.look.here > b.look.here;
  }
  return a.fit.support.size() > b.fit.support.size();
}

// The fit that the branch follows, with what speaks for it; absent when nothing fits.
std::optional<Judged> judgedBest(const PlacingRequest& request,
                                 const WorkingPhoto& after,
                                 const Matching& matching) {
  const auto pairs = matching.pairs();
  const Focus focus = focusFor(request, pairs);
  std::vector<Judged> all;
  std::optional<Judged> best;
  for (Fit& fit : rivalFits(pairs, focus)) {
    Judged judged;
    judged.look = appearanceOf(request.photos.before, after, fit.afterFromBefore, request.outline);
    judged.evidence = evidenceOf(fit, judged.look, pairs, focus, request);
    judged.share = static_cast<double>(fit.support.size()) /
                   static_cast<double>(std::max<std::size_t>(1, pairs.size()));
    judged.ownSupport = supportWithin(request.outline, fit, pairs);
    judged.fit = std::move(fit);
    if (!best || isPreferred(judged, *best)) {
      best = judged;
    }
    all.push_back(std::move(judged));
  }
  const auto contradicts = [&](const Judged& other) {
    return other.evidence == Evidence::Enough &&
           displacement(other.fit, best->fit, focus) > kContradictionPx &&
           other.look.here > best->look.here - kAlikeAgreement;
  };
  if (best && best->evidence == Evidence::Enough &&
      std::any_of(all.begin(), all.end(), contradicts)) {
    best->evidence = Evidence::LooksOther;
  }
  return best;
}

// The same on the mirror image of the after photo, which cannot be right.
std::optional<Judged> judgedMirrored(const PlacingRequest& request) {
  const WorkingPhoto flipped = mirrored(request.photos.after);
  const Features features = featuresOf(flipped);
  return judgedBest(request, flipped, Matching(request.photos.featuresBefore, features));
}

Error refusalFor(const std::optional<Judged>& best, const PlacingRequest& request) {
  switch (best ? best->evidence : Evidence::TooFew) {
    case Evidence::OnBackdrop:
      return alignRefusal(
          "only details of the blurred background are found again, none of the tree");
    case Evidence::NotNear:
      return alignRefusal("too few details around the branch are found again");
    case Evidence::Loose:
      return alignRefusal("the details found again lie too close together to place the branch");
    case Evidence::LooksOther:
      return alignRefusal("the branch does not look the same where the details found again put it");
    case Evidence::TooFew:
    case Evidence::Enough:
      break;
  }
  if (request.needsReason) {
    const auto flipped = judgedMirrored(request);
    if (flipped && flipped->evidence == Evidence::Enough) {
      return alignRefusal("one photo is the mirror image of the other");
    }
  }
  const std::size_t count = best ? best->fit.support.size() : 0;
  return alignRefusal("too few details of one are found again on the other (" +
                      std::to_string(count) +
                      " fit together, no more than unrelated photos may have)");
}

// Whether the mirror image fits nearly as well.
bool mirrorFitsAsWell(const Judged& best, const PlacingRequest& request) {
  const auto other = judgedMirrored(request);
  return other && kMirrorFactor * static_cast<double>(other->fit.support.size()) >=
                      static_cast<double>(best.fit.support.size());
}

// Whether a plane is found on the branch itself, not only on what stands around it. What lies outside the
// photo is refused for that later. Without an outline only the look is asked: foliage of one tree at two
// dates differs as much in its details as that of two trees.
bool showsBranch(const Judged& best, const PlacingRequest& request) {
  if (!request.hasOutline) {
    return best.look.here >= kFrameAgreement;
  }
  const double overlap = overlapShare(
      request.outline, sizeOf(request.photos.before), sizeOf(request.photos.after), best.fit.afterFromBefore);
  if (best.look.here >= kSameAgreement || overlap < kMinOutlineOverlap) {
    return true;
  }
  const Likeness like =
      likenessOf(request.photos.before, request.photos.after, request.outline, best.fit.afterFromBefore);
  return like.mean() >= kLeastLikeness;
}

// So much lies in one plane, and so plainly, that checkPlane() has nothing left to ask.
bool isOnePlane(const Judged& best) {
  return best.evidence == Evidence::Enough && best.fit.support.size() >= kPlainSupport &&
         best.share >= kOnePlaneShare && best.look.here >= kSameAgreement;
}

// Photos of a tree are no views of one plane: what the branch itself and its surroundings say.
std::vector<BranchFit> branchesOf(const PlacingRequest& request) {
  return branchFits({.photoBefore = request.photos.before,
                     .photoAfter = request.photos.after,
                     .before = request.photos.featuresBefore,
                     .after = request.photos.featuresAfter,
                     .matching = request.photos.matching,
                     .outline = request.outline});
}

Placing placingOf(const BranchFit& fit, const PlacingRequest& request) {
  return {.model = AlignmentModel::Homography,
          .afterFromBefore = fit.afterFromBefore,
          .residual = fit.medianResidual,
          .error = statedErrorShare(fit) * sizeOf(request.photos.after).longSidePx(),
          .support = fit.support};
}

// A plane carries the corners of its branch only as well as the branch is one.
Placing placingOf(const Judged& plane, double leastError, const PlacingRequest& request) {
  return {.model = plane.fit.model,
          .afterFromBefore = plane.fit.afterFromBefore,
          .residual = plane.fit.medianResidual,
          .error = std::max(leastError * sizeOf(request.photos.after).longSidePx(),
                            kOffPlane * kNineOfTen * plane.fit.cornerError),
          .support = plane.fit.support.size()};
}

// Whether a plane that has enough in its favour is that of the branch.
Result<void> checkPlane(const std::optional<Judged>& plane, const PlacingRequest& request) {
  if (!plane || plane->evidence != Evidence::Enough) {
    return refusalFor(plane, request);
  }
  if (!showsBranch(*plane, request)) {
    return alignRefusal("what stands around the branch is found again, but not the branch itself");
  }
  if (plane->fit.support.size() < kPlainSupport && mirrorFitsAsWell(*plane, request)) {
    return alignRefusal("the mirror image of one photo fits about as well as the photo itself");
  }
  return {};
}

}  // namespace

MatchedPhotos::MatchedPhotos(const RgbImage& photoBefore, const RgbImage& photoAfter)
    : before(workingPhoto(photoBefore)),
      after(workingPhoto(photoAfter)),
      featuresBefore(featuresOf(before)),
      featuresAfter(featuresOf(after)),
      matching(featuresBefore, featuresAfter) {}

Error alignRefusal(const std::string& reason) {
  return fail(ErrorCode::NotMeasurable,
              "the photos cannot be aligned: " + reason +
                  "; choose two photos of the same branch from about the same place");
}

Placed placed(const PlacingRequest& request) {
  const auto plane = judgedBest(request, request.photos.after, request.photos.matching);
  if (plane && isOnePlane(*plane)) {
    return {.certain = placingOf(*plane, 0.0, request), .guess = {}};
  }
  std::vector<BranchFit> branches;
  if (request.hasOutline) {
    branches = branchesOf(request);
    if (!branches.empty() && isConvincing(branches.front())) {
      return {.certain = placingOf(branches.front(), request), .guess = {}};
    }
  }
  // Only now: to tell a mirrored photo takes as long as all the rest.
  const auto checked = checkPlane(plane, request);
  if (checked) {
    return {.certain = placingOf(*plane, kPlaneErrorShare, request), .guess = {}};
  }
  std::optional<Placing> guess;
  if (!branches.empty() && isLikely(branches.front())) {
    guess = placingOf(branches.front(), request);
  }
  return {.certain = checked.error(), .guess = guess};
}

}  // namespace edamori::vision
