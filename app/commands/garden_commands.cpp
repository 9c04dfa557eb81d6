// SPDX-License-Identifier: GPL-3.0-or-later
// Commands on a whole garden: new, check, backup, restore, figures.
#include "app/commands/commands.h"
#include "app/work/overview.h"
#include "store/garden/garden.h"
#include "store/safety/safety.h"

#include <CLI/CLI.hpp>

#include <memory>
#include <ostream>

namespace edamori::commands {
namespace {

Result<void> checkGarden(const std::string& folder, const Streams& streams) {
  auto garden = store::Garden::open(folder);
  if (!garden) {
    return garden.error();
  }
  auto report = store::checkGarden(*garden, [](int, int) { return !isInterrupted(); });
  if (!report) {
    return report.error();
  }
  for (const std::string& problem : report->problems) {
    streams.out << problem << "\n";
  }
  if (!report->problems.empty()) {
    return fail(ErrorCode::Storage, std::to_string(report->problems.size()) + " problems in " +
                                        folder + "; each is listed above with what to do");
  }
  streams.out << "sound: " << report->photosChecked << " photos and " << report->recordsChecked
              << " records checked\n";
  return {};
}

struct FigureOptions {
  std::string garden, tree, format = "table";
};

Result<void> printFigures(const FigureOptions& options, const Streams& streams) {
  if (options.format != "table" && options.format != "csv" && options.format != "json") {
    return fail(ErrorCode::InvalidArgument,
                "--format takes table, csv or json, not \"" + options.format + "\"");
  }
  auto garden = store::Garden::open(options.garden);
  if (!garden) {
    return garden.error();
  }
  store::TreeId tree;
  if (!options.tree.empty()) {
    auto found = garden->findTreeByTag(options.tree);
    if (!found) {
      return found.error();
    }
    if (!found->has_value()) {
      return fail(ErrorCode::InvalidArgument, "no tree in " + options.garden + " has the tag " +
                                                  options.tree + "; see edamori figures without --tree");
    }
    tree = (*found)->id;
  }
  auto rows = work::figureRows(*garden, tree);
  if (!rows) {
    return rows.error();
  }
  if (options.format == "table") {
    // Kept as history: foliage figures of bark, which earlier versions measured.
    std::erase_if(*rows, [](const work::FigureRow& row) { return !row.isOfFoliage; });
  }
  if (rows->empty()) {
    streams.err << "edamori: nothing was measured yet; outline branches on the Bench and measure them\n";
    if (options.format == "table") {
      return {};
    }
  }
  streams.out << (options.format == "json"  ? work::figuresJson(*rows) + "\n"
                  : options.format == "csv" ? work::figuresCsv(*rows)
                                            : work::figuresTable(*rows));
  return {};
}

}  // namespace

void addGarden(CLI::App& program, Action& chosen) {
  CLI::App* const group = program.add_subcommand("garden", "Make a garden");
  group->require_subcommand(1);
  CLI::App* const make = group->add_subcommand("new", "Make an empty garden in a new folder");
  const auto folder = std::make_shared<std::string>();
  make->add_option("folder", *folder, "Folder that does not exist yet, or is empty")
      ->required()
      ->type_name("DIR");
  make->callback([folder, &chosen] {
    chosen = [folder](const Streams& streams) -> Result<void> {
      auto garden = store::Garden::create(*folder);
      if (!garden) {
        return garden.error();
      }
      streams.out << "made an empty garden in " << *folder << "\n";
      return {};
    };
  });
}

void addCheck(CLI::App& program, Action& chosen) {
  CLI::App* const command =
      program.add_subcommand("check", "Look at every record and original; change nothing");
  const auto folder = std::make_shared<std::string>();
  command->add_option("--garden", *folder, "Garden folder")->required()->type_name("DIR");
  command->callback([folder, &chosen] {
    chosen = [folder](const Streams& streams) { return checkGarden(*folder, streams); };
  });
}

void addFigures(CLI::App& program, Action& chosen) {
  CLI::App* const command =
      program.add_subcommand("figures", "Print the figures of every photo and branch, each as last measured, with its interval");
  const auto options = std::make_shared<FigureOptions>();
  command->add_option("--garden", options->garden, "Garden folder")->required()->type_name("DIR");
  command->add_option("--tree", options->tree, "Only the tree with this tag")->type_name("TAG");
  command->add_option("--format", options->format, "table, csv or json")
      ->type_name("WORD");
  command->callback([options, &chosen] {
    chosen = [options](const Streams& streams) { return printFigures(*options, streams); };
  });
}

void addBackup(CLI::App& program, Action& chosen) {
  CLI::App* const command = program.add_subcommand("backup", "Write the whole garden to one file");
  const auto folder = std::make_shared<std::string>();
  const auto file = std::make_shared<std::string>();
  command->add_option("--garden", *folder, "Garden folder")->required()->type_name("DIR");
  command->add_option("--out", *file, "Backup file to write; must not exist")
      ->required()
      ->type_name("FILE");
  command->callback([folder, file, &chosen] {
    chosen = [folder, file](const Streams& streams) -> Result<void> {
      auto garden = store::Garden::open(*folder);
      if (!garden) {
        return garden.error();
      }
      EDAMORI_RETURN_IF_ERROR(store::backupGarden(*garden, *file));
      streams.out << "backed up to " << *file << "\n";
      return {};
    };
  });
}

void addRestore(CLI::App& program, Action& chosen) {
  CLI::App* const command = program.add_subcommand("restore", "Unpack a backup into a new folder");
  const auto file = std::make_shared<std::string>();
  const auto folder = std::make_shared<std::string>();
  command->add_option("file", *file, "Backup file")->required()->type_name("FILE");
  command->add_option("--garden", *folder, "Folder that does not exist yet, or is empty")
      ->required()
      ->type_name("DIR");
  command->callback([folder, file, &chosen] {
    chosen = [folder, file](const Streams& streams) -> Result<void> {
      EDAMORI_RETURN_IF_ERROR(store::restoreGarden(*file, *folder));
      streams.out << "restored to " << *folder << "\n";
      return {};
    };
  });
}

}  // namespace edamori::commands
