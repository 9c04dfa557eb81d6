// SPDX-License-Identifier: GPL-3.0-or-later
// edamori_accuracy: measures folders of photos whose truth is known and says how far off the
// figures are. docs/accuracy.md tells how the folders look.
#include "vision/load/load.h"

#include <charconv>
#include <chrono>
#include <cstddef>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "outcome.h"
#include "plots.h"
#include "report.h"
#include "truth_set.h"

namespace edamori::accuracy {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view kUsage =
    "usage: edamori_accuracy --data DIR [--data DIR ...] [--subject leaf|needles] [--truth cover]\n"
    "                        [--limit PHOTOS] [--csv FILE] [--plots DIR] [--hints]\n";

struct Arguments {
  std::vector<fs::path> folders;
  TruthOptions truth;
  fs::path csv;    // empty: none
  fs::path plots;  // empty: none
  Strokes strokes = Strokes::None;
};

Result<std::size_t> countFrom(std::string_view text) {
  std::size_t count = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), count);
  if (error != std::errc{} || end != text.data() + text.size() || count == 0) {
    return fail(ErrorCode::InvalidArgument,
                "--limit wants a whole number of photos from 1, not " + std::string(text));
  }
  return count;
}

Result<void> takeWord(const std::string& name, const std::string& value, Arguments& arguments) {
  if (name == "--subject" && (value == "leaf" || value == "needles")) {
    arguments.truth.subject = value == "leaf" ? Subject::Leaf : Subject::Needles;
  } else if (name == "--truth" && value == "cover") {
    arguments.truth.isCoverOnly = true;
  } else {
    return fail(ErrorCode::InvalidArgument, name + " " + value + " is not understood");
  }
  return {};
}

Result<void> take(const std::string& name, const std::string& value, Arguments& arguments) {
  if (name == "--data") {
    arguments.folders.emplace_back(value);
  } else if (name == "--csv") {
    arguments.csv = value;
  } else if (name == "--plots") {
    arguments.plots = value;
  } else if (name == "--limit") {
    const auto count = countFrom(value);
    if (!count) {
      return count.error();
    }
    arguments.truth.maxPhotos = *count;
  } else {
    return takeWord(name, value, arguments);
  }
  return {};
}

Result<Arguments> argumentsFrom(std::span<char*> words) {
  Arguments arguments;
  for (std::size_t i = 1; i < words.size(); ++i) {
    const std::string name = words[i];
    if (name == "--hints") {
      arguments.strokes = Strokes::Simulated;
      continue;
    }
    if (i + 1 == words.size()) {
      return fail(ErrorCode::InvalidArgument, name + " is not understood, or lacks its value");
    }
    EDAMORI_RETURN_IF_ERROR(take(name, words[++i], arguments));
  }
  if (arguments.folders.empty()) {
    return fail(ErrorCode::InvalidArgument, "no folder given; name one by --data");
  }
  return arguments;
}

std::string nameOf(const fs::path& folder) {
  const fs::path plain = folder.lexically_normal();
  return (plain.has_filename() ? plain : plain.parent_path()).filename().string();
}

Result<void> addPhoto(const TruthFiles& files, const Arguments& arguments, SetOutcome& set) {
  const auto truth = readTruth(files, arguments.truth);
  if (!truth) {
    return truth.error();
  }
  const auto start = std::chrono::steady_clock::now();
  const auto photo = vision::loadPhoto(files.photo);
  const std::chrono::duration<double, std::milli> spent = std::chrono::steady_clock::now() - start;
  if (!photo) {
    return photo.error();
  }
  if (photo->image.width() != truth->labels.width() ||
      photo->image.height() != truth->labels.height()) {
    return fail(ErrorCode::Corrupt,
                files.truth.string() + " is not of its photo's size; write it anew");
  }
  set.decodeMs.push_back(spent.count());
  measureCase(photo->image, *truth, arguments.strokes, set);
  return {};
}

