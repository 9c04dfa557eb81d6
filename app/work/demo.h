// SPDX-License-Identifier: GPL-3.0-or-later
// The demo garden: invented trees, photographs from sample-images/, measured for real.
#pragma once

#include "store/garden/garden.h"
#include "vision/values/result.h"

#include <filesystem>
#include <functional>
#include <string>

namespace edamori::work {

// Where the sample photographs lie: $EDAMORI_SAMPLES, else beside the installed
// program, else the source tree it was built from. Errors: NotFound.
Result<std::filesystem::path> samplesFolder();

struct DemoProgress {
  int done = 0;
  int total = 0;
  std::string doing;  // "measuring ED-02 Acer palmatum"
};

// Makes the demo garden in `folder` (as Garden::create): imports the photographs, enters owners, trees,
// branches, outlines, marks, treatments and rechecks of the invented story, then measures every outline
// and compares every pair from the pixels. The listener may cancel: the folder is then removed again.
Result<void> buildDemo(const std::filesystem::path& folder,
                       const std::filesystem::path& samples,
                       const std::function<bool(const DemoProgress&)>& listener = {});

// ~/.local/share/edamori/demo-garden (XDG_DATA_HOME respected).
[[nodiscard]] std::filesystem::path defaultDemoFolder();

}  // namespace edamori::work
