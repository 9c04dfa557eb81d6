// SPDX-License-Identifier: GPL-3.0-or-later
#include "judged_change.h"

#include "vision/align/compare.h"
#include "vision/load/load.h"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <random>

#include <nlohmann/json.hpp>

namespace edamori::accuracy {
namespace {

using Json = nlohmann::json;

std::vector<PointPx> polygonFrom(const Json& json) {
  std::vector<PointPx> polygon;
  for (const Json& corner : json) {
    polygon.push_back({corner.at(0).get<double>(), corner.at(1).get<double>()});
  }
  return polygon;
}

std::optional<double> shareFrom(const Json& json) {
  return json.is_null() ? std::nullopt : std::optional(json.get<double>());
}

bool isWithin(const PointPx& p, const RgbImage& photo) {
  return p.x >= 0 && p.y >= 0 && p.x <= photo.width() && p.y <= photo.height();
}

// Four places of the branch's rim that both photos show, as a person clicks them.
std::vector<vision::PointPairPx> namedPlaces(const std::vector<PointPx>& before, const std::vector<PointPx>& truth,
                                             const RgbImage& photoBefore, const RgbImage& photoAfter) {
  std::vector<vision::PointPairPx> seen;
  std::mt19937 dice(1);
  std::normal_distribution<double> click(0.0, 2.0);
  for (std::size_t i = 0; i < truth.size(); ++i) {
    if (isWithin(before[i], photoBefore) && isWithin(truth[i], photoAfter)) {
      seen.push_back({.before = before[i], .after = {truth[i].x + click(dice), truth[i].y + click(dice)}});
    }
  }
  if (seen.size() < 4) {
    return {};
  }
  // The outline goes round, so that every quarter of its corners lies elsewhere.
  std::vector<vision::PointPairPx> four;
  for (std::size_t i = 0; i < 4; ++i) {
    four.push_back(seen[i * seen.size() / 4]);
  }
  return four;
}

// The branch outlined anew on the after photo: every corner about 0.6 % of the longer side off.
std::optional<Outline> redrawn(const std::vector<PointPx>& truth, const RgbImage& after, std::uint32_t seed) {
  std::mt19937 dice(seed);
  std::normal_distribution<double> hand(0.0, 0.006 * std::max(after.width(), after.height()));
  Outline outline;
  for (const PointPx& p : truth) {
    outline.polygon.push_back({std::clamp(p.x + hand(dice), 0.0, after.width() - 1.0),
                               std::clamp(p.y + hand(dice), 0.0, after.height() - 1.0)});
  }
  return truth.empty() ? std::nullopt : std::optional(outline);
}

bool isByOutlines(const vision::Comparison& comparison) {
  return std::any_of(comparison.cautions.begin(), comparison.cautions.end(),
                     [](const Caution& caution) { return caution.code == "by-outlines"; });
}

struct Photos {
  RgbImage before, after;
};

void judge(const Photos& photos, const Json& branch, JudgedChange& judged) {
  const std::vector<PointPx> line = polygonFrom(branch.at("outline_before"));
  vision::CompareRequest request;
  request.outlineBefore = Outline{.polygon = line, .holes = {}};
  request.subject = judged.subject == "needles" ? Subject::Needles : Subject::Leaf;
  const std::vector<PointPx> truth = polygonFrom(branch.at("outline_after"));
  request.drawnAfter = redrawn(truth, photos.after, static_cast<std::uint32_t>(line.size()));
  auto comparison = vision::compare(photos.before, photos.after, request);
  judged.way = comparison && comparison->aligned && isByOutlines(*comparison) ? Way::ByOutlines : Way::Alone;
  if (!comparison || !comparison->aligned) {
    request.points = namedPlaces(line, truth, photos.before, photos.after);
    judged.way = Way::ByPlaces;
    if (!request.points.empty()) {
      comparison = vision::compare(photos.before, photos.after, request);
    }
  }
  if (!comparison || !comparison->aligned) {
    judged.way = Way::NotAtAll;
    return;
  }
  judged.coverBefore = comparison->before->foliage;
  judged.coverAfter = comparison->after->foliage;
  judged.spottedBefore = comparison->before->spot;
  judged.spottedAfter = comparison->after->spot;
  judged.byShift = vision::coverShift(comparison->after->labels, comparison->outlineAfter, comparison->alignment.errorPx);
  judged.loss = comparison->lossByCover;
  judged.spotChange = comparison->spotChange;
  judged.verdict = comparison->verdict;
}

JudgedChange truthFrom(const Json& file, const Json& branch, const std::string& photo) {
  JudgedChange judged;
  judged.photo = photo;
  judged.branch = branch.at("branch").get<std::string>();
  judged.happened = file.at("happened").get<std::string>();
  judged.subject = file.at("subject").get<std::string>();
  judged.trueCoverBefore = branch.at("cover_before").get<double>();
  judged.trueLoss = 1.0 - branch.at("cover_after").get<double>() / judged.trueCoverBefore;
  const auto before = shareFrom(branch.at("spotted_before"));
  const auto after = shareFrom(branch.at("spotted_after"));
  if (before && after) {
    judged.trueSpotChange = *after - *before;
  }
  return judged;
}

}  // namespace

Result<std::vector<JudgedChange>> judgedChanges(const std::filesystem::path& json) {
  std::ifstream in(json);
  if (!in) {
    return fail(ErrorCode::NotFound, "cannot read " + json.string());
  }
  const std::string stem = (json.parent_path() / json.stem()).string();
  auto before = vision::loadPhoto(stem + "-before.jpg");
  EDAMORI_RETURN_IF_ERROR(before);
  auto after = vision::loadPhoto(stem + "-after.jpg");
  EDAMORI_RETURN_IF_ERROR(after);
  const Photos photos{.before = std::move(before->image), .after = std::move(after->image)};
  std::vector<JudgedChange> all;
  try {
    const Json file = Json::parse(in);
    for (const Json& branch : file.at("branches")) {
      all.push_back(truthFrom(file, branch, json.stem().string()));
      judge(photos, branch, all.back());
    }
  } catch (const Json::exception& error) {
    return fail(ErrorCode::Corrupt, json.string() + ": " + error.what());
  }
  return all;
}

}  // namespace edamori::accuracy
