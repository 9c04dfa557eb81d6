// SPDX-License-Identifier: GPL-3.0-or-later
// Commands on a whole garden: new, check, backup, restore, figures.
#include "app/commands/commands.h"
#include "app/commands/tree_option_internal.h"
#include "app/work/overview.h"
#include "app/work/remeasure.h"
#include "store/garden/garden.h"
#include "store/safety/safety.h"

#include <CLI/CLI.hpp>

#include <memory>
#include <ostream>

namespace edamori::commands {
namespace {

Result<void> checkRecords(const store::Garden& garden, const Streams& streams) {
  auto report = store::checkGarden(garden, [](int, int) { return !isInterrupted(); });
  if (!report) {
    return report.error();
  }
  for (const std::string& problem : report->problems) {
    streams.out << problem << "\n";
  }
  if (!report->problems.empty()) {
    return fail(ErrorCode::Storage, std::to_string(report->problems.size()) + " problems in " +
                                        garden.folder().string() + "; each is listed above with what to do");
  }
  streams.out << "sound: " << report->photosChecked << " photos and " << report->recordsChecked
              << " records checked\n";
  return {};
}

// "3 figures", "1 figure"
std::string figuresWords(int count) {
  return std::to_string(count) + (count == 1 ? " figure" : " figures");
}

Result<void> checkFigures(const store::Garden& garden, const Streams& streams) {
  const auto report = work::remeasureGarden(garden, [&streams](int done, int total) {
    if (streams.showProgress) {
      streams.err << "\r\033[K" << done << " of " << total << " figures recomputed" << std::flush;
    }
    return !isInterrupted();
  });
  if (streams.showProgress) {
    streams.err << "\r\033[K";
  }
  if (!report) {
    return report.error();
  }
  for (const std::string& line : report->lines) {
    streams.out << line << "\n";
  }
  const int wrong = report->drifted + report->failed;
  if (wrong > 0) {
    return fail(ErrorCode::Storage,
                figuresWords(report->drifted) + " came out otherwise and " +
                    figuresWords(report->failed) +
                    " could not be recomputed; each is listed above; measure those outlines again "
                    "or restore a backup");
  }
  const bool isNoneComparable = report->agreed == 0 && report->notComparable > 0;
  streams.out << (isNoneComparable ? "nothing to compare: " : "all agree: ")
              << figuresWords(report->agreed) << " recomputed bit for bit";
  if (report->notComparable > 0) {
    streams.out << ", " << figuresWords(report->notComparable) << " not comparable";
  }
  streams.out << "\n";
  return {};
}

struct CheckOptions {
  std::string garden;
  bool remeasure = false;
};

Result<void> checkGarden(const CheckOptions& options, const Streams& streams) {
  auto garden = store::Garden::open(options.garden);
  if (!garden) {
    return garden.error();
  }
  const auto records = checkRecords(*garden, streams);
  if (!options.remeasure || (!records && records.error().code == ErrorCode::Cancelled)) {
    return records;
  }
  const auto figures = checkFigures(*garden, streams);
  return records ? figures : records;
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
    auto found = treeWithTag(*garden, options.tree);
    if (!found) {
      return found.error();
    }
    tree = found->id;
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
  const auto options = std::make_shared<CheckOptions>();
  command->add_option("--garden", options->garden, "Garden folder")->required()->type_name("DIR");
  command->add_flag("--remeasure", options->remeasure,
                    "Recompute every stored figure too, and list those that come out otherwise");
  command->callback([options, &chosen] {
    chosen = [options](const Streams& streams) { return checkGarden(*options, streams); };
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
