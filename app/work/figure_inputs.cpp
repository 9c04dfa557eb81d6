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

FigureInputs parsed(const Json& json) {
  FigureInputs inputs;
  if (json.contains("subject") && json.at("subject").get<std::string>() == "needles") {
    inputs.subject = Subject::Needles;
  }
  inputs.network = json.value("network", "");
  // false: nothing was learned.
  if (json.contains("learned") && json.at("learned").is_object()) {
    json.at("learned").at("foliage").get_to(inputs.learned.foliage);
    json.at("learned").at("spotted").get_to(inputs.learned.spotted);
  }
  inputs.earlierPhotos = json.value("learned_from_photos", 0);
  inputs.outline = outlineAt(json, "outline");
  inputs.outlineAfter = outlineAt(json, "outline_after");
  inputs.compareVersion = json.value("compare_version", 0);
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
  if (inputs.compareVersion > 0) {
    json["compare_version"] = inputs.compareVersion;
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
