// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/commands.h"
#include "app/commands/targets_internal.h"
#include "app/work/insect_offers.h"

#include <CLI/CLI.hpp>

#include <cmath>
#include <memory>
#include <ostream>

namespace edamori::commands {
namespace {

struct Options {
  std::string photo, finding, outline, json;
};

std::string plainText(const std::vector<vision::InsectCandidate>& candidates) {
  std::string text = std::to_string(candidates.size()) +
                     (candidates.size() == 1 ? " possible scale insect" : " possible scale insects") +
                     "; look at each before you count it";
  for (const vision::InsectCandidate& candidate : candidates) {
    text += "\nx " + std::to_string(std::lround(candidate.centrePx.x)) + "  y " +
            std::to_string(std::lround(candidate.centrePx.y)) + "  radius " +
            std::to_string(std::lround(candidate.radiusPx)) + " px  score " +
            std::to_string(std::lround(100 * candidate.score)) + " %";
  }
  return text;
}

Result<vision::InsectSearch> searchOf(const Options& options) {
  if (options.finding != "scale") {
    return fail(ErrorCode::InvalidArgument,
                "\"" + options.finding + "\" cannot be looked for; only --finding scale can");
  }
  auto outline = outlineFrom(options.outline);
  if (!outline) {
    return outline.error();
  }
  vision::InsectSearch search;
  if (*outline) {
    search.outlines.push_back(**outline);
  }
  search.goOn = [](double) { return !isInterrupted(); };
  return search;
}

Result<void> findOnFile(const Options& options, const Streams& streams) {
  EDAMORI_RETURN_IF_ERROR(checkTarget(options.json, TargetKind::Json, {options.photo}));
  auto search = searchOf(options);
  if (!search) {
    return search.error();
  }
  const auto photo = work::openPhotoFile(options.photo);
  if (!photo) {
    return photo.error();
  }
  search->sizes = vision::usualInsectSizes(photo->image.width(), photo->image.height());
  const auto found = vision::findScaleInsects(photo->image, *search);
  if (!found) {
    if (!options.json.empty() && found.error().code == ErrorCode::NotMeasurable) {
      EDAMORI_RETURN_IF_ERROR(
          writeText(options.json, work::findRefusalJson(*photo, found.error().message), streams));
    }
    return found.error().withContext(options.photo);
  }
  return options.json.empty()
             ? writeText("-", plainText(*found), streams)
             : writeText(options.json, work::findJson(*photo, *found, *search->sizes), streams);
}

}  // namespace

void addFind(CLI::App& program, Action& chosen) {
  CLI::App* const command =
      program.add_subcommand("find", "List possible scale insects on one photo, for you to judge");
  const auto options = std::make_shared<Options>();
  command->add_option("photo", options->photo, "Photo: JPEG, PNG, TIFF or HEIC")
      ->required()
      ->type_name("PHOTO");
  command->add_option("--finding", options->finding, "What to look for: scale")
      ->required()
      ->type_name("WORD");
  addOutlineOption(*command, options->outline,
                   "Only within \"x,y x,y x,y …\" in pixels of the upright photo");
  command->add_option("--json", options->json, "Write JSON to FILE, or - for standard output")
      ->type_name("FILE");
  command->callback([options, &chosen] {
    chosen = [options](const Streams& streams) { return findOnFile(*options, streams); };
  });
}

}  // namespace edamori::commands
