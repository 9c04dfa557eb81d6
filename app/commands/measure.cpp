// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/commands.h"
#include "app/commands/targets_internal.h"
#include "app/commands/tree_option_internal.h"
#include "app/work/figure_inputs.h"
#include "app/work/learning.h"
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
  std::string photo, outline, subject, hints, json, labels, garden, tree;
};

// The tree that the photo is of, when one was named.
struct NamedTree {
  store::Garden garden;
  store::Tree tree;
};

Result<std::optional<NamedTree>> namedTree(const Options& options) {
  if (options.garden.empty() != options.tree.empty()) {
    return fail(ErrorCode::InvalidArgument,
                "--garden and --tree belong together; give both, or none of them");
  }
  if (options.garden.empty()) {
    return std::optional<NamedTree>();
  }
  auto garden = store::Garden::open(options.garden);
  if (!garden) {
    return garden.error();
  }
  auto tree = treeWithTag(*garden, options.tree);
  if (!tree) {
    return tree.error();
  }
  return std::optional(NamedTree{.garden = std::move(*garden), .tree = std::move(*tree)});
}

// Measures a photo of the tree as a photo of the garden would be, from what earlier ones taught.
Result<vision::MeasureResult> measureOfTree(NamedTree& named,
                                            const work::OpenedPhoto& photo,
                                            vision::MeasureRequest request) {
  const work::LearningPlace place{
      .tree = named.tree.id, .subject = request.subject, .photoSha256 = photo.sha256};
  const auto prior = work::priorFor(named.garden, place);
  if (!prior) {
    return prior.error();
  }
  request.learned = prior->weights;
  auto result = vision::measure(photo.image, request);
  if (!result) {
    return result;
  }
  if (request.hints) {
    EDAMORI_RETURN_IF_ERROR(work::keepLearned(named.garden, place, *prior, result->learned));
  }
  result->method.parameters =
      work::withInputs(result->method.parameters,
                       {.learned = prior->weights, .earlierPhotos = prior->earlierPhotos});
  return result;
}

// A picture of other values would count as strokes that nobody painted.
Result<void> checkHints(const LabelImage& hints, const std::string& name) {
  for (std::size_t i = 0; i < hints.byteCount(); ++i) {
    switch (static_cast<Hint>(hints.data()[i])) {
      case Hint::None:
      case Hint::NotFoliage:
      case Hint::SoundFoliage:
      case Hint::Spot: break;
      default:
        return fail(ErrorCode::InvalidArgument,
                    name + " holds the value " + std::to_string(hints.data()[i]) +
                        "; a hint picture has 0 nothing said, 64 not foliage, 128 sound foliage, 255 spot");
    }
  }
  return {};
}

Result<vision::MeasureRequest> requestOf(const Options& options, Subject usual) {
  vision::MeasureRequest request;
  request.subject = usual;
  if (!options.subject.empty()) {
    auto subject = store::parseSubject(options.subject);
    if (!subject) {
      return subject.error();
    }
    request.subject = *subject;
  }
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
    EDAMORI_RETURN_IF_ERROR(checkHints(*hints, options.hints));
    request.hints = std::move(*hints);
  }
  return request;
}

std::string plainText(const vision::MeasureResult& result, Subject subject) {
  std::string text = "subject         " + store::toText(subject) + "\n";
  text += "foliage cover   " + work::estimateText(result.foliage) + "\n";
  text += "spotted foliage " +
          (result.spot ? work::estimateText(*result.spot) : "not measurable: next to no foliage");
  if (const std::string taught = work::taughtWords(result.method); !taught.empty()) {
    text += "\nmeasured        " + taught;
  }
  for (const Caution& caution : result.cautions) {
    text += "\ncaution: " + caution.text;
  }
  return text;
}

Result<void> measureFile(const Options& options, const Streams& streams) {
  if (!options.labels.empty() && std::filesystem::path(options.labels).extension() != ".png") {
    return fail(ErrorCode::InvalidArgument, options.labels + " has to end in .png; name the label mask so");
  }
  const std::vector<std::string> read{options.photo, options.hints};
  EDAMORI_RETURN_IF_ERROR(checkTarget(options.json, TargetKind::Json, read));
  EDAMORI_RETURN_IF_ERROR(checkTarget(options.labels, TargetKind::Png, read));
  auto named = namedTree(options);
  if (!named) {
    return named.error();
  }
  auto request = requestOf(options, *named ? (*named)->tree.subject : Subject::Leaf);
  if (!request) {
    return request.error();
  }
  auto photo = work::openPhotoFile(options.photo);
  if (!photo) {
    return photo.error();
  }
  auto result = *named ? measureOfTree(**named, *photo, *request)
                       : vision::measure(photo->image, *request);
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
  addOutlineOption(*command, options->outline,
                   "Branch outline \"x,y x,y x,y …\" in pixels of the upright photo");
  command->add_option("--subject", options->subject, "leaf or needles; else as the tree, or leaf")
      ->type_name("WORD");
  command->add_option("--hints", options->hints, "Hint picture (PNG), as large as the upright photo: 0 nothing said, 64 not foliage, 128 sound foliage, 255 spot")
      ->type_name("HINTS.png");
  command->add_option("--garden", options->garden, "With --tree: garden that knows the tree")
      ->type_name("DIR");
  command->add_option("--tree", options->tree,
                      "Start from what hints taught about the tree with this tag; keep what --hints teach")
      ->type_name("TAG");
  command->add_option("--json", options->json, "Write JSON to FILE, or - for standard output")
      ->type_name("FILE");
  command->add_option("--labels", options->labels, "Write the label mask")->type_name("OUT.png");
  command->callback([options, &chosen] {
    chosen = [options](const Streams& streams) { return measureFile(*options, streams); };
  });
}

}  // namespace edamori::commands
