// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/commands.h"
#include "app/work/measuring.h"
#include "app/work/overview.h"
#include "store/records/records.h"
#include "vision/load/load.h"

#include <CLI/CLI.hpp>

#include <memory>
#include <ostream>

namespace edamori::commands {
namespace {

struct Options {
  std::string photo, outline, subject = "leaf", hints, json, labels;
};

Result<vision::MeasureRequest> requestOf(const Options& options) {
  vision::MeasureRequest request;
  auto subject = store::parseSubject(options.subject);
  if (!subject) {
    return subject.error();
  }
  request.subject = *subject;
  auto outline = outlineFrom(options.outline);
  if (!outline) {
    return outline.error();
  }
  request.outline = *outline;
  if (!options.hints.empty()) {
    auto hints = vision::loadLabels(options.hints);
    if (!hints) {
      return hints.error();
    }
    request.hints = std::move(*hints);
  }
  return request;
}

std::string plainText(const vision::MeasureResult& result, Subject subject) {
  std::string text = "subject         " + store::toText(subject) + "\n";
  text += "foliage cover   " + work::estimateText(result.foliage) + "\n";
  text += "spotted foliage " +
          (result.spot ? work::estimateText(*result.spot) : "not measurable: next to no foliage");
  for (const Caution& caution : result.cautions) {
    text += "\ncaution: " + caution.text;
  }
  return text;
}

Result<void> measureFile(const Options& options, const Streams& streams) {
  auto request = requestOf(options);
  if (!request) {
    return request.error();
  }
  auto photo = work::openPhotoFile(options.photo);
  if (!photo) {
    return photo.error();
  }
  auto result = vision::measure(photo->image, *request);
  if (!result) {
    if (!options.json.empty() && result.error().code == ErrorCode::NotMeasurable) {
      EDAMORI_RETURN_IF_ERROR(writeText(
          options.json, work::measureRefusalJson(*photo, result.error().message), streams));
    }
    return result.error().withContext(options.photo);
  }
  if (!options.labels.empty()) {
    EDAMORI_RETURN_IF_ERROR(vision::saveLabels(options.labels, result->labels));
  }
  return options.json.empty()
             ? writeText("-", plainText(*result, request->subject), streams)
             : writeText(options.json, work::measureJson(*photo, *result), streams);
}

}  // namespace

void addMeasure(CLI::App& program, Action& chosen) {
  CLI::App* const command =
      program.add_subcommand("measure", "Measure foliage cover and spotted share on one photo");
  const auto options = std::make_shared<Options>();
  command->add_option("photo", options->photo, "Photo: JPEG, PNG, TIFF or HEIC")
      ->required()
      ->type_name("PHOTO");
  command->add_option("--outline", options->outline,
                      "Branch outline \"x,y x,y x,y …\" in pixels of the upright photo");
  command->add_option("--subject", options->subject, "leaf or needles")->type_name("WORD");
  command->add_option("--hints", options->hints, "Hint picture, as large as the upright photo")
      ->type_name("HINTS.png");
  command->add_option("--json", options->json, "Write JSON to FILE, or - for standard output")
      ->type_name("FILE");
  command->add_option("--labels", options->labels, "Write the label mask")->type_name("OUT.png");
  command->callback([options, &chosen] {
    chosen = [options](const Streams& streams) { return measureFile(*options, streams); };
  });
}

}  // namespace edamori::commands
