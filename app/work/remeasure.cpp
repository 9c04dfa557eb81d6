// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/remeasure.h"

#include "app/work/figure_inputs.h"
#include "app/work/overview.h"
#include "app/work/photos.h"
#include "vision/align/compare.h"
#include "vision/figures/measure.h"
#include "vision/foliage/tissue.h"
#include "vision/load/load.h"

#include <array>
#include <charconv>
#include <map>
#include <optional>

namespace edamori::work {
namespace {

using store::Garden;
using store::Measurement;

// Figures by name, as one measuring or comparing gives them.
using Figures = std::map<std::string, Estimate>;

// As many digits as tell the number from its neighbours.
std::string exactly(double value) {
  std::array<char, 32> buffer{};
  const auto [end, error] = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value);
  return error == std::errc{} ? std::string(buffer.data(), end) : std::string("?");
}

std::string exactly(const Estimate& estimate) {
  return exactly(estimate.value) + " (" + exactly(estimate.low) + " to " + exactly(estimate.high) + ")";
}

void add(Figures& figures, const std::string& name, const std::optional<Estimate>& estimate) {
  if (estimate) {
    figures.emplace(name, *estimate);
  }
}

// Why the figure cannot be recomputed by this program, by its method alone; empty when it can.
std::string whyOtherMethod(const Method& method) {
  if (method.name != "foliage-and-spots") {
    return "made by the method " + method.name + ", not comparable";
  }
  if (method.version != vision::kMeasureVersion) {
    return "made by method version " + std::to_string(method.version) + ", not comparable";
  }
  return {};
}

// The same by what it was made from.
std::string whyOtherInputs(const Measurement& stored, const FigureInputs& inputs) {
  const Method& method = stored.method;
  if (inputs.network != vision::tissueModelName()) {
    return "made by method version " + std::to_string(method.version) + " with the network " +
           inputs.network + ", not comparable";
  }
  if (stored.baselinePhoto && inputs.compareVersion != vision::kCompareVersion) {
    return "made by comparing version " + std::to_string(inputs.compareVersion) + ", not comparable";
  }
  if (!inputs.outline) {
    return "made before outlines were kept with figures, not comparable";
  }
  return {};
}

// Recomputes the figures of one photo after the other; keeps pixels and results of the latest.
class Recomputing {
 public:
  explicit Recomputing(const Garden& garden) : m_garden(garden) {}

  // Errors: what stands in the way of recomputing; NotMeasurable when measuring refuses by now.
  Result<Figures> figuresFor(const Measurement& stored, const FigureInputs& inputs) {
    if (stored.photo != m_photo) {
      m_photo = stored.photo;
      m_known.clear();
      m_pixels.clear();
    }
    const std::string key = stored.method.parameters + '\n' + stored.hintMask + '\n' +
                            (stored.baselinePhoto ? stored.baselinePhoto->text : std::string());
    const auto known = m_known.find(key);
    if (known != m_known.end()) {
      return known->second;
    }
    auto figures = stored.baselinePhoto ? compared(stored, inputs) : measured(stored, inputs);
    m_known.emplace(key, figures);
    return figures;
  }

 private:
  Result<const RgbImage*> pixelsOf(const store::PhotoId& id) {
    if (const auto known = m_pixels.find(id.text); known != m_pixels.end()) {
      return &known->second;
    }
    const auto photo = m_garden.find(id);
    if (!photo) {
      return photo.error();
    }
    if (!photo->has_value()) {
      return fail(ErrorCode::NotFound, "its photo is no longer in the garden; restore a backup");
    }
    auto image = loadOriginal(m_garden, **photo);
    if (!image) {
      return image.error();
    }
    return &m_pixels.emplace(id.text, std::move(*image)).first->second;
  }

  Result<Figures> measured(const Measurement& stored, const FigureInputs& inputs) {
    const auto image = pixelsOf(stored.photo);
    if (!image) {
      return image.error();
    }
    vision::MeasureRequest request{.outline = inputs.outline,
                                   .subject = inputs.subject,
                                   .hints = std::nullopt,
                                   .learned = inputs.learned};
    if (!stored.hintMask.empty()) {
      auto hints = vision::loadLabels(m_garden.folder() / stored.hintMask);
      if (!hints) {
        return hints.error();
      }
      request.hints = std::move(*hints);
    }
    return vision::measure(**image, request).transform([](vision::MeasureResult&& result) {
      Figures figures{{"foliage", result.foliage}};
      add(figures, "spot", result.spot);
      return figures;
    });
  }