Result<SetOutcome> runSet(const fs::path& folder, const Arguments& arguments) {
  const auto files = listTruths(folder, arguments.truth);
  if (!files) {
    return files.error();
  }
  SetOutcome set{.name = nameOf(folder), .first = {}, .withStrokes = {}, .decodeMs = {}};
  for (const TruthFiles& photo : *files) {
    EDAMORI_RETURN_IF_ERROR(addPhoto(photo, arguments, set));
  }
  for (const Outcome& outcome : set.first) {
    if (!outcome.refusal.empty()) {
      std::cerr << "refused: " << set.name << '/' << outcome.file << ": " << outcome.refusal
                << '\n';
    }
  }
  return set;
}

Result<void> savePlots(const fs::path& folder,
                       const std::string& name,
                       std::span<const Outcome> outcomes) {
  for (const FigureKind figure : {FigureKind::Cover, FigureKind::Spot}) {
    const std::vector<Pair> pairs = pairsOf(outcomes, figure);
    if (pairs.empty()) {
      continue;
    }
    const bool isCover = figure == FigureKind::Cover;
    const std::string title = name + (isCover ? ": foliage cover" : ": spotted share");
    const std::string stem = name + (isCover ? "-cover" : "-spot");
    EDAMORI_RETURN_IF_ERROR(
        vision::savePicture(folder / (stem + "-scatter.png"), drawScatter(pairs, title)));
    EDAMORI_RETURN_IF_ERROR(
        vision::savePicture(folder / (stem + "-differences.png"), drawDifferences(pairs, title)));
  }
  return {};
}

Result<void> saveAllPlots(const fs::path& folder, const SetOutcome& set) {
  std::error_code error;
  fs::create_directories(folder, error);
  if (error) {
    return fail(ErrorCode::Io, folder.string() + " cannot be made; name another folder by --plots");
  }
  EDAMORI_RETURN_IF_ERROR(savePlots(folder, set.name, set.first));
  return savePlots(folder, set.name + "-3-strokes", set.withStrokes);
}

Result<void> saveCsv(const fs::path& file, std::span<const SetOutcome> sets) {
  std::ofstream out(file);
  writeCsvHeader(out);
  for (const SetOutcome& set : sets) {
    writeCsvRows(out, set);
  }
  out.close();
  if (!out) {
    return fail(ErrorCode::Io, file.string() + " cannot be written; name another file by --csv");
  }
  return {};
}

Result<void> run(const Arguments& arguments) {
  std::vector<SetOutcome> sets;
  for (const fs::path& folder : arguments.folders) {
    auto set = runSet(folder, arguments);
    if (!set) {
      return set.error();
    }
    writeTables(std::cout, *set);
    std::cout.flush();
    sets.push_back(*std::move(set));
    if (!arguments.plots.empty()) {
      EDAMORI_RETURN_IF_ERROR(saveAllPlots(arguments.plots, sets.back()));
    }
  }
  return arguments.csv.empty() ? Result<void>{} : saveCsv(arguments.csv, sets);
}

int exitStatusOf(ErrorCode code) {
  switch (code) {
    case ErrorCode::InvalidArgument:
      return 2;
    case ErrorCode::Io:
      return 5;
    default:
      return 4;
  }
}

int runFrom(std::span<char*> words) {
  const auto arguments = argumentsFrom(words);
  if (!arguments) {
    std::cerr << "edamori_accuracy: " << arguments.error().message << '\n' << kUsage;
    return 2;
  }
  const auto done = run(*arguments);
  if (!done) {
    std::cerr << "edamori_accuracy: " << done.error().message << '\n';
    return exitStatusOf(done.error().code);
  }
  return 0;
}

}  // namespace
}  // namespace edamori::accuracy

int main(int argc, char** argv) {
  return edamori::accuracy::runFrom({argv, static_cast<std::size_t>(argc)});
}
