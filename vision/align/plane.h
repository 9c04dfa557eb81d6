// SPDX-License-Identifier: GPL-3.0-or-later
// Plane geometry of an alignment: inverse, clipping to a frame, and whether a
// homography can be the view of one branch from two places at all.
#pragma once

#include "vision/values/geometry.h"

#include <optional>
#include <string>

namespace edamori::vision {

struct FrameSize {
  int widthPx = 0;
  int heightPx = 0;
  [[nodiscard]] int longSidePx() const { return widthPx > heightPx ? widthPx : heightPx; }
};

// The whole frame as an outline, corners from the top left clockwise.
[[nodiscard]] Outline frameOutline(FrameSize frame);

// Inverse, scaled so that its last element is 1; absent when there is none.
[[nodiscard]] std::optional<Homography> inverted(const Homography& homography);
// Maps by `first`, then by `second`.
[[nodiscard]] Homography composed(const Homography& second, const Homography& first);

// What of the outline lies inside the frame; an empty polygon when nothing does.
//
// Source: Sutherland & Hodgman 1974, Comm. ACM 17(1), 32–42. A concave outline cut into
//         several parts keeps them joined by edges of no width along the frame's border.
[[nodiscard]] Outline clippedToFrame(const Outline& outline, FrameSize frame);
// Area of the polygon less its holes, px².
[[nodiscard]] double areaPx2(const Outline& outline);

// Part of `outlineBefore` (clipped to the before photo) that the after photo shows, in
// px of before. Precondition: the outline lies on the near side of the horizon line.
[[nodiscard]] Outline visibleInBoth(const Outline& outlineBefore,
                                    FrameSize before,
                                    FrameSize after,
                                    const Homography& afterFromBefore);
// Its share of the outline's area, 0…1.
[[nodiscard]] double overlapShare(const Outline& outlineBefore,
                                  FrameSize before,
                                  FrameSize after,
                                  const Homography& afterFromBefore);

// How a homography stretches the surroundings of one point.
struct LocalStretch {
  double scale = 0.0;        // √|determinant of the Jacobian|, px of after per px of before
  double elongation = 1.0;   // larger over smaller singular value, ≥ 1
  double determinant = 0.0;  // of the Jacobian; negative when mirrored
  double turnDeg = 0.0;      // rotation part, clockwise on the screen, −180…180
};
[[nodiscard]] LocalStretch stretchAt(const Homography& homography, PointPx point);

// Limits beyond which two views cannot be compared; chosen as policy, see each.
inline constexpr double kMinScale = 0.3;  // below, a needle is no longer resolved
inline constexpr double kMaxScale = 3.0;
// Tilting a plane by 60° shortens one direction to half.
inline constexpr double kMaxElongation = 2.0;
// Ratio of the largest to the smallest local scale over the outline.
inline constexpr double kMaxScaleSpread = 3.0;

// Why the homography cannot be two views of the same branch, in plain words; absent
// when it can. Scale counts relative to the frames, so that photos of 12 and 48
// megapixels from the same place have scale 1.
[[nodiscard]] std::optional<std::string> implausibility(const Homography& afterFromBefore,
                                                        const Outline& outlineBefore,
                                                        FrameSize before,
                                                        FrameSize after);

}  // namespace edamori::vision
