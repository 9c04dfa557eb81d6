// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/align/change_map.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace edamori::vision {

namespace {

constexpr std::uint8_t kSet = 255;

// What both photos show at the places of the map.
struct Samples {
  Mask both;            // inside both outlines
  LabelImage before, after;
};

// True at the pixel centres of row `y` that lie inside the polygon; crossings are found once a row.
void addCrossings(const Polygon& polygon, double y, std::vector<double>& crossings) {
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const PointPx& a = polygon[i];
    const PointPx& b = polygon[(i + 1) % polygon.size()];
    if ((a.y > y) != (b.y > y)) {
      crossings.push_back(a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x));
    }
  }
}

// The outline on a grid of `width` × `height` places, `step` px apart; even-odd rule.
Mask rasterised(const Outline& outline, int width, int height, double step) {
  Mask mask(width, height, 0);
  std::vector<double> crossings;
  for (int row = 0; row < height; ++row) {
    const double y = (row + 0.5) * step;
    crossings.clear();
    addCrossings(outline.polygon, y, crossings);
    for (const Polygon& hole : outline.holes) {
      addCrossings(hole, y, crossings);
    }
    std::sort(crossings.begin(), crossings.end());
    for (std::size_t i = 0; i + 1 < crossings.size(); i += 2) {
      const auto first = static_cast<int>(
          std::clamp(std::ceil(crossings[i] / step - 0.5), 0.0, static_cast<double>(width)));
      const auto last = static_cast<int>(
          std::clamp(std::ceil(crossings[i + 1] / step - 0.5), 0.0, static_cast<double>(width)));
      std::fill(mask.row(row) + first, mask.row(row) + std::max(first, last), kSet);
    }
  }
  return mask;
}

std::uint8_t labelAt(const LabelImage& labels, PointPx at) {
  const bool isInside =
      at.x >= 0.0 && at.y >= 0.0 && at.x < labels.width() && at.y < labels.height();
  return isInside ? labels.at(static_cast<int>(at.x), static_cast<int>(at.y)) : std::uint8_t{0};
}

Samples sampled(const LabelImage& before,
                const Outline& outlineBefore,
                const LabelImage& after,
                const ChangeMapRequest& request,
                double step) {
  const int width = std::max(1, static_cast<int>(std::lround(before.width() / step)));
  const int height = std::max(1, static_cast<int>(std::lround(before.height() / step)));
  Samples samples{.both = rasterised(outlineBefore, width, height, step),
                  .before = LabelImage(width, height, 0),
                  .after = LabelImage(width, height, 0)};
  const Mask insideAfter = rasterised(request.outlineAfter, after.width(), after.height(), 1.0);
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      if (samples.both.at(x, y) == 0) {
        continue;
      }
      const PointPx here{.x = (x + 0.5) * step, .y = (y + 0.5) * step};
      const PointPx there = mapped(request.afterFromBefore, here);
      if (labelAt(insideAfter, there) == 0) {
        samples.both.at(x, y) = 0;
        continue;
      }
      samples.before.at(x, y) = labelAt(before, here);
      samples.after.at(x, y) = labelAt(after, there);
    }
  }
  return samples;
}

// 255 where a label of at least `least` lies within `radius` px, along rows, then along columns.
Mask nearLabel(const LabelImage& labels, Label least, int radius) {
  const int width = labels.width();
  const int height = labels.height();
  Mask rows(width, height, 0);
  for (int y = 0; y < height; ++y) {
    for (int x = 0, last = -radius - 1; x < width + radius; ++x) {
      last = x < width && labels.at(x, y) >= static_cast<std::uint8_t>(least) ? x : last;
      if (x >= radius && last >= x - 2 * radius) {
        rows.at(x - radius, y) = kSet;
      }
    }
  }
  Mask near(width, height, 0);
  for (int x = 0; x < width; ++x) {
    for (int y = 0, last = -radius - 1; y < height + radius; ++y) {
      last = y < height && rows.at(x, y) != 0 ? y : last;
      if (y >= radius && last >= y - 2 * radius) {
        near.at(x, y - radius) = kSet;
      }
    }
  }
  return near;
}

ChangeKind kindOf(std::uint8_t before, std::uint8_t after, bool nearBefore, bool nearAfter, bool nearSpottedAfter) {
  if (static_cast<Label>(after) == Label::Spotted) {
    return ChangeKind::Spotted;
  }
  if (static_cast<Label>(before) == Label::Spotted && after != 0 && !nearSpottedAfter) {
    return ChangeKind::Cleared;
  }
  if (before != 0 && after == 0) {
    return nearAfter ? ChangeKind::None : ChangeKind::Lost;
  }
  if (before == 0 && after != 0) {
    return nearBefore ? ChangeKind::None : ChangeKind::Gained;
  }
  return before != 0 ? ChangeKind::Kept : ChangeKind::None;
}

}  // namespace

Raster<1> changeMap(const LabelImage& before,
                    const Outline& outlineBefore,
                    const LabelImage& after,
                    const ChangeMapRequest& request) {
  if (before.isEmpty() || after.isEmpty()) {
    return {};
  }
  const int longSide = std::max(before.width(), before.height());
  const double step = std::max(1.0, static_cast<double>(longSide) / std::max(1, request.longSidePx));
  const Samples samples = sampled(before, outlineBefore, after, request, step);
  const auto radius = static_cast<int>(std::lround(std::max(0.0, request.tolerancePx) / step));
  const Mask nearBefore = nearLabel(samples.before, Label::SoundFoliage, radius);
  const Mask nearAfter = nearLabel(samples.after, Label::SoundFoliage, radius);
  const Mask nearSpottedAfter = nearLabel(samples.after, Label::Spotted, radius);
  Raster<1> map(samples.both.width(), samples.both.height(), 0);
  for (int y = 0; y < map.height(); ++y) {
    for (int x = 0; x < map.width(); ++x) {
      if (samples.both.at(x, y) != 0) {
        map.at(x, y) = static_cast<std::uint8_t>(kindOf(samples.before.at(x, y),
                                                        samples.after.at(x, y),
                                                        nearBefore.at(x, y) != 0,
                                                        nearAfter.at(x, y) != 0,
                                                        nearSpottedAfter.at(x, y) != 0));
      }
    }
  }
  return map;
}

}  // namespace edamori::vision
