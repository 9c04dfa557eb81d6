// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/figure_inputs.h"

#include "store/records/records.h"

#include <nlohmann/json.hpp>

namespace edamori::work {
namespace {

using Json = nlohmann::json;

Json jsonOf(const Polygon& polygon) {
  Json json = Json::array();
  for (const PointPx& point : polygon) {
    json.push_back({point.x, point.y});
  }
  return json;
}

Json jsonOf(const Outline& outline) {
  Json holes = Json::array();
  for (const Polygon& hole : outline.holes) {
    holes.push_back(jsonOf(hole));
  }
  return {{"polygon", jsonOf(outline.polygon)}, {"holes", holes}};
}

Polygon polygonOf(const Json& json) {
  Polygon polygon;
  for (const Json& point : json) {
    polygon.push_back({.x = point.at(0).get<double>(), .y = point.at(1).get<double>()});
  }
  return polygon;
}

std::optional<Outline> outlineAt(const Json& json, const char* key) {
  if (!json.contains(key)) {
    return std::nullopt;
  }
  Outline outline{.polygon = polygonOf(json.at(key).at("polygon")), .holes = {}};
  for (const Json& hole : json.at(key).at("holes")) {
    outline.holes.push_back(polygonOf(hole));
  }
  return outline;
}

// Each pair as [x before, y before, x after, y after].
Json jsonOf(const std::vector<vision::PointPairPx>& points) {
  Json json = Json::array();
  for (const vision::PointPairPx& pair : points) {
    json.push_back({pair.before.x, pair.before.y, pair.after.x, pair.after.y});
  }
  return json;
}

std::vector<vision::PointPairPx> pointsAt(const Json& json, const char* key) {
  std::vector<vision::PointPairPx> points;
  if (json.contains(key)) {
    for (const Json& four : json.at(key)) {
      points.push_back(
          {.before = {.x = four.at(0).get<double>(), .y = four.at(1).get<double>()},
           .after = {.x = four.at(2).get<double>(), .y = four.at(3).get<double>()}});
    }
  }
  return points;
}

Json jsonOf(const Estimate& estimate) { return {estimate.value, estimate.low, estimate.high}; }

std::optional<Estimate> estimateAt(const Json& json, const char* key) {
  if (!json.contains(key)) {
    return std::nullopt;
  }
  const Json& three = json.at(key);
  return Estimate{.value = three.at(0).get<double>(), .low = three.at(1).get<double>(), .high = three.at(2).get<double>()};
}

int numberAt(const Json& json, const char* key) {
  return json.contains(key) ? json.at(key).get<int>() : 0;
}

FigureInputs parsed(const Json& json) {
  FigureInputs inputs;
  if (json.contains("subject") && json.at("subject").get<std::string>() == "needles") {
    inputs.subject = Subject::Needles;
  }
  if (json.contains("network")) {
    inputs.network = json.at("network").get<std::string>();
  }
  // false: nothing was learned.
  if (json.contains("learned") && json.at("learned").is_object()) {
    json.at("learned").at("foliage").get_to(inputs.learned.foliage);
    json.at("learned").at("spotted").get_to(inputs.learned.spotted);
  }
  inputs.earlierPhotos = numberAt(json, "learned_from_photos");
  inputs.outline = outlineAt(json, "outline");
  inputs.outlineAfter = outlineAt(json, "outline_after");
  inputs.drawnAfter = outlineAt(json, "drawn_after");
  inputs.points = pointsAt(json, "points");
  inputs.compareVersion = numberAt(json, "compare_version");
  inputs.coverBefore = estimateAt(json, "cover_before");
  inputs.coverAfter = estimateAt(json, "cover_after");
  inputs.placedAfter = outlineAt(json, "placed_after");
  return inputs;
}

}  // namespace

std::string withInputs(const std::string& parameters, const FigureInputs& inputs) {
  Json json = Json::parse(parameters, nullptr, false);
  if (!json.is_object()) {
    json = Json::object();
  }
  if (inputs.learned != vision::Correction{}) {
    json["learned_from_photos"] = inputs.earlierPhotos;
  }
  if (inputs.outline) {
    json["outline"] = jsonOf(*inputs.outline);
  }
  if (inputs.outlineAfter) {
    json["outline_after"] = jsonOf(*inputs.outlineAfter);
  }
  if (inputs.drawnAfter) {
    json["drawn_after"] = jsonOf(*inputs.drawnAfter);
  }
  if (!inputs.points.empty()) {
    json["points"] = jsonOf(inputs.points);
  }
  if (inputs.compareVersion > 0) {
    json["compare_version"] = inputs.compareVersion;
  }
  if (inputs.coverBefore && inputs.coverAfter) {
    json["cover_before"] = jsonOf(*inputs.coverBefore);
    json["cover_after"] = jsonOf(*inputs.coverAfter);
  }
  if (inputs.placedAfter) {
    json["placed_after"] = jsonOf(*inputs.placedAfter);
  }
  return json.dump();
}

Result<FigureInputs> inputsOf(const Method& method) {
  try {
    return parsed(Json::parse(method.parameters));
  } catch (const Json::exception&) {
    return fail(ErrorCode::Corrupt,
                "the method parameters of a figure are unreadable; measure again");
  }
}

}  // namespace edamori::work
