// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/hint_image.h"

#include <algorithm>
#include <cmath>

namespace edamori::work {

namespace {

Hint hintOf(store::HintKind kind) {
  switch (kind) {
    case store::HintKind::Foliage:
      return Hint::SoundFoliage;
    case store::HintKind::NotFoliage:
      return Hint::NotFoliage;
    case store::HintKind::Spot:
      break;
  }
  return Hint::Spot;
}

double squaredDistance(PointPx p, PointPx a, PointPx b) {
  const double dx = b.x - a.x, dy = b.y - a.y;
  const double length2 = dx * dx + dy * dy;
  const double t =
      length2 > 0 ? std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / length2, 0.0, 1.0) : 0.0;
  const double ex = p.x - a.x - t * dx, ey = p.y - a.y - t * dy;
  return ex * ex + ey * ey;
}

void paintPiece(LabelImage& image, PointPx from, PointPx to, double radius, std::uint8_t value) {
  const auto bound = [](double v, int limit) {
    return static_cast<int>(std::clamp(v, 0.0, double{1} * limit));
  };
  const int top = bound(std::floor(std::min(from.y, to.y) - radius), image.height());
  const int bottom = bound(std::ceil(std::max(from.y, to.y) + radius), image.height());
  const int left = bound(std::floor(std::min(from.x, to.x) - radius), image.width());
  const int right = bound(std::ceil(std::max(from.x, to.x) + radius), image.width());
  for (int y = top; y < bottom; ++y) {
    auto* const row = image.row(y);
    for (int x = left; x < right; ++x) {
      if (squaredDistance({.x = x + 0.5, .y = y + 0.5}, from, to) <= radius * radius) {
        row[x] = value;
      }
    }
  }
}

}  // namespace

std::optional<LabelImage> hintImage(const std::vector<store::HintStroke>& strokes,
                                    int widthPx,
                                    int heightPx) {
  if (strokes.empty() || widthPx < 1 || heightPx < 1) {
    return std::nullopt;
  }
  LabelImage image(widthPx, heightPx);
  for (int y = 0; y < heightPx; ++y) {
    std::fill_n(image.row(y), widthPx, static_cast<std::uint8_t>(Hint::None));
  }
  for (const auto& stroke : strokes) {
    const auto value = static_cast<std::uint8_t>(hintOf(stroke.kind));
    for (std::size_t i = 0; i < stroke.points.size(); ++i) {
      paintPiece(image,
                 stroke.points[i == 0 ? 0 : i - 1],
                 stroke.points[i],
                 stroke.radiusPx,
                 value);
    }
  }
  return image;
}

}  // namespace edamori::work
