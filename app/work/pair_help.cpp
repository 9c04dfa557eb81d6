// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/pair_help.h"

#include <algorithm>

namespace edamori::work {
namespace {

using store::Garden;

Result<store::Photo> photoOf(const Garden& garden, const store::PhotoId& id) {
  auto found = garden.find(id);
  if (!found) {
    return std::move(found).error();
  }
  if (!*found) {
    return fail(ErrorCode::NotFound, "a photo of this pair is no longer in the garden");
  }
  return **std::move(found);
}

Result<std::optional<store::OutlineRecord>> outlineOf(const Garden& garden,
                                                      const store::PhotoId& photo,
                                                      const store::BranchId& branch) {
  const auto outlines = garden.outlines(photo);
  if (!outlines) {
    return outlines.error();
  }
  std::optional<store::OutlineRecord> newest;
  for (const store::OutlineRecord& outline : *outlines) {
    if (outline.branch == branch && (!newest || newest->id < outline.id)) {
      newest = outline;
    }
  }
  return newest;
}

Result<PairHelpBefore> asItIs(const Garden& garden, const BranchPair& pair) {
  auto help = garden.pairHelp(pair.branch, pair.before, pair.after);
  if (!help) {
    return help.error();
  }
  return PairHelpBefore{.pair = pair, .help = std::move(*help), .outline = {}, .added = {}};
}

store::PairHelp helpToChange(const PairHelpBefore& before) {
  return before.help.value_or(store::PairHelp{.id = store::PairHelpId::create(),
                                              .branch = before.pair.branch,
                                              .before = before.pair.before,
                                              .after = before.pair.after,
                                              .pointsBefore = {},
                                              .pointsAfter = {},
                                              .outlineAfter = {},
                                              .holesAfter = {}});
}

// Aligning by points reads no pixel, only how large the photos are.
Result<void> checkPoints(const Garden& garden,
                         const BranchPair& pair,
                         const std::vector<vision::PointPairPx>& points) {
  const auto before = photoOf(garden, pair.before);
  const auto after = photoOf(garden, pair.after);
  const auto outline = outlineOf(garden, pair.before, pair.branch);
  if (!before || !after || !outline) {
    return !before ? before.error() : !after ? after.error() : outline.error();
  }
  if (!outline->has_value()) {
    return fail(ErrorCode::InvalidArgument,
                before->originalName +
                    " has no outline of this branch; draw it on the Bench first");
  }
  const auto aligned = vision::alignByPoints(RgbImage(before->widthPx, before->heightPx),
                                             RgbImage(after->widthPx, after->heightPx),
                                             points,
                                             (*outline)->shape);
  return aligned ? Result<void>() : Result<void>(aligned.error());
}

Result<void> checkLiesOn(const store::Photo& photo, const Outline& outline) {
  if (outline.polygon.size() < 3) {
    return fail(ErrorCode::InvalidArgument, "an outline needs at least 3 corners");
  }
  const PointPx centre = centroidPx(outline.polygon);
  const bool isOn = centre.x >= 0.0 && centre.y >= 0.0 && centre.x <= photo.widthPx &&
                    centre.y <= photo.heightPx;
  return isOn ? Result<void>()
              : Result<void>(fail(ErrorCode::InvalidArgument,
                                  "the outline lies beside the later photo; move it back"));
}

// What the later photo's own outline becomes; nothing when it was drawn by hand.
std::optional<store::OutlineRecord> confirmedOutline(
    const std::optional<store::OutlineRecord>& was,
    const BranchPair& pair,
    const Outline& shape) {
  if (was && !was->carriedFrom) {
    return std::nullopt;
  }
  store::OutlineRecord outline = was.value_or(store::OutlineRecord{});
  if (!was) {
    outline.id = store::OutlineId::create();
  }
  outline.photo = pair.after;
  outline.branch = pair.branch;
  outline.shape = shape;
  outline.carriedFrom = outline.carriedFrom.value_or(pair.before);
  outline.confirmed = true;
  return outline;
}

}  // namespace

std::vector<vision::PointPairPx> pointPairsOf(const store::PairHelp& help) {
  std::vector<vision::PointPairPx> points;
  const std::size_t count = std::min(help.pointsBefore.size(), help.pointsAfter.size());
  for (std::size_t i = 0; i < count; ++i) {
    points.push_back({.before = help.pointsBefore[i], .after = help.pointsAfter[i]});
  }
  return points;
}

Result<PairHelpBefore> keepPoints(Garden& garden,
                                  const BranchPair& pair,
                                  const std::vector<vision::PointPairPx>& points) {
  EDAMORI_RETURN_IF_ERROR(checkPoints(garden, pair, points));
  auto before = asItIs(garden, pair);
  if (!before) {
    return before;
  }
  store::PairHelp help = helpToChange(*before);
  help.pointsBefore.clear();
  help.pointsAfter.clear();
  for (const vision::PointPairPx& each : points) {
    help.pointsBefore.push_back(each.before);
    help.pointsAfter.push_back(each.after);
  }
  EDAMORI_RETURN_IF_ERROR(garden.put(help));
  return before;
}

Result<PairHelpBefore> keepOutlineAfter(Garden& garden,
                                        const BranchPair& pair,
                                        const Outline& outline) {
  const auto photo = photoOf(garden, pair.after);
  if (!photo) {
    return photo.error();
  }
  EDAMORI_RETURN_IF_ERROR(checkLiesOn(*photo, outline));
  auto before = asItIs(garden, pair);
  const auto was = outlineOf(garden, pair.after, pair.branch);
  if (!before || !was) {
    return !before ? before.error() : was.error();
  }
  store::PairHelp help = helpToChange(*before);
  help.outlineAfter = outline.polygon;
  help.holesAfter = outline.holes;
  const auto confirmed = confirmedOutline(*was, pair, outline);
  if (confirmed) {
    before->outline = *was;
    before->added = *was ? std::nullopt : std::optional(confirmed->id);
  }
  EDAMORI_RETURN_IF_ERROR(garden.inTransaction([&]() -> Result<void> {
    EDAMORI_RETURN_IF_ERROR(garden.put(help));
    return confirmed ? garden.put(*confirmed) : Result<void>();
  }));
  return before;
}

Result<PairHelpBefore> forgetPairHelp(Garden& garden, const BranchPair& pair) {
  auto before = asItIs(garden, pair);
  if (before && before->help) {
    EDAMORI_RETURN_IF_ERROR(garden.remove(before->help->id));
  }
  return before;
}

Result<void> takeBack(Garden& garden, const PairHelpBefore& before) {
  return garden.inTransaction([&]() -> Result<void> {
    const auto now = garden.pairHelp(before.pair.branch, before.pair.before, before.pair.after);
    if (!now) {
      return now.error();
    }
    if (before.help) {
      EDAMORI_RETURN_IF_ERROR(garden.put(*before.help));
    } else if (*now) {
      EDAMORI_RETURN_IF_ERROR(garden.remove((*now)->id));
    }
    if (before.outline) {
      EDAMORI_RETURN_IF_ERROR(garden.put(*before.outline));
    }
    return before.added ? garden.remove(*before.added) : Result<void>();
  });
}

}  // namespace edamori::work
