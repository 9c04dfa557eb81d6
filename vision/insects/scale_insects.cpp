// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/insects/scale_insects.h"

#include "vision/figures/region.h"
#include "vision/insects/insect_network_internal.h"

#include <algorithm>
#include <cmath>
#include <exception>
#include <string>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace edamori::vision {
namespace {

constexpr double kWorkingPixels = 16e6;
// A level answers for radii of 4…8 px; the next one halves the picture.
constexpr double kLevelRadiusPx = 4.0;
// Two insects that touch are 2 radii apart.
constexpr double kApart = 0.75;
constexpr int kTilePx = 512;
// What an answer depends on: the network sees 36 px to each side; a multiple of a cell.
constexpr int kMarginPx = 40;

// The photo at one level, and where to look on it.
struct Level {
  cv::Mat rgb;
  cv::Mat inside;         // 255 where to look; empty: everywhere
  double photoPerPx = 1;  // photo px for one px of the level
};

Result<cv::Mat> insideOf(const RgbImage& photo, const std::vector<Outline>& outlines) {
  cv::Mat inside;
  for (const Outline& outline : outlines) {
    auto mask = maskOf(outline, photo.width(), photo.height());
    if (!mask) {
      return mask.error();
    }
    const cv::Mat one(photo.height(), photo.width(), CV_8UC1, mask->data());
    inside = inside.empty() ? one.clone() : cv::Mat(inside | one);
  }
  return inside;
}

cv::Mat reduced(const cv::Mat& picture, double by, int interpolation) {
  if (by == 1.0) {
    return picture;
  }
  cv::Mat smaller;
  const cv::Size size(std::max(1, static_cast<int>(std::lround(picture.cols / by))),
                      std::max(1, static_cast<int>(std::lround(picture.rows / by))));
  cv::resize(picture, smaller, size, 0, 0, interpolation);
  return smaller;
}

std::vector<Level> levelsOf(const cv::Mat& rgb, const cv::Mat& inside, const InsectSizes& sizes) {
  std::vector<Level> levels;
  double by = sizes.smallestRadiusPx / kLevelRadiusPx;
  cv::Mat picture = reduced(rgb, by, cv::INTER_AREA);
  for (;;) {
    levels.push_back({.rgb = picture,
                      .inside = inside.empty() ? cv::Mat() : reduced(inside, by, cv::INTER_NEAREST),
                      .photoPerPx = static_cast<double>(rgb.cols) / picture.cols});
    if (2.0 * kLevelRadiusPx * by >= sizes.largestRadiusPx || std::min(picture.cols, picture.rows) < 16) {
      return levels;
    }
    by *= 2.0;
    picture = reduced(picture, 2.0, cv::INTER_AREA);
  }
}

struct Tile {
  std::size_t level = 0;
  cv::Rect core;  // px of the level
};

std::vector<Tile> tilesOf(const std::vector<Level>& levels) {
  std::vector<Tile> tiles;
  for (std::size_t k = 0; k < levels.size(); ++k) {
    const Level& level = levels[k];
    const cv::Rect all(0, 0, level.rgb.cols, level.rgb.rows);
    for (int y = 0; y < all.height; y += kTilePx) {
      for (int x = 0; x < all.width; x += kTilePx) {
        const cv::Rect core = cv::Rect(x, y, kTilePx, kTilePx) & all;
        if (level.inside.empty() || cv::countNonZero(level.inside(core)) > 0) {
          tiles.push_back({.level = k, .core = core});
        }
      }
    }
  }
  return tiles;
}

// The tile with its margin; mirrored beyond the photo, so that an insect at the edge has a ground.
cv::Mat seenBy(const Tile& tile, const Level& level) {
  const cv::Rect all(0, 0, level.rgb.cols, level.rgb.rows);
  const cv::Rect wanted(tile.core.x - kMarginPx, tile.core.y - kMarginPx,
                        tile.core.width + 2 * kMarginPx, tile.core.height + 2 * kMarginPx);
  const cv::Rect there = wanted & all;
  const auto toCell = [](int side) { return (kCellPx - side % kCellPx) % kCellPx; };
  cv::Mat seen;
  cv::copyMakeBorder(level.rgb(there), seen, there.y - wanted.y,
                     wanted.br().y - there.br().y + toCell(wanted.height), there.x - wanted.x,
                     wanted.br().x - there.br().x + toCell(wanted.width), cv::BORDER_REPLICATE);
  return seen;
}

void collect(const Tile& tile, const Level& level, const InsectSearch& search,
             std::vector<InsectCandidate>& found) {
  for (const CellAnswer& answer : answersOn(seenBy(tile, level), search.leastScore)) {
    const double x = answer.x - kMarginPx + tile.core.x;
    const double y = answer.y - kMarginPx + tile.core.y;
    const cv::Point pixel(static_cast<int>(std::floor(x)), static_cast<int>(std::floor(y)));
    if (!tile.core.contains(pixel)) {
      continue;  // the neighbouring tile's
    }
    const InsectCandidate candidate{.centrePx = {.x = x * level.photoPerPx, .y = y * level.photoPerPx},
                                    .radiusPx = answer.radius * level.photoPerPx,
                                    .score = answer.score};
    const bool isInside =
        search.outlines.empty() || std::ranges::any_of(search.outlines, [&](const Outline& outline) {
          return contains(outline, candidate.centrePx);
        });
    if (isInside) {
      found.push_back(candidate);
    }
  }
}

// Best first; a weaker candidate on the same place goes.
std::vector<InsectCandidate> withoutRepeats(std::vector<InsectCandidate> found) {
  std::ranges::sort(found, [](const InsectCandidate& a, const InsectCandidate& b) {
    return std::tuple(-a.score, a.centrePx.y, a.centrePx.x) < std::tuple(-b.score, b.centrePx.y, b.centrePx.x);
  });
  std::vector<InsectCandidate> kept;
  for (const InsectCandidate& next : found) {
    const bool isRepeat = std::ranges::any_of(kept, [&next](const InsectCandidate& other) {
      return std::hypot(next.centrePx.x - other.centrePx.x, next.centrePx.y - other.centrePx.y) <
             kApart * std::max(next.radiusPx, other.radiusPx);
    });
    if (!isRepeat) {
      kept.push_back(next);
    }
  }
  return kept;
}

Result<std::vector<InsectCandidate>> candidatesOn(const RgbImage& photo, const InsectSearch& asked) {
  auto inside = insideOf(photo, asked.outlines);
  if (!inside) {
    return inside.error();
  }
  if (!asked.outlines.empty() && cv::countNonZero(*inside) == 0) {
    return fail(ErrorCode::NotMeasurable, "the outline holds no pixel of the photo; draw it on the photo");
  }
  const cv::Mat rgb(photo.height(), photo.width(), CV_8UC3, const_cast<std::uint8_t*>(photo.data()));
  const InsectSizes sizes = asked.sizes.value_or(usualInsectSizes(photo.width(), photo.height()));
  const auto levels = levelsOf(rgb, *inside, sizes);
  const auto tiles = tilesOf(levels);
  std::vector<InsectCandidate> found;
  for (std::size_t k = 0; k < tiles.size(); ++k) {
    if (asked.goOn && !asked.goOn(static_cast<double>(k) / static_cast<double>(tiles.size()))) {
      return fail(ErrorCode::Cancelled, "the search for scale insects was ended");
    }
    collect(tiles[k], levels[tiles[k].level], asked, found);
  }
  // A level's answers reach a little beyond its own sizes.
  std::erase_if(found, [&sizes](const InsectCandidate& candidate) {
    return candidate.radiusPx < 0.8 * sizes.smallestRadiusPx || candidate.radiusPx > 1.25 * sizes.largestRadiusPx;
  });
  return withoutRepeats(std::move(found));
}

}  // namespace

