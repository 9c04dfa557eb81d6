// SPDX-License-Identifier: GPL-3.0-or-later
// What hints taught about a tree, thrown away.
#include "app/commands/commands.h"
#include "app/commands/tree_option_internal.h"
#include "app/work/learning.h"

#include <CLI/CLI.hpp>

#include <memory>
#include <ostream>

namespace edamori::commands {
namespace {

struct Options {
  std::string garden, tree;
};

Result<void> forget(const Options& options, const Streams& streams) {
  auto garden = store::Garden::open(options.garden);
  if (!garden) {
    return garden.error();
  }
  const auto tree = treeWithTag(*garden, options.tree);
  if (!tree) {
    return tree.error();
  }
  const auto forgotten = work::forgetLearned(*garden, tree->id);
  if (!forgotten) {
    return forgotten.error();
  }
  const std::string photos = std::to_string(forgotten->photos) +
                             (forgotten->photos == 1 ? " photo" : " photos");
  streams.out << (forgotten->photos == 0
                      ? "hints have taught nothing about " + tree->tag
                      : "forgot what hints on " + photos + " taught about " + tree->tag)
              << "\n";
  return {};
}

}  // namespace

void addForget(CLI::App& program, Action& chosen) {
  CLI::App* const command = program.add_subcommand(
      "forget", "Forget what hints taught about a tree; figures that are stored stay");
  const auto options = std::make_shared<Options>();
  command->add_option("--garden", options->garden, "Garden folder")->required()->type_name("DIR");
  command->add_option("--tree", options->tree, "The tree with this tag")->required()->type_name("TAG");
  command->callback([options, &chosen] {
    chosen = [options](const Streams& streams) { return forget(*options, streams); };
  });
}

}  // namespace edamori::commands
