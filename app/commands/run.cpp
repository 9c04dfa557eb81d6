// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/commands.h"
#include "app/commands/exit_status.h"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <csignal>
#include <fstream>
#include <ostream>
#include <system_error>

namespace edamori::commands {
namespace {

volatile std::sig_atomic_t interrupted = 0;

void noteInterrupt(int /*signal*/) { interrupted = 1; }

std::string oneLine(std::string text) {
  std::replace(text.begin(), text.end(), '\n', ' ');
  return text;
}

int report(const Streams& streams, const Error& error) {
  streams.err << "edamori: " << oneLine(error.message) << "\n";
  return static_cast<int>(exitStatusOf(error.code));
}

// "PHOTO", "--garden DIR": what a required option looks like on the command line.
std::string shownOption(const CLI::Option& option) {
  return option.get_positional() ? option.get_type_name()
                                 : option.get_name() + " " + option.get_type_name();
}

std::string whatIsMissing(const CLI::App& command) {
  std::string missing;
  int count = 0;
  for (const CLI::Option* const option : command.get_options()) {
    if (option->get_required() && option->count() == 0) {
      missing += (missing.empty() ? "" : " and ") + shownOption(*option);
      ++count;
    }
  }
  return missing.empty() ? "a command is missing" : missing + (count == 1 ? " is missing" : " are missing");
}

// The library's own words are not a grower's; each kind of mistake gets ours.
std::string whatIsWrong(const CLI::ParseError& problem, const CLI::App& program, const CLI::App& command) {
  if (dynamic_cast<const CLI::RequiredError*>(&problem) != nullptr) {
    return whatIsMissing(command);
  }
  if (dynamic_cast<const CLI::ExtrasError*>(&problem) != nullptr) {
    const auto extras = program.remaining(true);
    const std::string word = extras.empty() ? "" : "\"" + extras.front() + "\"";
    return &command == &program ? "there is no command or option " + word : word + " has no meaning here";
  }
  if (dynamic_cast<const CLI::ArgumentMismatch*>(&problem) != nullptr) {
    const std::string message = problem.what();
    return message.substr(0, message.find(':')) + " needs a value";
  }
  if (dynamic_cast<const CLI::ValidationError*>(&problem) != nullptr) {
    return problem.what();  // "--outline: " and the words of our own check
  }
  return "these arguments do not go together";
}

int reportUsage(const Streams& streams, const CLI::ParseError& problem, const CLI::App& program) {
  const CLI::App* command = &program;
  std::string name;
  for (auto chosen = command->get_subcommands(); !chosen.empty(); chosen = command->get_subcommands()) {
    command = chosen.front();
    name += " " + command->get_name();
  }
  streams.err << "edamori: " << oneLine(whatIsWrong(problem, program, *command)) << "; see edamori" << name
              << " --help\n";
  return static_cast<int>(ExitStatus::WrongUsage);
}

}  // namespace

Result<std::optional<Outline>> outlineFrom(const std::string& text) {
  if (text.empty()) {
    return std::optional<Outline>();
  }
  return parsePolygon(text).transform([](Polygon&& polygon) {
    return std::optional(Outline{.polygon = std::move(polygon), .holes = {}});
  });
}

void addOutlineOption(CLI::App& command, std::string& text, const std::string& description) {
  command.add_option("--outline", text, description)
      ->type_name("OUTLINE")
      ->check([](const std::string& given) {
        return given.empty() ? "nothing is given; name at least 3 corners, \"x,y x,y x,y\", or leave it out "
                               "for the whole photo"
                             : "";
      });
}

bool isInterrupted() { return interrupted != 0; }

Result<void> writeText(const std::string& target, const std::string& text,
                       const Streams& streams) {
  if (target == "-") {
    streams.out << text << "\n" << std::flush;
    return {};
  }
  const std::filesystem::path part = target + ".part";
  std::ofstream file(part, std::ios::binary);
  file << text << "\n";
  file.close();
  std::error_code error;
  if (file) {
    std::filesystem::rename(part, target, error);
  }
  if (!file || error) {
    std::error_code ignored;
    std::filesystem::remove(part, ignored);
    return fail(ErrorCode::Io, "cannot write " + target + "; choose a folder that exists and has room");
  }
  return {};
}

int run(const std::vector<std::string>& arguments, const Streams& streams,
        const OpenWindow& openWindow) {
  CLI::App program{"Edamori: dated photos of garden trees, measured. Without a command it opens the window.",
                   "edamori"};
  program.set_version_flag("--version", "edamori " EDAMORI_VERSION, "Print the version and end");
  program.set_help_flag("--help,-h", "Print this help and end");
  program.require_subcommand(0, 1);
  std::string garden;
  program.add_option("--garden", garden, "Garden folder to open in the window")->type_name("DIR");
  Action chosen;
  for (const auto add : {addMeasure, addCompare, addFind, addForget, addGarden, addImport, addFigures, addLetter,
                         addCheck, addBackup, addRestore, addDemo}) {
    add(program, chosen);
  }
  try {
    std::vector<std::string> reversed(arguments.rbegin(), arguments.rend());
    program.parse(std::move(reversed));
  } catch (const CLI::Success& asked) {
    return program.exit(asked, streams.out, streams.err);
  } catch (const CLI::ParseError& problem) {
    return reportUsage(streams, problem, program);
  }
  if (!chosen) {
    return openWindow(garden);
  }
  std::signal(SIGINT, noteInterrupt);
  const Result<void> result = chosen(streams);
  return result ? static_cast<int>(ExitStatus::Done) : report(streams, result.error());
}

}  // namespace edamori::commands
