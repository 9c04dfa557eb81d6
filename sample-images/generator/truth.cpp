// SPDX-License-Identifier: GPL-3.0-or-later
#include "generator/truth.h"

#include <algorithm>

#include "generator/rng.h"
#include <opencv2/imgproc.hpp>

namespace edamori::scenes {
namespace {

constexpr int kCorners = 14;

struct Cloud {
  std::vector<cv::Point2f> inFrame;
  std::size_t all = 0;
};

bool isInFrame(const View& view, ScreenPoint p, float margin) {
  const float mx = margin * static_cast<float>(view.width);
  const float my = margin * static_cast<float>(view.height);
  return p.key > 0.0F && p.x > -mx && p.y > -my && p.x < static_cast<float>(view.width) + mx &&
         p.y < static_cast<float>(view.height) + my;
}

void include(Cloud& cloud, const View& view, Vec3 point) {
  const ScreenPoint p = view.project(point);
  ++cloud.all;
  if (isInFrame(view, p, 0.04F)) {
    cloud.inFrame.emplace_back(p.x, p.y);
  }
}

cv::Point clampedToFrame(const View& view, cv::Point2f p) {
  return {std::clamp(static_cast<int>(std::lround(p.x)), 0, view.width - 1),
          std::clamp(static_cast<int>(std::lround(p.y)), 0, view.height - 1)};
}

// A generous closed line around the points: the reach in each direction from their middle,
// smoothed, a little uneven.
std::vector<cv::Point> lineAround(const View& view,
                                  const std::vector<cv::Point2f>& points,
                                  float marginPx,
                                  std::uint64_t seed) {
  cv::Point2f middle(0.0F, 0.0F);
  for (const cv::Point2f& p : points) {
    middle += p * (1.0F / static_cast<float>(points.size()));
  }
  std::vector<std::vector<float>> sectors(kCorners);
  for (const cv::Point2f& p : points) {
    const cv::Point2f d = p - middle;
    const float turn = std::atan2(d.y, d.x) / (2.0F * kPi) + 1.0F;
    const std::size_t sector = static_cast<std::size_t>(turn * kCorners + 0.5F) % kCorners;
    sectors[sector].push_back(std::sqrt(d.dot(d)));
  }
  std::vector<float> reach(kCorners, 0.0F);
  for (std::size_t i = 0; i < kCorners; ++i) {
    std::sort(sectors[i].begin(), sectors[i].end());
    reach[i] = sectors[i].empty() ? 0.0F : sectors[i][sectors[i].size() * 96 / 100];
  }
  Rng rng(seed);
  std::vector<cv::Point> line;
  for (std::size_t i = 0; i < kCorners; ++i) {
    const float around = 0.5F * (reach[(i + 1) % kCorners] + reach[(i + kCorners - 1) % kCorners]);
    const float r = (std::max(reach[i], 0.55F * around) * 0.8F + around * 0.2F + marginPx) *
                    rng.range(0.97F, 1.07F);
    const float angle = 2.0F * kPi * static_cast<float>(i) / kCorners;
    line.push_back(
        clampedToFrame(view, {middle.x + r * std::cos(angle), middle.y + r * std::sin(angle)}));
  }
  return line;
}

void measure(BranchOutline& outline, const cv::Mat& labels) {
  cv::Mat mask(labels.size(), CV_8U, cv::Scalar(0));
  cv::fillPoly(mask, std::vector<std::vector<cv::Point>>{outline.polygon}, cv::Scalar(255));
  int inside = 0;
  int foliage = 0;
  int spotted = 0;
  for (int y = 0; y < labels.rows; ++y) {
    for (int x = 0; x < labels.cols; ++x) {
      if (mask.at<unsigned char>(y, x) != 0) {
        ++inside;
        foliage += labels.at<unsigned char>(y, x) != kNotFoliage ? 1 : 0;
        spotted += labels.at<unsigned char>(y, x) == kSpottedFoliage ? 1 : 0;
      }
    }
  }
  outline.foliageFraction = inside > 0 ? static_cast<double>(foliage) / inside : 0.0;
  if (foliage > 0) {
    outline.spotFraction = static_cast<double>(spotted) / foliage;
  }
}

// Both edges of the visible trunk between two heights, up the left and down the right.
std::vector<cv::Point> lineAlongTrunk(const RenderedScene& rendered,
                                      float from,
                                      float to,
                                      float width) {
  constexpr int kPerSide = 6;
  const View& view = rendered.view;
  const Limb& trunk = rendered.skeleton.limbs.front();
  std::vector<cv::Point> left;
  std::vector<cv::Point> right;
  for (int i = 0; i < kPerSide; ++i) {
    const LimbPoint point = pointAt(trunk, mix(from, to, static_cast<float>(i) / (kPerSide - 1)));
    const ScreenPoint p = view.project(point.position);
    const float half = point.radiusMm * width * view.pxPerMm(p.key);
    left.push_back(clampedToFrame(view, {p.x - half, p.y}));
    right.push_back(clampedToFrame(view, {p.x + half, p.y}));
  }
  left.insert(left.end(), right.rbegin(), right.rend());
  return left;
}

// Part of the trunk between two heights that lies in the frame, or nothing if that is too short to
// outline.
std::optional<cv::Point2f> visibleRange(const RenderedScene& rendered, float from, float to) {
  float first = 2.0F;
  float last = -1.0F;
  for (int i = 0; i <= 40; ++i) {
    const float t = mix(from, to, static_cast<float>(i) / 40.0F);
    if (isInFrame(rendered.view,
                  rendered.view.project(pointAt(rendered.skeleton.limbs.front(), t).position),
                  -0.01F)) {
      first = std::min(first, t);
      last = std::max(last, t);
    }
  }
  return last - first > 0.05F ? std::optional(cv::Point2f(first, last)) : std::nullopt;
}

double reachOf(const std::vector<cv::Point>& polygon, cv::Point2d centre) {
  double reach = 1.0;
  for (const cv::Point& p : polygon) {
    reach = std::max(reach, std::hypot(p.x - centre.x, p.y - centre.y));
  }
  return reach;
}

FindingMark patch(const std::string& finding,
                  const std::string& branch,
                  std::vector<cv::Point> polygon,
                  int count) {
  cv::Point2d centre(0.0, 0.0);
  for (const cv::Point& p : polygon) {
    centre += cv::Point2d(p) * (1.0 / static_cast<double>(polygon.size()));
  }
  return {finding, MarkKind::Patch, branch, centre, reachOf(polygon, centre), polygon, count};
}

void markInsects(const SceneDescription& scene,
                 const RenderedScene& rendered,
                 std::vector<FindingMark>& marks) {
  constexpr int kMaxClusters = 3;
  std::vector<std::vector<cv::Point2f>> colonies(scene.insects.size() * kMaxClusters);
  for (std::size_t i = 0; i < rendered.foliage.insects.size(); ++i) {
    const Insect& insect = rendered.foliage.insects[i];
    const ScreenPoint p =
        rendered.view.project(insect.position + insect.normal * (0.2F * insect.lengthMm));
    if (rendered.visibleSamples[i] * 3 < rendered.unhiddenSamples[i] ||
        !isInFrame(rendered.view, p, 0.0F)) {
      continue;
    }
    const std::string& branch = scene.insects[static_cast<std::size_t>(insect.group)].branch;
    if (insect.kind == InsectKind::ScaleInsect) {
      const double radius =
          static_cast<double>(0.5F * insect.lengthMm * rendered.view.pxPerMm(p.key));
      marks.push_back({"scale insect",
                       MarkKind::Dot,
                       branch,
                       {static_cast<double>(p.x), static_cast<double>(p.y)},
                       radius,
                       {},
                       1});
    } else {
      colonies[static_cast<std::size_t>(insect.group * kMaxClusters + insect.cluster)].emplace_back(
          p.x, p.y);
    }
  }
  for (std::size_t k = 0; k < colonies.size(); ++k) {
    if (colonies[k].size() >= 3) {
      const float margin =
          1.2F * rendered.view.pxPerMm(1.0F / length(scene.camera.target - scene.camera.eye));
      marks.push_back(patch("aphids",
                            scene.insects[k / kMaxClusters].branch,
                            lineAround(rendered.view, colonies[k], margin, k),
                            static_cast<int>(colonies[k].size())));
    }
  }
}

void markDisease(const SceneDescription& scene,
                 const RenderedScene& rendered,
                 std::vector<FindingMark>& marks) {
  for (std::size_t b = 0; b < rendered.skeleton.branchNames.size(); ++b) {
    const BranchHealth health = healthOf(scene, rendered.skeleton.branchNames[b]);
    Cloud dead;
    if (health.blightFraction >= 0.05F) {
      for (const Strand& strand : rendered.foliage.strands) {
        if (strand.branch == static_cast<int>(b) && strand.blightFrom < 0.6F) {
          include(dead, rendered.view, mix(strand.from, strand.to, 0.7F));
        }
      }
    } else if (health.spotFraction >= 0.05F) {
      for (const Leaf& leaf : rendered.foliage.leaves) {
        if (leaf.branch == static_cast<int>(b) && leaf.lesions >= 5) {
          include(dead, rendered.view, leaf.base + leaf.along * (0.5F * leaf.lengthMm));
        }
      }
    }
    if (dead.inFrame.size() >= 12) {
      const std::string finding = health.blightFraction >= 0.05F ? "needle blight" : "leaf spot";
      marks.push_back(patch(finding,
                            rendered.skeleton.branchNames[b],
                            lineAround(rendered.view, dead.inFrame, 4.0F, b + 40U),
                            1));
    }
  }
}

}  // namespace

std::vector<BranchOutline> outlineBranches(const SceneDescription& scene,
                                           const RenderedScene& rendered) {
  std::vector<BranchOutline> outlines;
  const float sizeMm = 0.42F * std::max(scene.foliage.leafLengthMm *
                                            (scene.foliage.needleRadiusMm > 0.0F ? 0.6F : 1.0F),
                                        12.0F);
  for (std::size_t b = 0; b < rendered.skeleton.branchNames.size(); ++b) {
    Cloud cloud;
    for (const Site& site : rendered.skeleton.sites) {
      if (site.branch == static_cast<int>(b)) {
        include(cloud, rendered.view, site.position + site.direction * sizeMm);
      }
    }
    if (cloud.inFrame.size() * 6 < cloud.all || cloud.inFrame.size() < 12) {
      continue;
    }
    const float margin =
        sizeMm * rendered.view.pxPerMm(1.0F / length(scene.camera.target - scene.camera.eye));
    outlines.push_back({rendered.skeleton.branchNames[b],
                        lineAround(rendered.view, cloud.inFrame, margin, scene.camera.seed + b),
                        0.0,
                        {}});
  }
  if (const auto range = visibleRange(rendered, 0.03F, 0.72F)) {
    outlines.push_back(
        {scene.tree.trunkName, lineAlongTrunk(rendered, range->x, range->y, 1.3F), 0.0, {}});
  }
  const float fork = scene.tree.forkAttach;
  const auto range = visibleRange(rendered, fork - 0.1F, fork + 0.12F);
  if (!scene.tree.forkName.empty() && range) {
    outlines.push_back(
        {scene.tree.forkName, lineAlongTrunk(rendered, range->x, range->y, 1.75F), 0.0, {}});
  }
  for (BranchOutline& outline : outlines) {
    measure(outline, rendered.labels);
  }
  return outlines;
}

std::vector<FindingMark> findMarks(const SceneDescription& scene, const RenderedScene& rendered) {
  std::vector<FindingMark> marks;
  markInsects(scene, rendered, marks);
  markDisease(scene, rendered, marks);
  return marks;
}

cv::Matx33d pixelFromPlane(const CameraLook& camera) {
  const View view = cameraView(camera, 1);
  const float w = 0.5F * static_cast<float>(view.width);
  const float h = 0.5F * static_cast<float>(view.height);
  const Vec3 rows[3] = {view.forward * w + view.right * view.scale,
                        view.forward * h - view.up * view.scale,
                        view.forward};
  cv::Matx33d matrix;
  const Vec3 origin = Vec3{0.0F, 0.0F, camera.planeZMm} - view.eye;
  for (int r = 0; r < 3; ++r) {
    const Vec3 row = rows[r];
    matrix(r, 0) = static_cast<double>(row.x);
    matrix(r, 1) = static_cast<double>(row.y);
    matrix(r, 2) = static_cast<double>(dot(row, origin));
  }
  return matrix;
}

}  // namespace edamori::scenes
