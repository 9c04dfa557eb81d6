// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/commands.h"
#include "app/work/import.h"
#include "store/garden/garden.h"

#include <CLI/CLI.hpp>

#include <memory>
#include <ostream>

namespace edamori::commands {
namespace {

struct Options {
  std::string garden, tree;
  std::vector<std::string> paths;
};

// The tree with this tag, made when the garden has none: photos can be taken in
// from a script before anybody has opened the window.
Result<store::TreeId> treeFor(store::Garden& garden, const std::string& tag,
                              const Streams& streams) {
  auto found = garden.findTreeByTag(tag);
  if (!found) {
    return found.error();
  }
  if (found->has_value()) {
    return (*found)->id;
  }
  store::Tree tree;
  tree.id = store::TreeId::create();
  tree.tag = tag;
  EDAMORI_RETURN_IF_ERROR(garden.put(tree));
  streams.err << "edamori: no tree had the tag " << tag << ", so it was added to the garden\n";
  return tree.id;
}

Result<void> importPaths(const Options& options, const Streams& streams) {
  auto garden = store::Garden::open(options.garden);
  if (!garden) {
    return garden.error();
  }
  work::ImportRequest request;
  request.paths.assign(options.paths.begin(), options.paths.end());
  if (!options.tree.empty()) {
    auto tree = treeFor(*garden, options.tree, streams);
    if (!tree) {
      return tree.error();
    }
    request.tree = *tree;
  }
  auto report = work::importPhotos(*garden, request, [&](const work::ImportProgress& progress) {
    if (streams.showProgress) {
      streams.err << "\r\033[K" << progress.done << " of " << progress.total << "  "
                  << progress.current.filename().string() << std::flush;
    }
    return !isInterrupted();
  });
  if (streams.showProgress) {
    streams.err << "\r\033[K";
  }
  if (!report) {
    return report.error();
  }
  streams.out << work::toText(*report) << "\n";
  if (report->cancelled) {
    return fail(ErrorCode::Cancelled, "import stopped; what was taken in before stays");
  }
  if (report->takenIn.empty() && report->alreadyThere.empty() && !report->refused.empty()) {
    return fail(report->refused.front().code, "no photo could be taken in: " + report->refused.front().reason);
  }
  return {};
}

}  // namespace

void addImport(CLI::App& program, Action& chosen) {
  CLI::App* const command =
      program.add_subcommand("import", "Take photos into a garden; originals are never changed");
  const auto options = std::make_shared<Options>();
  command->add_option("--garden", options->garden, "Garden folder")->required()->type_name("DIR");
  command->add_option("--tree", options->tree, "File them under the tree with this tag")
      ->type_name("TAG");
  command->add_option("paths", options->paths, "Photos and folders of photos")
      ->required()
      ->type_name("PATH");
  command->callback([options, &chosen] {
    chosen = [options](const Streams& streams) { return importPaths(*options, streams); };
  });
}

}  // namespace edamori::commands
