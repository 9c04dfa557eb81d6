// SPDX-License-Identifier: GPL-3.0-or-later
#include "truth_set.h"

#include "vision/load/load.h"

#include <algorithm>
#include <array>
#include <cstdint>
#include <fstream>
#include <sstream>
#include <string_view>
#include <system_error>
#include <utility>

namespace edamori::accuracy {
namespace {

namespace fs = std::filesystem;

constexpr auto kSound = static_cast<std::uint8_t>(Label::SoundFoliage);
constexpr auto kSpotted = static_cast<std::uint8_t>(Label::Spotted);

fs::path besidePhoto(const fs::path& photo, std::string_view ending) {
  fs::path file = photo.parent_path() / photo.stem();
  file += ending;
  return fs::exists(file) ? file : fs::path{};
}

TruthFiles filesOf(const fs::path& photo) {
  TruthFiles files{.photo = photo, .truth = {}, .outlines = besidePhoto(photo, ".txt")};
  for (const std::string_view ending : {"_lesion.png", "_mask.png", ".png"}) {
    if (files.truth.empty()) {
      files.truth = besidePhoto(photo, ending);
    }
  }
  return files;
}

bool endsIn(const fs::path& file, std::string_view ending) {
  return file.filename().string().ends_with(ending);
}

// How often each value stands in a truth image.
std::array<std::int64_t, 256> valuesOf(const LabelImage& image) {
  std::array<std::int64_t, 256> counts{};
  for (std::size_t i = 0; i < image.byteCount(); ++i) {
    ++counts[image.data()[i]];
  }
  return counts;
}

Result<TruthKind> kindOf(const TruthFiles& files,
                         const LabelImage& image,
                         const TruthOptions& options) {
  const auto counts = valuesOf(image);
  const std::int64_t binary = counts[0] + counts[255];
  const bool isMask = endsIn(files.truth, "_mask.png") || endsIn(files.truth, "_lesion.png");
  if (binary + (isMask ? 0 : counts[kSound]) != image.pixelCount()) {
    return fail(ErrorCode::Corrupt,
                files.truth.string() +
                    " holds values other than 0, 255 and, for labels, 128; write it anew");
  }
  if (endsIn(files.truth, "_lesion.png")) {
    return TruthKind::Lesions;
  }
  if (isMask && !options.isCoverOnly) {
    return fail(ErrorCode::InvalidArgument,
                files.truth.string() + " tells cover alone; add --truth cover");
  }
  return options.isCoverOnly && binary == image.pixelCount() ? TruthKind::Cover : TruthKind::Tissue;
}

// From the values of the file to labels: lesions lie on foliage, a mask of cover knows no spots.
LabelImage labelsFrom(LabelImage image, TruthKind kind) {
  for (std::size_t i = 0; i < image.byteCount(); ++i) {
    std::uint8_t& value = image.data()[i];
    if (kind == TruthKind::Lesions) {
      value = value != 0 ? kSpotted : kSound;
    } else if (kind == TruthKind::Cover) {
      value = value != 0 ? kSound : std::uint8_t{0};
    }
  }
  return image;
}

Result<Subject> subjectNamed(const std::string& word, const fs::path& file) {
  if (word == "leaf" || word == "needles") {
    return word == "leaf" ? Subject::Leaf : Subject::Needles;
  }
  return fail(ErrorCode::Corrupt,
              file.string() + " starts with neither leaf nor needles; write one on its first line");
}

// "x,y x,y …". Not parsePolygon, because a drawn branch, once simplified, may cross itself by
// a pixel; the even-odd rule still tells its inside.
Result<Polygon> polygonFrom(const std::string& line, const fs::path& file) {
  std::istringstream in(line);
  Polygon polygon;
  PointPx point;
  char comma = ' ';
  bool isWhole = true;
  while (isWhole && in >> point.x) {
    isWhole = in >> comma >> point.y && comma == ',';
    polygon.push_back(point);
  }
  if (!isWhole || !in.eof() || polygon.size() < 3) {
    return fail(
        ErrorCode::Corrupt,
        file.string() + " has an outline that is not of 3 or more points x,y; write it anew");
  }
  return polygon;
}

Result<void> readOutlines(const fs::path& file, TruthCase& truth) {
  std::ifstream in(file);
  std::string line;
  std::getline(in, line);
  const auto subject = subjectNamed(line, file);
  if (!subject) {
    return subject.error();
  }
  truth.subject = *subject;
  while (std::getline(in, line)) {
    line.erase(line.find_last_not_of(" \r") + 1);
    if (line.empty()) {
      continue;
    }
    auto polygon = polygonFrom(line, file);
    if (!polygon) {
      return polygon.error();
    }
    truth.outlines.emplace_back(Outline{.polygon = *std::move(polygon), .holes = {}});
  }
  return {};
}

}  // namespace

Result<std::vector<TruthFiles>> listTruths(const fs::path& folder, const TruthOptions& options) {
  std::error_code error;
  std::vector<TruthFiles> found;
  for (const auto& entry : fs::directory_iterator(folder, error)) {
    const fs::path& file = entry.path();
    if (file.extension() == ".jpg" || file.extension() == ".jpeg") {
      TruthFiles files = filesOf(file);
      if (!files.truth.empty()) {
        found.push_back(std::move(files));
      }
    }
  }
  if (error || found.empty()) {
    return fail(
        ErrorCode::NotFound,
        folder.string() + " holds no photos with a truth beside them; see docs/accuracy.md");
  }
  std::ranges::sort(found, {}, &TruthFiles::photo);
  if (options.maxPhotos > 0 && found.size() > options.maxPhotos) {
    found.resize(options.maxPhotos);
  }
  return found;
}

Result<TruthCase> readTruth(const TruthFiles& files, const TruthOptions& options) {
  auto image = vision::loadLabels(files.truth);
  if (!image) {
    return image.error();
  }
  const auto kind = kindOf(files, *image, options);
  if (!kind) {
    return kind.error();
  }
  TruthCase truth;
  truth.name = files.photo.filename().string();
  truth.kind = *kind;
  truth.labels = labelsFrom(*std::move(image), *kind);
  if (files.outlines.empty()) {
    truth.outlines.emplace_back(std::nullopt);
  } else {
    EDAMORI_RETURN_IF_ERROR(readOutlines(files.outlines, truth));
  }
  truth.subject = options.subject.value_or(truth.subject);
  return truth;
}

}  // namespace edamori::accuracy
