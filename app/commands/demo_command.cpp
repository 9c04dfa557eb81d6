// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/commands.h"
#include "app/work/demo.h"

#include <CLI/CLI.hpp>

#include <memory>
#include <ostream>

namespace edamori::commands {
namespace {

Result<void> makeDemo(const std::string& named, const Streams& streams) {
  const std::filesystem::path folder =
      named.empty() ? work::defaultDemoFolder() : std::filesystem::path(named);
  auto samples = work::samplesFolder();
  if (!samples) {
    return samples.error();
  }
  EDAMORI_RETURN_IF_ERROR(
      work::buildDemo(folder, *samples, [&](const work::DemoProgress& progress) {
        if (streams.showProgress) {
          streams.err << "\r\033[K" << progress.done << " of " << progress.total << "  "
                      << progress.doing << std::flush;
        }
        return !isInterrupted();
      }));
  if (streams.showProgress) {
    streams.err << "\r\033[K";
  }
  streams.out << "made the demo garden in " << folder.string()
              << "; open it with: edamori --garden " << folder.string() << "\n";
  return {};
}

}  // namespace

void addDemo(CLI::App& program, Action& chosen) {
  CLI::App* const command = program.add_subcommand(
      "demo", "Make the demo garden: invented trees, measured from the sample photographs");
  const auto folder = std::make_shared<std::string>();
  command->add_option("--garden", *folder, "New folder for it; else in your data folder")
      ->type_name("DIR");
  command->callback([folder, &chosen] {
    chosen = [folder](const Streams& streams) { return makeDemo(*folder, streams); };
  });
}

}  // namespace edamori::commands
