// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/commands.h"
#include "app/commands/tree_option_internal.h"
#include "app/letter/letter.h"
#include "store/garden/garden.h"

#include <CLI/CLI.hpp>
#include <QGuiApplication>

#include <memory>
#include <ostream>
#include <system_error>

namespace edamori::commands {
namespace {

struct Options {
  std::string garden, tree, from, to, out;
  bool mayReplace = false;
};

Result<std::optional<std::chrono::year_month_day>> dateOf(const std::string& text) {
  using Day = std::optional<std::chrono::year_month_day>;
  if (text.empty()) {
    return Day();
  }
  return store::parseDate(text).transform([](std::chrono::year_month_day&& day) { return Day(day); });
}

Result<letter::LetterRequest> requestOf(const store::Garden& garden, const Options& options) {
  auto from = dateOf(options.from);
  if (!from) {
    return from.error();
  }
  auto to = dateOf(options.to);
  if (!to) {
    return to.error();
  }
  auto tree = treeWithTag(garden, options.tree);
  if (!tree) {
    return tree.error();
  }
  return letter::LetterRequest{
      .tree = tree->id, .from = *from, .to = *to, .today = store::now().date};
}

Result<void> writeLetter(const Options& options, const Streams& streams) {
  std::error_code ignored;
  if (!options.mayReplace &&
      std::filesystem::exists(std::filesystem::symlink_status(options.out, ignored))) {
    return fail(ErrorCode::Conflict,
                options.out + " exists already; choose another name, or add --replace to write over it");
  }
  auto garden = store::Garden::open(options.garden);
  if (!garden) {
    return garden.error();
  }
  auto request = requestOf(*garden, options);
  if (!request) {
    return request.error();
  }
  // Fonts need a GUI application, but no screen.
  std::unique_ptr<QGuiApplication> application;
  int count = 1;
  char name[] = "edamori";
  char* arguments[] = {name, nullptr};
  if (QGuiApplication::instance() == nullptr) {
    qputenv("QT_QPA_PLATFORM", "offscreen");
    // Qt complains on stderr about folders that a letter has no use for; what goes
    // wrong comes back as a Result.
    qInstallMessageHandler([](QtMsgType, const QMessageLogContext&, const QString&) {});
    application = std::make_unique<QGuiApplication>(count, arguments);
  }
  EDAMORI_RETURN_IF_ERROR(letter::writeLetter(*garden, *request, options.out));
  streams.out << "wrote " << options.out << "\n";
  return {};
}

}  // namespace

void addLetter(CLI::App& program, Action& chosen) {
  CLI::App* const command =
      program.add_subcommand("letter", "Write the owner's condition report of one tree");
  const auto options = std::make_shared<Options>();
  command->add_option("--garden", options->garden, "Garden folder")->required()->type_name("DIR");
  command->add_option("--tree", options->tree, "Tag of the tree")->required()->type_name("TAG");
  command->add_option("--from", options->from, "First day, YYYY-MM-DD")->type_name("DATE");
  command->add_option("--to", options->to, "Last day, YYYY-MM-DD")->type_name("DATE");
  command->add_option("--out", options->out, "File to write; .pdf or .html; must not exist")
      ->required()
      ->type_name("FILE");
  command->add_flag("--replace", options->mayReplace, "Write over the file if it exists");
  command->callback([options, &chosen] {
    chosen = [options](const Streams& streams) { return writeLetter(*options, streams); };
  });
}

}  // namespace edamori::commands
