// SPDX-License-Identifier: GPL-3.0-or-later
// edamori_change_accuracy --data DIR [--csv FILE]: compares drawn pairs (edamori_scene_set, changes)
// and says how far off losses and changes of spots are, and how often the verdict is right.
#include "change_report.h"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <span>
#include <string>

namespace {

namespace fs = std::filesystem;
using namespace edamori::accuracy;

constexpr const char* kUsage = "usage: edamori_change_accuracy --data DIR [--csv FILE]\n";

std::vector<fs::path> changesIn(const fs::path& folder) {
  std::vector<fs::path> files;
  for (const auto& entry : fs::directory_iterator(folder)) {
    if (entry.path().extension() == ".json") {
      files.push_back(entry.path());
    }
  }
  std::sort(files.begin(), files.end());
  return files;
}

int judgeAll(const fs::path& folder, const fs::path& csv) {
  std::vector<JudgedChange> all;
  for (const fs::path& file : changesIn(folder)) {
    auto judged = judgedChanges(file);
    if (!judged) {
      std::cerr << "edamori_change_accuracy: " << judged.error().message << '\n';
      return 5;
    }
    const auto more = std::move(judged).value();
    all.insert(all.end(), more.begin(), more.end());
  }
  printChanges(all, std::cout);
  if (!csv.empty()) {
    std::ofstream out(csv);
    writeChangesCsv(all, out);
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  const std::span<char*> arguments(argv, static_cast<std::size_t>(argc));
  fs::path folder, csv;
  for (std::size_t i = 1; i + 1 < arguments.size(); i += 2) {
    const std::string name = arguments[i];
    if (name != "--data" && name != "--csv") {
      std::cerr << kUsage;
      return 2;
    }
    (name == "--data" ? folder : csv) = arguments[i + 1];
  }
  if (folder.empty() || argc % 2 == 0) {
    std::cerr << kUsage;
    return 2;
  }
  try {
    return judgeAll(folder, csv);
  } catch (const std::exception& error) {
    std::cerr << "edamori_change_accuracy: " << error.what() << '\n';
    return 5;
  }
}
