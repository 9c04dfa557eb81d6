// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/commands.h"
#include "app/commands/tree_option_internal.h"
#include "app/work/import.h"
#include "store/garden/garden.h"

#include <CLI/CLI.hpp>

#include <memory>
#include <ostream>
#include <utility>

namespace edamori::commands {
namespace {

struct Options {
  std::string garden, tree, newTree;
  std::vector<std::string> paths;
};

Result<store::TreeId> treeFor(const store::Garden& garden, const std::string& tag) {
  auto tree = treeWithTag(garden, tag);
  if (tree) {
    return tree->id;
  }
  Error error = tree.error();
  if (error.code == ErrorCode::InvalidArgument) {
    error.message += "; to plant a new one, say --new-tree " + tag + " instead of --tree";
  }
  return error;
}

// Made here so that photos can be taken in from a script before anybody opened the window.
Result<store::TreeId> newTree(store::Garden& garden, const std::string& tag) {
  auto found = garden.findTreeByTag(tag);
  if (!found) {
    return found.error();
  }
  if (found->has_value()) {
    return fail(ErrorCode::InvalidArgument,
                "a tree has the tag " + tag + " already; say --tree " + tag + " to file photos under it");
  }
  store::Tree tree;
  tree.id = store::TreeId::create();
  tree.tag = tag;
  EDAMORI_RETURN_IF_ERROR(garden.put(tree));
  return tree.id;
}

Result<store::TreeId> chosenTree(store::Garden& garden, const Options& options) {
  if (!options.tree.empty() && !options.newTree.empty()) {
    return fail(ErrorCode::InvalidArgument, "--tree and --new-tree exclude each other; give one of them");
  }
  if (!options.newTree.empty()) {
    return newTree(garden, options.newTree);
  }
  return options.tree.empty() ? Result<store::TreeId>(store::TreeId{}) : treeFor(garden, options.tree);
}

// A photo that is there already stays under its tree.
void sayWhereElse(const store::Garden& garden, const work::ImportReport& report, const store::TreeId& wanted,
                  const Streams& streams) {
  for (const work::ImportedPhoto& photo : report.alreadyThere) {
    if (photo.photo.tree.isEmpty() || photo.photo.tree == wanted) {
      continue;
    }
    if (const auto tree = garden.find(photo.photo.tree); tree && *tree) {
      streams.out << photo.file.string() << " is filed under the tree " << (*tree)->tag << " and stays there\n";
    }
  }
}

Result<void> importPaths(const Options& options, const Streams& streams) {
  auto garden = store::Garden::open(options.garden);
  if (!garden) {
    return garden.error();
  }
  work::ImportRequest request;
  request.paths.assign(options.paths.begin(), options.paths.end());
  auto tree = chosenTree(*garden, options);
  if (!tree) {
    return tree.error();
  }
  request.tree = *tree;
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
  sayWhereElse(*garden, *report, request.tree, streams);
  if (request.tree.isEmpty() && !report->takenIn.empty()) {
    streams.out << "they belong to no tree yet; import them again with --tree TAG, or file them in the window\n";
  }
  if (report->cancelled) {
    return fail(ErrorCode::Cancelled, "import stopped; what was taken in before stays");
  }
  if (report->refused.empty()) {
    return {};
  }
  // Scripts see by the status that something is missing, whatever else was taken in.
  const work::RefusedFile& first = report->refused.front();
  const std::size_t well = report->takenIn.size() + report->alreadyThere.size();
  return fail(first.code, well == 0 ? "no photo could be taken in: " + first.reason
                                    : std::to_string(report->refused.size()) + " of " +
                                          std::to_string(well + report->refused.size()) +
                                          " files could not be taken in, the others are in the garden: " +
                                          first.reason);
}

}  // namespace

void addImport(CLI::App& program, Action& chosen) {
  CLI::App* const command =
      program.add_subcommand("import", "Take photos into a garden; originals are never changed");
  const auto options = std::make_shared<Options>();
  command->add_option("--garden", options->garden, "Garden folder")->required()->type_name("DIR");
  command->add_option("--tree", options->tree, "File them under the tree with this tag")
      ->type_name("TAG");
  command->add_option("--new-tree", options->newTree, "File them under a new tree with this tag")
      ->type_name("TAG");
  command->add_option("paths", options->paths, "Photos and folders of photos")
      ->required()
      ->type_name("PATH");
  command->callback([options, &chosen] {
    chosen = [options](const Streams& streams) { return importPaths(*options, streams); };
  });
}

}  // namespace edamori::commands
