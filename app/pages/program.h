// SPDX-License-Identifier: GPL-3.0-or-later
// Starting the window.
#pragma once

#include <filesystem>

namespace edamori::pages {

// Runs the window until it is closed and returns the program's exit status. An
// empty `garden` opens the last one, or the welcome panel when there is none.
int openWindow(int argc, char** argv, const std::filesystem::path& garden);

}  // namespace edamori::pages
