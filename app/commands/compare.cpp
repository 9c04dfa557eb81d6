// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/commands.h"
#include "app/commands/targets_internal.h"
#include "app/work/measuring.h"
#include "app/work/overview.h"
#include "store/records/records.h"
#include "vision/load/load.h"

#include <CLI/CLI.hpp>

#include <array>
#include <charconv>
#include <memory>
#include <ostream>
#include <sstream>

namespace edamori::commands {
namespace {

struct Options {
  std::string before, after, outline, points, subject = "leaf", json, aligned;
};

std::string plainText(const vision::Comparison& comparison, Subject subject) {
  std::string text = "subject       " + store::toText(subject) + "\nverdict       " + toText(comparison.verdict);
  if (comparison.lossByCover) {
    text += "\nloss by cover " + work::estimateText(*comparison.lossByCover);
  }
  if (comparison.lossByLight) {
    text += "\nloss by light " + work::estimateText(*comparison.lossByLight);
  }
  if (comparison.spotChange) {
    text += "\nspot change   " + work::figureText("spot-change", *comparison.spotChange);
    const std::string clear = work::clearSpotChange(*comparison.spotChange);
    text += clear.empty() ? "" : ": " + clear;
  }
  for (const Caution& caution : comparison.cautions) {
    text += "\ncaution: " + caution.text;
  }
  return text;
}

// "120,80=131,85 700,420=709,431": each place on the earlier photo, then on the later one.
Result<std::vector<vision::PointPairPx>> pointsFrom(const std::string& text) {
  std::vector<vision::PointPairPx> points;
  std::istringstream words(text);
  for (std::string word; words >> word;) {
    std::array<double, 4> numbers{};
    const char* at = word.data();
    const char* const end = word.data() + word.size();
    constexpr std::string_view kBetween = ",=,";
    for (std::size_t i = 0; i < numbers.size(); ++i) {
      const auto [rest, error] = std::from_chars(at, end, numbers.at(i));
      const bool goesOn = i < kBetween.size() ? rest != end && *rest == kBetween[i] : rest == end;
      if (error != std::errc{} || !goesOn) {
        return fail(ErrorCode::InvalidArgument,
                    "\"" + word + "\" is no place on two photos; write x,y=x,y with a space between places");
      }
      at = rest == end ? rest : rest + 1;
    }
    points.push_back({.before = {.x = numbers[0], .y = numbers[1]},
                      .after = {.x = numbers[2], .y = numbers[3]}});
  }
  return points;
}

Result<vision::CompareRequest> requestOf(const Options& options) {
  vision::CompareRequest request;
  auto subject = store::parseSubject(options.subject);
  if (!subject) {
    return subject.error();
  }
  request.subject = *subject;
  auto outline = outlineFrom(options.outline);
  if (!outline) {
    return outline.error();
  }
  request.outlineBefore = *outline;
  auto points = pointsFrom(options.points);
  if (!points) {
    return points.error();
  }
  request.points = std::move(*points);
  return request;
}

// By whole days, for phones disagree on the hour.
bool wasTakenLater(const store::PhotoMetadata& one, const store::PhotoMetadata& other) {
  return one.dateSource == store::DateSource::Camera && other.dateSource == store::DateSource::Camera &&
         one.takenAt.date > other.takenAt.date;
}

Result<void> compareFiles(const Options& options, const Streams& streams) {
  const std::vector<std::string> photos{options.before, options.after};
  EDAMORI_RETURN_IF_ERROR(checkTarget(options.json, TargetKind::Json, photos));
  EDAMORI_RETURN_IF_ERROR(checkTarget(options.aligned, TargetKind::Png, photos));
  auto request = requestOf(options);
  if (!request) {
    return request.error();
  }
  auto before = work::openPhotoFile(options.before);
  if (!before) {
    return before.error();
  }
  auto after = work::openPhotoFile(options.after);
  if (!after) {
    return after.error();
  }
  // A photo shows no change against itself, which says nothing of the branch.
  if (before->sha256 == after->sha256) {
    return fail(ErrorCode::InvalidArgument, options.before + " and " + options.after +
                                                " are the same photo; give photos of the branch from two days");
  }
  auto comparison = vision::compare(before->image, after->image, *request);
  if (!comparison) {
    return comparison.error().withContext(options.before + " and " + options.after);
  }
  if (wasTakenLater(before->metadata, after->metadata)) {
    comparison->cautions.push_back(
        {.code = "dates-swapped", .text = "The camera's dates say that the photo named first is the later one; swap the two."});
  }
  if (!options.json.empty()) {
    EDAMORI_RETURN_IF_ERROR(writeText(options.json, work::compareJson(*comparison), streams));
  }
  if (!comparison->aligned) {
    return fail(ErrorCode::NotMeasurable,
                options.before + " and " + options.after + ": " + comparison->refusal);
  }
  if (!options.aligned.empty()) {
    EDAMORI_RETURN_IF_ERROR(vision::savePicture(
        options.aligned,
        vision::warpedOntoBefore(after->image, comparison->alignment.afterFromBefore,
                                 before->image.width(), before->image.height())));
  }
  if (options.json.empty()) {
    EDAMORI_RETURN_IF_ERROR(writeText("-", plainText(*comparison, request->subject), streams));
  }
  // What was measured is told; that the asked-for loss is not among it shows in the status.
  if (vision::hasCaution(*comparison, "points-disagree")) {
    return fail(ErrorCode::NotMeasurable, options.before + " and " + options.after +
                                              ": no change is told, for the places contradict what both photos show; "
                                              "give others, or none");
  }
  if (!comparison->lossByCover) {
    return fail(ErrorCode::NotMeasurable,
                options.before + " and " + options.after +
                    ": no loss can be stated, for the earlier photo may show next to no "
                    "foliage; draw the outline close around the branch");
  }
  return {};
}

}  // namespace

void addCompare(CLI::App& program, Action& chosen) {
  CLI::App* const command =
      program.add_subcommand("compare", "Align two photos of one branch and say what changed");
  const auto options = std::make_shared<Options>();
  command->add_option("before", options->before, "Earlier photo")->required()->type_name("BEFORE");
  command->add_option("after", options->after, "Later photo")->required()->type_name("AFTER");
  addOutlineOption(*command, options->outline, "Branch outline on the earlier photo, \"x,y x,y x,y …\"");
  command->add_option("--points", options->points,
                      "2 to 4 places that are the same on both photos, \"x,y=x,y x,y=x,y …\"");
  command->add_option("--subject", options->subject, "leaf or needles; else leaf")->type_name("WORD");
  command->add_option("--json", options->json, "Write JSON to FILE, or - for standard output")
      ->type_name("FILE");
  command->add_option("--aligned", options->aligned, "Write the later photo laid on the earlier")
      ->type_name("OUT.png");
  command->callback([options, &chosen] {
    chosen = [options](const Streams& streams) { return compareFiles(*options, streams); };
  });
}

}  // namespace edamori::commands
