// SPDX-License-Identifier: GPL-3.0-or-later
// Where the parts of a branch lie on another photo, by what a trained network sees of them and around
// them: bark, forks, pads and gaps, in other light and from a little elsewhere. Px of the working photos.
#pragma once

#include "vision/align/matches_internal.h"
#include "vision/values/geometry.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <optional>
#include <vector>

#include <opencv2/core.hpp>

namespace edamori::vision {

// What the network says of a picture, a cell of kLikenessCellPx × kLikenessCellPx px a row, rows from the top.
struct LikenessCells {
  int columns = 0, rows = 0;
  cv::Mat descriptors;         // float; dot products tell how alike two cells are
  std::vector<float> missing;  // how much speaks for a cell not being on another photo
};
inline constexpr int kLikenessCellPx = 4;
// Sides of the network's pictures are multiples of this.
inline constexpr int kLikenessBlockPx = 32;

// rgb: CV_8UC3, sides multiples of kLikenessBlockPx.
//
// Method: U-Net with additive skips, trained on drawn trees seen twice (tests/accuracy/align/train.py).
// Source: Ronneberger, Fischer & Brox 2015, MICCAI 9351, 234–241.
[[nodiscard]] LikenessCells likenessCells(const cv::Mat& rgb);

// What speaks for a place: log likelihood ratios against chance, summed over the branch's cells.
struct Likeness {
  struct Half {
    double sum = 0.0;
    int cells = 0;
    [[nodiscard]] double mean() const { return sum / std::max(1, cells); }
  };
  std::array<Half, 2> halves{};  // of the outline, cut across its longer axis

  // Of a log likelihood: neighbouring cells see much the same, so little of each counts as independent.
  [[nodiscard]] double worth() const { return kCellWorth * all().sum; }
  [[nodiscard]] double mean() const { return all().mean(); }
  [[nodiscard]] double meanOfWorseHalf() const { return std::min(halves[0].mean(), halves[1].mean()); }

private:
  static constexpr double kCellWorth = 0.15;  // tuning set
  [[nodiscard]] Half all() const {
    return {.sum = halves[0].sum + halves[1].sum, .cells = halves[0].cells + halves[1].cells};
  }
};

// The branch's cells, each with how likely it lies where within a window of the after photo.
class LikenessWindows {
public:
  // For the branch moved by the homography; a cell that leaves its window speaks against the place.
  [[nodiscard]] Likeness at(const Homography& afterFromBefore) const;

private:
  friend class BranchLikeness;
  struct Cell {
    PointPx centre;  // px of the branch's picture
    std::size_t half = 0;
    cv::Mat shares;  // float, probability of each cell of the window
  };
  std::vector<Cell> m_cells;
  Homography m_pictureFromAfter{}, m_beforeFromPicture{};
};

// A branch as the network sees it, to be looked for around several rough places.
class BranchLikeness {
public:
  // axis: direction of the outline's longer axis; the halves lie on either side of `centre`.
  BranchLikeness(const WorkingPhoto& before, const WorkingPhoto& after, const Outline& outline, PointPx centre,
                 cv::Point2d axis);
  [[nodiscard]] LikenessWindows around(const Homography& roughAfterFromBefore) const;
  // The rough place moved, but not turned, to where most cells find themselves: up to a third of the
  // picture's diagonal away. nullopt for what is no view of a branch.
  [[nodiscard]] std::optional<Homography> moved(const Homography& roughAfterFromBefore) const;

private:
  struct Part {
    int column = 0, row = 0;
    std::size_t half = 0;
  };
  // The after photo around a rough place, `aroundPx` wider than the branch's picture each way.
  struct View {
    LikenessCells cells;
    Homography beforeFromAfter;  // of the rough place
  };
  [[nodiscard]] std::optional<View> viewAround(const Homography& rough, int aroundPx) const;

  const WorkingPhoto& m_after;
  cv::Size m_size;
  Homography m_pictureFromBefore{}, m_beforeFromPicture{};
  LikenessCells m_seen;
  std::vector<Part> m_parts;
};

// What speaks for an outline lying where the homography puts it.
[[nodiscard]] Likeness likenessOf(const WorkingPhoto& before, const WorkingPhoto& after, const Outline& outline,
                                  const Homography& afterFromBefore);

}  // namespace edamori::vision
