// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/commands.h"
#include "app/commands/exit_status.h"
#include "app/pages/program.h"

#include <iostream>
#include <string>
#include <vector>

#include <malloc.h>
#include <unistd.h>

int main(int argc, char** argv) {
  // Photos come and go in blocks of many megabytes. Keeping freed memory saves
  // touching every page anew, which can cost more than decoding.
  ::mallopt(M_MMAP_THRESHOLD, 1 << 30);
  ::mallopt(M_TRIM_THRESHOLD, 1 << 29);
  const std::vector<std::string> arguments(argv + 1, argv + argc);
  const edamori::commands::Streams streams{
      .out = std::cout, .err = std::cerr, .showProgress = ::isatty(STDERR_FILENO) != 0};
  return edamori::commands::run(
      arguments, streams, [argc, argv](const std::filesystem::path& garden) {
        return edamori::pages::openWindow(argc, argv, garden);
      });
}
