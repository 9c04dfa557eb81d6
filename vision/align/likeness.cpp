// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/likeness_internal.h"

#include "vision/align/plane.h"

#include <algorithm>
#include <cmath>

#include <opencv2/imgproc.hpp>

namespace edamori::vision {

namespace {

// As tests/accuracy/align/train.py has them.
constexpr int kReach = 15;  // cells
constexpr int kWindow = 2 * kReach + 1;
constexpr int kWindowCells = kWindow * kWindow;
constexpr int kAroundPx = 64;

constexpr int kFarPx = 160;
constexpr int kMostAsked = 200;  // cells that vote on where all of them moved

constexpr double kBranchPx = 480.0;  // diagonal of a branch's picture; branches are not enlarged
constexpr int kContextPx = 32;
constexpr int kMostParts = 600;
constexpr double kMostStretch = 20.0;
// A branch is no plane: what its cells are off, cells.
constexpr double kSpread = 1.0;
// Share of cells that are where the plane puts them, rather than anywhere.
constexpr double kShareInPlane = 0.3;

Homography shifted(double x, double y) { return {1, 0, x, 0, 1, y, 0, 0, 1}; }
Homography scaled(double x, double y) { return {x, 0, 0, 0, y, 0, 0, 0, 1}; }

int wholeBlocks(double px) { return static_cast<int>(std::ceil(px / kLikenessBlockPx)) * kLikenessBlockPx; }

// `size` px of the photo: each px p shows the photo at photoFromPicture · p. Beyond the frame its rim goes on.
cv::Mat pictureOf(const cv::Mat& rgb, const Homography& photoFromPicture, double pxPerPictureAtCentre, cv::Size size) {
  const double factor = std::min(1.0, 1.0 / pxPerPictureAtCentre);
  cv::Mat reduced = rgb;
  if (factor < 1.0) {
    cv::resize(rgb, reduced, cv::Size(), factor, factor, cv::INTER_AREA);
  }
  const Homography toReduced =
      scaled(static_cast<double>(reduced.cols) / rgb.cols, static_cast<double>(reduced.rows) / rgb.rows);
  // OpenCV counts from pixel centres.
  const Homography centres =
      composed(shifted(-0.5, -0.5), composed(toReduced, composed(photoFromPicture, shifted(0.5, 0.5))));
  cv::Mat picture;
  cv::warpPerspective(reduced, picture, cv::Matx33d(centres.data()), size, cv::INTER_LINEAR | cv::WARP_INVERSE_MAP,
                      cv::BORDER_REPLICATE);
  return picture;
}

// Every so-many-th of the cells: neighbours say nearly the same.
template <typename Cell>
void thin(std::vector<Cell>& cells, std::size_t most) {
  const std::size_t step = cells.size() / most + 1;
  for (std::size_t i = 0; i * step < cells.size(); ++i) {
    cells[i] = cells[i * step];
  }
  cells.resize((cells.size() + step - 1) / step);
}

PointPx centreOfCell(int column, int row) {
  return {.x = (column + 0.5) * kLikenessCellPx, .y = (row + 0.5) * kLikenessCellPx};
}

}  // namespace

BranchLikeness::BranchLikeness(const WorkingPhoto& before, const WorkingPhoto& after, const Outline& outline,
                               PointPx centre, cv::Point2d axis)
    : m_after(after) {
  const BoundsPx b = boundsPx(outline.polygon);
  const double scale = std::min(1.0, kBranchPx / std::max(1.0, std::hypot(b.width(), b.height())));
  m_size = {wholeBlocks(scale * b.width() + 2 * kContextPx), wholeBlocks(scale * b.height() + 2 * kContextPx)};
  const double left = 0.5 * (b.left + b.right) * scale - 0.5 * m_size.width;
  const double top = 0.5 * (b.top + b.bottom) * scale - 0.5 * m_size.height;
  m_pictureFromBefore = composed(shifted(-left, -top), scaled(scale, scale));
  m_beforeFromPicture = composed(scaled(1.0 / scale, 1.0 / scale), shifted(left, top));
  m_seen = likenessCells(pictureOf(before.rgb, m_beforeFromPicture, 1.0 / scale, m_size));
  for (int row = 0; row < m_seen.rows; ++row) {
    for (int column = 0; column < m_seen.columns; ++column) {
      const PointPx p = mapped(m_beforeFromPicture, centreOfCell(column, row));
      if (p.x >= 0 && p.y >= 0 && p.x <= before.rgb.cols && p.y <= before.rgb.rows && contains(outline.polygon, p)) {
        const bool isFar = (p.x - centre.x) * axis.x + (p.y - centre.y) * axis.y > 0.0;
        m_parts.push_back({.column = column, .row = row, .half = isFar ? 1U : 0U});
      }
    }
  }
  thin(m_parts, kMostParts);
}

std::optional<BranchLikeness::View> BranchLikeness::viewAround(const Homography& rough, int aroundPx) const {
  const Homography afterFromPicture = composed(rough, composed(m_beforeFromPicture, shifted(-aroundPx, -aroundPx)));
  const cv::Size size(m_size.width + 2 * aroundPx, m_size.height + 2 * aroundPx);
  const double pxPerPicture =
      stretchAt(afterFromPicture, {.x = 0.5 * size.width, .y = 0.5 * size.height}).scale;
  const auto beforeFromAfter = inverted(rough);
  if (!beforeFromAfter || !(pxPerPicture > 1.0 / kMostStretch && pxPerPicture < kMostStretch)) {
    return std::nullopt;
  }
  return View{.cells = likenessCells(pictureOf(m_after.rgb, afterFromPicture, pxPerPicture, size)),
              .beforeFromAfter = *beforeFromAfter};
}

namespace {

// How likely one cell lies in each cell of a square of the other picture, `side` cells wide from
// (column, row) on: softmax with what speaks for "not there". Then smoothed.
cv::Mat sharesAround(const LikenessCells& seen, int own, const LikenessCells& there, int column, int row, int side) {
  const int length = seen.descriptors.cols;
  const float unit = 1.0F / std::sqrt(static_cast<float>(length));
  const auto* const a = seen.descriptors.ptr<float>(own);
  const float missing = seen.missing[static_cast<std::size_t>(own)];
  cv::Mat shares(side, side, CV_32F);
  float most = missing;
  for (int y = 0; y < side; ++y) {
    auto* const target = shares.ptr<float>(y);
    const int first = (row + y) * there.columns + column;
    for (int x = 0; x < side; ++x) {
      const auto* const b = there.descriptors.ptr<float>(first + x);
      float dot = 0.0F;
      for (int k = 0; k < length; ++k) {
        dot += a[k] * b[k];
      }
      target[x] = dot * unit;
      most = std::max(most, target[x]);
    }
  }
  shares -= most;
  cv::exp(shares, shares);
  shares /= cv::sum(shares)[0] + std::exp(static_cast<double>(missing - most));
  cv::GaussianBlur(shares, shares, cv::Size(), kSpread, kSpread, cv::BORDER_CONSTANT);
  return shares;
}

}  // namespace

LikenessWindows BranchLikeness::around(const Homography& rough) const {
  LikenessWindows windows;
  const auto view = viewAround(rough, kAroundPx);
  if (!view) {
    return windows;  // no view of a branch; nothing speaks for it
  }
  constexpr int kOffset = kAroundPx / kLikenessCellPx - kReach;
  for (const Part& part : m_parts) {
    windows.m_cells.push_back({.centre = centreOfCell(part.column, part.row),
                               .half = part.half,
                               .shares = sharesAround(m_seen, part.row * m_seen.columns + part.column, view->cells,
                                                      part.column + kOffset, part.row + kOffset, kWindow)});
  }
  windows.m_beforeFromPicture = m_beforeFromPicture;
  windows.m_pictureFromAfter = composed(m_pictureFromBefore, view->beforeFromAfter);
  return windows;
}

std::optional<Homography> BranchLikeness::moved(const Homography& rough) const {
  const auto view = viewAround(rough, kFarPx);
  if (!view) {
    return std::nullopt;
  }
  constexpr int kFarReach = kFarPx / kLikenessCellPx - 1;
  constexpr int kSide = 2 * kFarReach + 1;
  std::vector<Part> parts = m_parts;
  thin(parts, kMostAsked);
  cv::Mat votes = cv::Mat::zeros(kSide, kSide, CV_32F);
  for (const Part& part : parts) {
    cv::Mat ratio = sharesAround(m_seen, part.row * m_seen.columns + part.column, view->cells, part.column + 1,
                                 part.row + 1, kSide);
    ratio = ratio * (kShareInPlane * kSide * kSide) + (1.0 - kShareInPlane);
    cv::log(ratio, ratio);
    votes += ratio;
  }
  cv::Point best;
  cv::minMaxLoc(votes, nullptr, nullptr, nullptr, &best);
  const double x = (best.x - kFarReach) * kLikenessCellPx;
  const double y = (best.y - kFarReach) * kLikenessCellPx;
  return composed(rough, composed(m_beforeFromPicture, composed(shifted(x, y), m_pictureFromBefore)));
}

Likeness LikenessWindows::at(const Homography& afterFromBefore) const {
  const Homography pictureFromPicture = composed(m_pictureFromAfter, composed(afterFromBefore, m_beforeFromPicture));
  Likeness likeness;
  for (const Cell& cell : m_cells) {
    const PointPx to = mapped(pictureFromPicture, cell.centre);
    const double x = (to.x - cell.centre.x) / kLikenessCellPx + kReach;
    const double y = (to.y - cell.centre.y) / kLikenessCellPx + kReach;
    double share = 0.0;
    if (x >= 0.0 && y >= 0.0 && x < kWindow - 1 && y < kWindow - 1) {
      const int left = static_cast<int>(x);
      const int top = static_cast<int>(y);
      const auto* const upper = cell.shares.ptr<float>(top) + left;
      const auto* const lower = cell.shares.ptr<float>(top + 1) + left;
      const auto along = [&](const float* row) {
        return std::lerp(static_cast<double>(row[0]), static_cast<double>(row[1]), x - left);
      };
      share = std::lerp(along(upper), along(lower), y - top);
    }
    Likeness::Half& half = likeness.halves.at(cell.half);
    half.sum += std::log(1.0 - kShareInPlane + kShareInPlane * kWindowCells * share);
    ++half.cells;
  }
  return likeness;
}

Likeness likenessOf(const WorkingPhoto& before, const WorkingPhoto& after, const Outline& outline,
                    const Homography& afterFromBefore) {
  const BranchLikeness branch(before, after, outline, centroidPx(outline.polygon), {1.0, 0.0});
  return branch.around(afterFromBefore).at(afterFromBefore);
}

}  // namespace edamori::vision
