// SPDX-License-Identifier: GPL-3.0-or-later
// The measuring of one region of one photo: foliage cover and spot fraction.
#pragma once

#include "vision/foliage/hints.h"
#include "vision/values/figure.h"
#include "vision/values/geometry.h"
#include "vision/values/raster.h"
#include "vision/values/result.h"

#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

namespace edamori::vision {

struct MeasureRequest {
  std::optional<Outline> outline;   // whole photo when absent; clipped to the photo
  Subject subject = Subject::Leaf;
  std::optional<LabelImage> hints;  // Hint values, same size as the photo
  Correction learned{};             // from hints on earlier photos of the tree; 0: nothing
};

struct MeasureResult {
  Estimate foliage;             // C = F / O, 0…1
  std::optional<Estimate> spot; // S / F, 0…1; absent when there is next to no foliage
  LabelImage labels;            // Label values, same size as the photo
  std::int64_t outlinePx = 0;   // O, pixels inside the outline
  std::vector<Caution> cautions;
  Correction learned;           // what the hints taught, on top of what was known before
  Method method;
};

// What an outline that has been read is judged with.
struct Judging {
  Subject subject = Subject::Leaf;
  const LabelImage* hints = nullptr;  // Hint values, same size as the photo; none: no strokes
  Correction learned{};               // as MeasureRequest
};

// How far around an outline is looked, and strokes count: share of its box's longer side.
inline constexpr double kMeasuredAroundShare = 0.12;

// Raised whenever the same photo and request could give another figure.
inline constexpr int kMeasureVersion = 5;

// Measures foliage cover and leaf-spot fraction inside an outline.
//
// Input:  upright sRGB photo (see loadPhoto), any size.
// Output: fractions with 95 % intervals and the label image they were counted on.
//         The same photo and request give the same bits on every run.
// Errors: InvalidArgument (hints of another size, outline with < 3 points);
//         NotMeasurable with the reason (outline outside the photo or under
//         kMinOutlinePx pixels, photo blurred or clipped beyond use).
// Thread: safe to call from any thread.
Result<MeasureResult> measure(const RgbImage& photo, const MeasureRequest& request);

// An outline of one photo, read by the network once and judged as often as hints change: the
// network takes most of the time of measuring, and hints do not change what it saw.
//
// Keeps some 60 bytes a pixel of the working image and one byte a pixel of the outline's box, and
// no photo. judged() gives, bit for bit, what measure() gives for the same photo and request.
// Thread: judged() is safe to call from any threads at the same time.
class OutlineReading {
 public:
  // Errors: as measure().
  static Result<OutlineReading> create(const RgbImage& photo,
                                       const std::optional<Outline>& outline);
  OutlineReading(OutlineReading&&) noexcept;
  OutlineReading& operator=(OutlineReading&&) noexcept;
  ~OutlineReading();

  // Errors: InvalidArgument (hints of another size); NotMeasurable as measure().
  [[nodiscard]] Result<MeasureResult> judged(const Judging& judging) const;

 private:
  class Parts;
  explicit OutlineReading(std::unique_ptr<Parts> parts);
  std::unique_ptr<Parts> m_parts;
};

// Outlines below this many pixels give no figure worth having.
inline constexpr std::int64_t kMinOutlinePx = 2500;

// Whether a caution of measure() is of the spotted share alone and says nothing against the cover.
[[nodiscard]] bool isOfSpotsAlone(const Caution& caution);

}  // namespace edamori::vision
