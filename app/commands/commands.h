// SPDX-License-Identifier: GPL-3.0-or-later
// The command line: one function per command, over the same use cases as the window.
#pragma once

#include "vision/values/geometry.h"
#include "vision/values/result.h"

#include <filesystem>
#include <functional>
#include <iosfwd>
#include <optional>
#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace edamori::commands {

// Where a command prints: results to `out`, messages to `err`. Replaced in tests.
struct Streams {
  std::ostream& out;
  std::ostream& err;
  bool showProgress = false;  // a person watches `err`
};

// What the chosen command will do when the arguments are sound.
using Action = std::function<Result<void>(const Streams&)>;

// Each adds its subcommand; when it is chosen, `chosen` is set.
void addMeasure(CLI::App& program, Action& chosen);
void addCompare(CLI::App& program, Action& chosen);
void addFind(CLI::App& program, Action& chosen);
void addGarden(CLI::App& program, Action& chosen);
void addImport(CLI::App& program, Action& chosen);
void addFigures(CLI::App& program, Action& chosen);
void addLetter(CLI::App& program, Action& chosen);
void addForget(CLI::App& program, Action& chosen);
void addCheck(CLI::App& program, Action& chosen);
void addBackup(CLI::App& program, Action& chosen);
void addRestore(CLI::App& program, Action& chosen);
void addDemo(CLI::App& program, Action& chosen);

// Opens the window on a garden (empty: the last one); returns the exit status.
using OpenWindow = std::function<int(const std::filesystem::path& garden)>;

// Runs the program with its arguments (the program's name left out).
int run(const std::vector<std::string>& arguments, const Streams& streams,
        const OpenWindow& openWindow);

// The outline of an --outline option: none when `text` is empty.
// Errors: InvalidArgument, as parsePolygon.
Result<std::optional<Outline>> outlineFrom(const std::string& text);

// Adds --outline, for outlineFrom(). One that is given and empty is refused: it must not be taken
// for the whole photo.
void addOutlineOption(CLI::App& command, std::string& text, const std::string& description);

// True once the person pressed Ctrl+C; long work asks between steps.
[[nodiscard]] bool isInterrupted();

// Writes to a file, or to `out` for "-". Whole or not at all. Errors: Io.
Result<void> writeText(const std::string& target, const std::string& text, const Streams& streams);

}  // namespace edamori::commands