  Result<Figures> compared(const Measurement& stored, const FigureInputs& inputs) {
    const auto before = pixelsOf(*stored.baselinePhoto);
    const auto after = pixelsOf(stored.photo);
    if (!before || !after) {
      return !before ? before.error() : after.error();
    }
    const auto comparison = vision::compare(**before, **after,
                                            {.outlineBefore = inputs.outline,
                                             .outlineAfter = inputs.outlineAfter,
                                             .drawnAfter = inputs.drawnAfter,
                                             .subject = inputs.subject,
                                             .learned = inputs.learned,
                                             .points = inputs.points});
    if (!comparison) {
      return comparison.error();
    }
    if (!comparison->aligned) {
      return fail(ErrorCode::NotMeasurable, comparison->refusal);
    }
    Figures figures;
    add(figures, "loss-by-cover", comparison->lossByCover);
    add(figures, "loss-by-light", comparison->lossByLight);
    add(figures, "spot-change", comparison->spotChange);
    return figures;
  }

  const Garden& m_garden;
  store::PhotoId m_photo;
  std::map<std::string, Result<Figures>> m_known;
  std::map<std::string, RgbImage> m_pixels;  // of m_photo and of those it is compared with
};

// "ED-01, IMG_0412.jpg, first left, Foliage cover"
Result<std::string> nameOf(const Garden& garden, const store::Photo& photo, const Measurement& stored) {
  const auto tree = garden.find(photo.tree);
  const auto branch = garden.find(stored.branch);
  if (!tree || !branch) {
    return !tree ? tree.error() : branch.error();
  }
  return (*tree ? (*tree)->tag : std::string("no tree")) + ", " + photo.originalName + ", " +
         (*branch ? (*branch)->name : std::string("whole photo")) + ", " + figureTitle(stored.figure);
}

// Counts the figure; gives what to say about it, empty when it agrees.
std::string verdictOn(const Measurement& stored, Recomputing& recomputing, RemeasureReport& report) {
  if (std::string why = whyOtherMethod(stored.method); !why.empty()) {
    ++report.notComparable;
    return why;
  }
  const auto inputs = inputsOf(stored.method);
  if (!inputs) {
    ++report.failed;
    return "cannot be recomputed: " + inputs.error().message;
  }
  if (std::string why = whyOtherInputs(stored, *inputs); !why.empty()) {
    ++report.notComparable;
    return why;
  }
  const auto figures = recomputing.figuresFor(stored, *inputs);
  if (!figures && figures.error().code != ErrorCode::NotMeasurable) {
    ++report.failed;
    return "cannot be recomputed: " + figures.error().message;
  }
  const std::string was = "stored " + exactly(stored.estimate) + ", recomputed ";
  if (!figures) {
    ++report.drifted;
    return was + "none: " + figures.error().message;
  }
  const auto figure = figures->find(stored.figure);
  if (figure != figures->end() && figure->second == stored.estimate) {
    ++report.agreed;
    return {};
  }
  ++report.drifted;
  return was + (figure == figures->end() ? std::string("none") : exactly(figure->second));
}

struct PhotoFigures {
  store::Photo photo;
  std::vector<Measurement> figures;
};

Result<std::vector<PhotoFigures>> storedFigures(const Garden& garden) {
  const auto photos = garden.allPhotos();
  if (!photos) {
    return photos.error();
  }
  std::vector<PhotoFigures> all;
  for (const store::Photo& photo : *photos) {
    auto figures = garden.measurements(photo.id);
    if (!figures) {
      return figures.error();
    }
    all.push_back({.photo = photo, .figures = std::move(*figures)});
  }
  return all;
}

}  // namespace

Result<RemeasureReport> remeasureGarden(const Garden& garden,
                                        const std::function<bool(int, int)>& goOn) {
  const auto all = storedFigures(garden);
  if (!all) {
    return all.error();
  }
  int total = 0;
  for (const PhotoFigures& one : *all) {
    total += static_cast<int>(one.figures.size());
  }
  RemeasureReport report;
  Recomputing recomputing(garden);
  int done = 0;
  for (const PhotoFigures& one : *all) {
    for (const Measurement& stored : one.figures) {
      if (goOn && !goOn(done++, total)) {
        return fail(ErrorCode::Cancelled, "recomputing was stopped; nothing was changed");
      }
      const std::string verdict = verdictOn(stored, recomputing, report);
      if (!verdict.empty()) {
        const auto name = nameOf(garden, one.photo, stored);
        if (!name) {
          return name.error();
        }
        report.lines.push_back(*name + ": " + verdict);
      }
    }
  }
  return report;
}

}  // namespace edamori::work
