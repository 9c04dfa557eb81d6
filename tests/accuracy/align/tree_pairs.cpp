// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/accuracy/align/tree_pairs.h"

#include "branch_depth.h"
#include "garden.h"

#include "generator/rng.h"
#include "generator/skeleton.h"
#include "generator/story.h"
#include "generator/truth.h"
#include "vision/align/plane.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>

namespace edamori::accuracy {

namespace {

using scenes::CameraLook;
using scenes::Rng;
using scenes::SceneDescription;
using scenes::Vec3;

constexpr int kLongSidePx = 900;
constexpr int kShortSidePx = 675;

struct TreeCase {
  std::string name;
  SceneDescription scene;  // the reference view
  Rng dice;
};

// One view of a tree.
struct Shot {
  std::string name;
  SceneDescription scene;
};

scenes::LightLook lightFrom(Rng& dice) {
  const float cloud = dice.range(0.0F, 1.0F) < 0.35F ? 1.0F : 0.0F;
  scenes::LightLook light;
  light.azimuthDeg = dice.range(35.0F, 150.0F);
  light.elevationDeg = dice.range(32.0F, 62.0F);
  const float sun = cloud > 0.5F ? dice.range(0.3F, 0.8F) : dice.range(1.5F, 3.1F);
  const float warmth = dice.range(0.65F, 0.95F);
  light.sun = Vec3{1.0F, 0.5F * (1.0F + warmth), warmth} * sun;
  const float sky = cloud > 0.5F ? 1.2F : dice.range(0.6F, 0.9F);
  light.sky = Vec3{0.9F, 1.0F, 1.15F} * sky;
  light.penumbraMm = cloud > 0.5F ? dice.range(8.0F, 22.0F) : dice.range(1.3F, 3.0F);
  return light;
}

void varyTree(SceneDescription& scene, Rng& dice) {
  constexpr scenes::HabitSpread kSpread{
      .attach = 0.02F, .azimuthDeg = 10.0F, .riseDeg = 6.0F, .length = {0.85F, 1.15F}, .sweep = {0.8F, 1.2F}};
  scenes::growOtherwise(scene.tree, kSpread, dice);
  scene.foliage.colour = scene.foliage.colour * dice.range(0.8F, 1.2F);
  scene.foliage.leafLengthMm *= dice.range(0.85F, 1.1F);
}

// Looks 2 and 4 (elm, white pine) are never seen in tuning.
std::vector<int> looksOf(Split split) {
  return split == Split::Tuning ? std::vector<int>{0, 1, 3, 5, 6}
                                : std::vector<int>{0, 1, 2, 3, 4, 5, 6};
}

std::vector<TreeCase> treesOf(Split split) {
  const std::vector<scenes::StoryTree> looks = scenes::storyTrees();
  const std::uint64_t firstSeed = split == Split::Tuning ? 7000 : 41000;
  std::vector<TreeCase> trees;
  for (const int look : looksOf(split)) {
    const scenes::StoryTree& story = looks[static_cast<std::size_t>(look)];
    for (int twin = 0; twin < 2; ++twin) {
      const auto seed = firstSeed + static_cast<std::uint64_t>(look * 10 + twin);
      TreeCase tree{.name = (split == Split::Tuning ? "tuning-" : "held-") + std::to_string(seed),
                    .scene = {},
                    .dice = Rng(seed)};
      tree.scene.tree = story.habit;
      tree.scene.tree.seed = seed;
      tree.scene.foliage = story.foliage;
      tree.scene.foliage.seed = seed;
      // Twins stand in the same place in the same pot: only the tree tells them apart.
      tree.scene.pot = story.pot;
      tree.scene.pot.seed = firstSeed + static_cast<std::uint64_t>(look);
      tree.scene.backdrop = story.backdrop;
      tree.scene.backdrop.seed = firstSeed + static_cast<std::uint64_t>(look);
      varyTree(tree.scene, tree.dice);
      tree.scene.light = lightFrom(tree.dice);
      trees.push_back(std::move(tree));
    }
  }
  return trees;
}

// Where the photographer stands, against straight in front.
struct Stand {
  float yawDeg = 0.0F;
  float rollDeg = 0.0F;
  float scale = 1.0F;
  float liftMm = 0.0F;
  Vec3 aside{0.0F, 0.0F, 0.0F};
};

CameraLook cameraAt(Vec3 target, float distanceMm, float liftMm, const Stand& stand) {
  CameraLook camera;
  camera.target = target + stand.aside;
  const float yaw = scenes::radians(stand.yawDeg);
  camera.eye = camera.target +
               Vec3{distanceMm * std::sin(yaw), liftMm + stand.liftMm, distanceMm * std::cos(yaw)};
  camera.rollDeg = stand.rollDeg;
  return camera;
}

CameraLook wholeTree(const SceneDescription& scene, const Stand& stand) {
  const float top = scene.pot.heightMm + scene.tree.heightMm + 122.0F;
  constexpr float kBottom = -55.0F;
  constexpr float kDistance = 1500.0F;
  CameraLook camera = cameraAt({0.25F * scene.tree.leanMm, 0.5F * (top + kBottom), 0.0F},
                               kDistance,
                               150.0F,
                               stand);
  camera.widthPx = kShortSidePx;
  camera.heightPx = kLongSidePx;
  camera.focalPx = std::min(0.95F * kLongSidePx * kDistance / (top - kBottom),
                            0.93F * kShortSidePx * kDistance / 590.0F) *
                   stand.scale;
  camera.defocusPx = 1.2F;
  return camera;
}

CameraLook closeUp(const SceneDescription& scene, bool ofTrunk, const Stand& stand) {
  const scenes::Skeleton skeleton = scenes::grow(scene.tree, scenes::soilHeightMm(scene));
  Vec3 target{};
  if (ofTrunk) {
    target = scenes::pointAt(skeleton.limbs.front(), 0.3F).position;
  } else {
    target = scenes::shootTips(skeleton, "First right").front().position;
  }
  constexpr float kDistance = 430.0F;
  CameraLook camera = cameraAt(target, kDistance, 55.0F, stand);
  camera.widthPx = kLongSidePx;
  camera.heightPx = kShortSidePx;
  camera.focalPx = kLongSidePx * kDistance / 165.0F * stand.scale;
  camera.planeZMm = target.z;
  camera.defocusPx = 5.0F;
  return camera;
}

Stand standFrom(Rng& dice, float mostYawDeg) {
  Stand stand;
  stand.yawDeg = dice.range(-mostYawDeg, mostYawDeg);
  stand.rollDeg = dice.range(-25.0F, 25.0F);
  stand.scale = std::exp(dice.range(std::log(0.6F), std::log(1.6F)));
  stand.liftMm = dice.range(-30.0F, 30.0F);
  stand.aside = Vec3{dice.range(-12.0F, 12.0F), dice.range(-10.0F, 10.0F), 0.0F};
  return stand;
}

// The same tree later: other light and exposure, foliage gone.
SceneDescription later(const SceneDescription& scene, Rng& dice) {
  SceneDescription after = scene;
  after.light = lightFrom(dice);
  after.camera.exposureEv = dice.range(-0.3F, 0.3F);
  const float warmth = dice.range(-0.06F, 0.06F);
  after.camera.whiteBalance = Vec3{1.0F + warmth, 1.0F, 1.0F - warmth};
  after.camera.noise = dice.range(0.6F, 1.8F);
  after.health = {{"", dice.range(0.6F, 1.0F), 0.0F, 0.0F}};
  return after;
}

Shot shot(const TreeCase& tree, const std::string& name, SceneDescription scene, CameraLook look) {
  look.exposureEv = scene.camera.exposureEv;
  look.whiteBalance = scene.camera.whiteBalance;
  look.noise = scene.camera.noise;
  look.seed = scenes::hashed(tree.scene.tree.seed * 131U + name.size() * 7U +
                               static_cast<unsigned char>(name.back()));
  scene.camera = look;
  return {tree.name + "-" + name, std::move(scene)};
}

// All shots of one tree; references come before the shots that are put onto them.
struct Album {
  Shot whole, side, back, branch, trunk;
  std::vector<Shot> wholeAgain, branchAgain, trunkAgain;
  Shot wholeNewLeaves;
};

Album albumOf(TreeCase tree) {
  Rng& dice = tree.dice;
  const SceneDescription& scene = tree.scene;
  Album album;
  album.whole = shot(tree, "whole-0", scene, wholeTree(scene, {}));
  for (int i = 1; i <= 3; ++i) {
    album.wholeAgain.push_back(shot(tree,
                                    "whole-" + std::to_string(i),
                                    later(scene, dice),
                                    wholeTree(scene, standFrom(dice, 20.0F))));
  }
  album.side = shot(tree, "side", later(scene, dice), wholeTree(scene, {.yawDeg = 75.0F}));
  album.back = shot(tree, "back", later(scene, dice), wholeTree(scene, {.yawDeg = 180.0F}));
  album.branch = shot(tree, "branch-0", scene, closeUp(scene, false, {}));
  album.trunk = shot(tree, "trunk-0", scene, closeUp(scene, true, {}));
  for (int i = 1; i <= 2; ++i) {
    // The second within what a hand repeats without care: 8°.
    const float yaw = i == 1 ? 20.0F : 8.0F;
    album.branchAgain.push_back(shot(tree,
                                     "branch-" + std::to_string(i),
                                     later(scene, dice),
                                     closeUp(scene, false, standFrom(dice, yaw))));
  }
  album.trunkAgain.push_back(
      shot(tree, "trunk-1", later(scene, dice), closeUp(scene, true, standFrom(dice, 20.0F))));
  SceneDescription next = later(scene, dice);
  next.foliage.seed += 1;
  album.wholeNewLeaves = shot(tree, "next-1", next, wholeTree(scene, standFrom(dice, 12.0F)));
  return album;
}

// ---- Truth.

// Where each corner of a line around a branch belongs on the after photo.
std::vector<PointPx> truthOf(const scenes::BranchDepth& depth,
                             int branch,
                             const Outline& outline,
                             const CameraLook& after) {
  std::vector<cv::Point2d> corners;
  for (const PointPx& p : outline.polygon) {
    corners.emplace_back(p.x, p.y);
  }
  std::vector<PointPx> truth;
  for (const cv::Point2d& p : depth.carried(branch, corners, after)) {
    truth.push_back({p.x, p.y});
  }
  return truth;
}

bool isInFrame(const PointPx& p, const CameraLook& camera) {
  return p.x >= 0 && p.y >= 0 && p.x <= camera.widthPx && p.y <= camera.heightPx;
}

// At least so much of the outline has to lie in the after photo for the pair to count as possible.
constexpr double kMinOverlap = 0.7;

double overlapOf(const std::vector<PointPx>& truth, const CameraLook& camera) {
  const Outline moved{.polygon = truth, .holes = {}};
  const Outline inside = vision::clippedToFrame(
      moved, {.widthPx = camera.widthPx, .heightPx = camera.heightPx});
  return vision::areaPx2(inside) / std::max(vision::areaPx2(moved), 1.0);
}

struct Drawer {
  PictureCache& cache;
  [[nodiscard]] std::function<RgbImage()> of(const Shot& shot) const {
    PictureCache* at = &cache;
    const auto held = std::make_shared<const Shot>(shot);
    return [at, held] { return at->picture(held->name, held->scene); };
  }
};

std::vector<Outline> outlinesOf(const Shot& shot, const scenes::BranchDepth& known, std::vector<int>& branches) {
  // outlineBranches needs the skeleton and the view only; labels only fill in its fractions.
  scenes::RenderedScene rendered;
  rendered.skeleton = scenes::grow(shot.scene.tree, scenes::soilHeightMm(shot.scene));
  rendered.view = scenes::cameraView(shot.scene.camera, 1);
  rendered.labels = cv::Mat::zeros(rendered.view.height, rendered.view.width, CV_8U);
  std::vector<Outline> outlines;
  for (const scenes::BranchOutline& line : scenes::outlineBranches(shot.scene, rendered)) {
    Outline outline;
    for (const cv::Point& p : line.polygon) {
      outline.polygon.push_back({static_cast<double>(p.x), static_cast<double>(p.y)});
    }
    if (line.branch != "Back") {
      outlines.push_back(std::move(outline));
      branches.push_back(known.branchNamed(line.branch));
    }
  }
  return outlines;
}

void addPairs(const std::string& kind,
              const Shot& before,
              const Shot& after,
              const Drawer& drawer,
              std::vector<KnownPair>& pairs) {
  scenes::BranchDepth known(before.scene);
  known.takeDrawn(drawer.cache.nearness(before.name, before.scene));
  std::vector<int> branches;
  const std::vector<Outline> outlines = outlinesOf(before, known, branches);
  for (std::size_t i = 0; i < outlines.size(); ++i) {
    if (areaPx2(outlines[i].polygon) < 0.004 * kLongSidePx * kShortSidePx) {
      continue;  // The rim of a branch that the frame cuts off.
    }
    std::vector<PointPx> truth = truthOf(known, branches[i], outlines[i], after.scene.camera);
    if (truth.empty() || overlapOf(truth, after.scene.camera) < kMinOverlap) {
      continue;
    }
    // Corners outside the after photo cannot be looked at; they are not counted.
    for (PointPx& p : truth) {
      if (!isInFrame(p, after.scene.camera)) {
        p = {std::nan(""), std::nan("")};
      }
    }
    const std::string part =
        branches[i] < 0 ? "trunk" : known.branchNames()[static_cast<std::size_t>(branches[i])];
    pairs.push_back({.kind = kind,
                     .name = before.name + " " + after.name + " " + part,
                     .before = drawer.of(before),
                     .after = drawer.of(after),
                     .outline = outlines[i],
                     .truth = std::move(truth)});
  }
}

RgbImage mirroredCopy(const RgbImage& photo) {
  RgbImage result(photo.width(), photo.height());
  for (int y = 0; y < photo.height(); ++y) {
    for (int x = 0; x < photo.width(); ++x) {
      for (int channel = 0; channel < 3; ++channel) {
        result.at(x, y, channel) = photo.at(photo.width() - 1 - x, y, channel);
      }
    }
  }
  return result;
}

// A branch of the before photo, or the whole photo, in turn.
std::optional<Outline> someOutline(const Shot& shot, std::size_t turn) {
  std::vector<int> branches;
  const std::vector<Outline> outlines = outlinesOf(shot, scenes::BranchDepth(shot.scene), branches);
  if (turn % 3 == 0 || outlines.empty()) {
    return std::nullopt;
  }
  return outlines[turn % outlines.size()];
}

}  // namespace

std::vector<KnownPair> possibleTreePairs(Split split, PictureCache& cache) {
  std::vector<KnownPair> pairs;
  const Drawer drawer{cache};
  for (const TreeCase& tree : treesOf(split)) {
    const Album album = albumOf(tree);
    for (const Shot& after : album.wholeAgain) {
      addPairs("whole tree", album.whole, after, drawer, pairs);
    }
    addPairs("whole tree, new leaves", album.whole, album.wholeNewLeaves, drawer, pairs);
    addPairs("close-up of a branch", album.branch, album.branchAgain[0], drawer, pairs);
    addPairs("close-up of a branch, 8 deg", album.branch, album.branchAgain[1], drawer, pairs);
    addPairs("close-up of the trunk", album.trunk, album.trunkAgain[0], drawer, pairs);
  }
  return pairs;
}

std::vector<KnownPair> impossibleTreePairs(Split split, PictureCache& cache) {
  std::vector<KnownPair> pairs;
  const Drawer drawer{cache};
  std::vector<Album> albums;
  for (const TreeCase& tree : treesOf(split)) {
    albums.push_back(albumOf(tree));
  }
  const auto add = [&](const std::string& kind,
                       const Shot& before,
                       const Shot& after,
                       std::function<RgbImage()> pictureAfter) {
    pairs.push_back({.kind = kind,
                     .name = before.name + " " + after.name,
                     .before = drawer.of(before),
                     .after = std::move(pictureAfter),
                     .outline = someOutline(before, pairs.size()),
                     .truth = {},
                     .isPossible = false});
  };
  for (std::size_t i = 0; i < albums.size(); ++i) {
    const Album& own = albums[i];
    for (std::size_t j = 0; j < albums.size(); ++j) {
      if (i == j) {
        continue;
      }
      const bool isTwin = i / 2 == j / 2;
      const Shot& whole = albums[j].wholeAgain[(i + j) % 3];
      add(isTwin ? "other tree, same place" : "other tree", own.whole, whole, drawer.of(whole));
      if (isTwin || (i + j) % 3 == 0) {
        const Shot& close = (i + j) % 2 == 0 ? albums[j].branchAgain[0] : albums[j].trunkAgain[0];
        add(isTwin ? "other tree, same place" : "other tree",
            (i + j) % 2 == 0 ? own.branch : own.trunk,
            close,
            drawer.of(close));
      }
    }
    if (i % 2 == 0) {
      add("other tree, same place", own.whole, albums[i + 1].whole, drawer.of(albums[i + 1].whole));
    }
    add("other side", own.whole, own.back, drawer.of(own.back));
    add("75 deg round", own.whole, own.side, drawer.of(own.side));
    for (const Shot* shot : {&own.wholeAgain[0], &own.wholeAgain[1], &own.whole}) {
      const auto straight = drawer.of(*shot);
      add("mirrored", own.whole, *shot, [straight] { return mirroredCopy(straight()); });
    }
    const auto close = drawer.of(own.trunkAgain[0]);
    add("mirrored", own.trunk, own.trunkAgain[0], [close] { return mirroredCopy(close()); });
  }
  return pairs;
}

}  // namespace edamori::accuracy
