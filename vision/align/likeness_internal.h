// SPDX-License-Identifier: GPL-3.0-or-later
// Where the parts of a branch lie on another photo, by what a trained network sees of them and around
// them: bark, forks, pads and gaps, in other light and from a little elsewhere. Px of the working photos.
#pragma once

#include "vision/align/matches_internal.h"
#include "vision/values/geometry.h"

#include <array>
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

// What speaks for a place: the sum of log likelihood ratios against chance over the branch's cells.
struct Likeness {
  double sum = 0.0;
  std::array<double, 2> halves{};  // of the outline, cut across its longer axis
  int cells = 0;
  std::array<int, 2> cellsOfHalves{};

  [[nodiscard]] double mean() const { return cells > 0 ? sum / cells : 0.0; }
  [[nodiscard]] double meanOfWorseHalf() const;
};

// The branch's cells, each with how likely it lies where within a window of the after photo.
class LikenessWindows {
public:
  // After the branch is moved by the homography, 0 where it leaves the windows.
  [[nodiscard]] Likeness at(const Homography& afterFromBefore) const;

private:
  friend class BranchLikeness;
  struct Cell {
    cv::Point2d centre;  // px of the branch's picture
    std::size_t half = 0;
    cv::Mat shares;  // float, probability of each cell of the window
  };
  std::vector<Cell> m_cells;
  cv::Matx33d m_pictureFromAfter, m_beforeFromPicture;
};

// A branch as the network sees it, to be looked for around several rough places.
class BranchLikeness {
public:
  // axis: direction of the outline's longer axis; the halves lie on either side of `centre`.
  BranchLikeness(const WorkingPhoto& before, const WorkingPhoto& after, const Outline& outline, PointPx centre,
                 cv::Point2d axis);
  [[nodiscard]] LikenessWindows around(const Homography& roughAfterFromBefore) const;

private:
  struct Part {
    int column = 0, row = 0;
    std::size_t half = 0;
  };
  const WorkingPhoto& m_after;
  double m_scale = 1.0;  // px of the branch's picture a working px
  cv::Size m_size;
  cv::Matx33d m_pictureFromBefore;
  LikenessCells m_seen;
  std::vector<Part> m_parts;
};

// What speaks for an outline lying where the homography puts it.
[[nodiscard]] Likeness likenessOf(const WorkingPhoto& before, const WorkingPhoto& after, const Outline& outline,
                                  const Homography& afterFromBefore);

}  // namespace edamori::vision