InsectSizes usualInsectSizes(int widthPx, int heightPx) {
  const double pixels = static_cast<double>(widthPx) * heightPx;
  const double factor = pixels <= kWorkingPixels ? 1.0 : std::sqrt(pixels / (0.75 * kWorkingPixels));
  return {.smallestRadiusPx = kLevelRadiusPx * factor, .largestRadiusPx = 8.0 * kLevelRadiusPx * factor};
}

Result<InsectSizes> insectSizesAt(double mmPerPx) {
  constexpr double kSmallestMm = 1.0;  // across
  constexpr double kLargestMm = 6.0;   // across
  if (!std::isfinite(mmPerPx) || mmPerPx <= 0.0) {
    return fail(ErrorCode::InvalidArgument, "the scale must be above 0 mm for a pixel; set the ruler anew");
  }
  const double largest = 0.5 * kLargestMm / mmPerPx;
  if (largest < kLevelRadiusPx) {
    return fail(ErrorCode::NotMeasurable,
                "scale insects would be below 8 px across on this photo; photograph the branch closer");
  }
  const double smallest = std::clamp(0.5 * kSmallestMm / mmPerPx, kLevelRadiusPx, 200.0);
  return InsectSizes{.smallestRadiusPx = smallest, .largestRadiusPx = std::max(largest, smallest)};
}

Result<void> InsectSearch::validate() const {
  if (!(leastScore >= 0.0 && leastScore <= 1.0)) {
    return fail(ErrorCode::InvalidArgument, "the least score must be 0 to 1");
  }
  if (sizes && !(sizes->smallestRadiusPx >= kLevelRadiusPx && sizes->smallestRadiusPx <= 200.0 &&
                 sizes->largestRadiusPx >= sizes->smallestRadiusPx &&
                 sizes->largestRadiusPx <= 32.0 * sizes->smallestRadiusPx)) {
    return fail(ErrorCode::InvalidArgument,
                "insect radii must be 4 to 200 px at the least, and the largest at most 32 times the smallest");
  }
  return {};
}

Result<std::vector<InsectCandidate>> findScaleInsects(const RgbImage& photo, const InsectSearch& asked) {
  if (photo.isEmpty()) {
    return fail(ErrorCode::InvalidArgument, "the photo has no pixels; choose another one");
  }
  EDAMORI_RETURN_IF_ERROR(asked.validate());
  try {
    return candidatesOn(photo, asked);
  } catch (const std::exception& error) {  // cv::Exception, std::bad_alloc
    return fail(ErrorCode::NotMeasurable,
                std::string("scale insects could not be looked for (") + error.what() +
                    "); close other programs and try again");
  }
}

}  // namespace edamori::vision
