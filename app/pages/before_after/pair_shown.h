// SPDX-License-Identifier: GPL-3.0-or-later
// What the Before & After page shows of a pair of photos; made in a worker thread.
#pragma once

#include "app/pages/bench/photo_picture.h"
#include "app/pages/jobs.h"
#include "app/work/pair_help.h"
#include "vision/align/change_map.h"

#include <QColor>
#include <QImage>
#include <QRectF>
#include <QStringList>
#include <filesystem>
#include <optional>

namespace edamori::pages {

struct PairAsked {
  std::filesystem::path folder;  // of the garden
  work::BranchPair pair;
  store::Photo before, after;
};

// The two photos as they are, and what the garden holds of the branch on them.
struct PairPictures {
  Picture before, after;
  std::optional<Outline> outlineBefore, outlineAfter;  // px of their own photo
  // Carried over, and a person has still to say whether it lies right: drawn dashed, as on the Bench.
  bool isBeforeUnconfirmed = false, isAfterUnconfirmed = false;
  std::optional<store::PairHelp> help;
};

// The longer side that a photo is shown with at most: its clicks are good to a pixel and a half of
// 12 megapixels, and painting stays fluid.
inline constexpr int kPairPicturePx = 3200;

// A picture in halving sizes; places on it are px of a photo of `photoSize`.
[[nodiscard]] Picture pairPicture(const RgbImage& image, QSize photoSize);

// Reads both photos. Errors: those of reading; Cancelled.
Result<PairPictures> readPair(const PairAsked& asked, const JobControl& control);

// Places where foliage went, came or is spotted, as a see-through picture over part of the earlier
// photo. Each kind has a colour of the Okabe–Ito palette (Okabe & Ito 2008) and a pattern of its
// own, so that the two of them tell it.
struct ChangePicture {
  QRectF areaPx;  // of the earlier photo
  QImage image;  // null when nothing could be told
};
[[nodiscard]] QColor changeColour(vision::ChangeKind kind);
// A piece of the pattern for a legend.
[[nodiscard]] QImage changeSwatch(vision::ChangeKind kind, QSize sizePx);
[[nodiscard]] QString changeWords(vision::ChangeKind kind);  // "Lost", "Gained", "Spotted after", "No longer spotted"

struct ComparisonShown {
  bool aligned = false;
  QString verdict;      // in words, or that the pair cannot be compared
  QStringList figures;  // one line each, with interval; for a refused pair what to do
  QStringList cautions;
  // When aligned: the later photo laid on the earlier one, plain and in greys.
  Picture laidOn, grey;
  ChangePicture change;
  Outline outlineBefore;         // px of the earlier photo
  Outline outlineAfter;          // px of the later photo
  Outline outlineAfterOnBefore;  // the same, px of the earlier photo
  double residualPx = 0;         // of the alignment, px of the later photo
};

// Compares, stores the figures, and says it in words. `pictures` are those of the same pair.
// Errors: as work::comparePhotos; Cancelled, with nothing stored.
Result<ComparisonShown> comparePair(const PairAsked& asked,
                                    const PairPictures& pictures,
                                    const JobControl& control);

}  // namespace edamori::pages
