// SPDX-License-Identifier: GPL-3.0-or-later
// The JSON that `edamori measure`, `edamori compare` and `edamori find` print.
#include "app/work/insect_offers.h"
#include "app/work/measuring.h"

#include <nlohmann/json.hpp>

namespace edamori::work {
namespace {

using Json = nlohmann::ordered_json;

// File names are bytes, not always UTF-8: what cannot be written is replaced.
std::string dump(const Json& json) { return json.dump(2, ' ', false, Json::error_handler_t::replace); }

Json jsonOf(const Estimate& estimate, const char* name = "fraction") {
  return {{name, estimate.value}, {"low", estimate.low}, {"high", estimate.high}};
}

Json jsonOf(const std::optional<Estimate>& estimate, const char* name = "fraction") {
  return estimate ? jsonOf(*estimate, name) : Json(nullptr);
}

Json jsonOf(const std::vector<Caution>& cautions) {
  Json list = Json::array();
  for (const Caution& caution : cautions) {
    list.push_back({{"code", caution.code}, {"text", caution.text}});
  }
  return list;
}

Json jsonOf(const Method& method) {
  return {{"name", method.name},
          {"version", method.version},
          {"parameters", Json::parse(method.parameters, nullptr, false)}};
}

Json photoPart(const OpenedPhoto& photo) {
  const std::string taken = store::toText(photo.metadata.takenAt);
  return {{"photo", photo.file.string()},
          {"sha256", photo.sha256},
          {"width", photo.image.width()},
          {"height", photo.image.height()},
          {"taken_at", taken.empty() ? Json(nullptr) : Json(taken)},
          {"date_source", store::toText(photo.metadata.dateSource)}};
}

Json jsonOf(const std::optional<vision::MeasureResult>& result) {
  if (!result) {
    return nullptr;
  }
  return {{"foliage", jsonOf(result->foliage)}, {"spot", jsonOf(result->spot)}};
}

}  // namespace

std::string measureJson(const OpenedPhoto& photo, const vision::MeasureResult& result) {
  Json json = photoPart(photo);
  json["outline_px"] = result.outlinePx;
  json["foliage"] = jsonOf(result.foliage);
  json["spot"] = jsonOf(result.spot);
  json["mm_per_px"] = nullptr;
  json["warnings"] = jsonOf(result.cautions);
  json["method"] = jsonOf(result.method);
  return dump(json);
}

std::string measureRefusalJson(const OpenedPhoto& photo, const std::string& reason) {
  Json json = photoPart(photo);
  json["foliage"] = nullptr;
  json["spot"] = nullptr;
  json["mm_per_px"] = nullptr;
  json["not_measurable"] = reason;
  return dump(json);
}

std::string findJson(const OpenedPhoto& photo,
                     const std::vector<vision::InsectCandidate>& candidates,
                     const vision::InsectSizes& sizes) {
  Json json = photoPart(photo);
  Json list = Json::array();
  for (const vision::InsectCandidate& candidate : candidates) {
    list.push_back({{"x", candidate.centrePx.x},
                    {"y", candidate.centrePx.y},
                    {"radius_px", candidate.radiusPx},
                    {"score", candidate.score}});
  }
  json["candidates"] = list;
  json["method"] = {{"name", "scale-insects"},
                    {"version", vision::kInsectMethodVersion},
                    {"parameters",
                     {{"smallest_radius_px", sizes.smallestRadiusPx},
                      {"largest_radius_px", sizes.largestRadiusPx}}}};
  return dump(json);
}

std::string findRefusalJson(const OpenedPhoto& photo, const std::string& reason) {
  Json json = photoPart(photo);
  json["candidates"] = nullptr;
  json["not_measurable"] = reason;
  return dump(json);
}

std::string compareJson(const vision::Comparison& comparison) {
  Json json{{"aligned", comparison.aligned}};
  if (!comparison.aligned) {
    json["reason"] = comparison.refusal;
    json["verdict"] = toText(comparison.verdict);
    json["warnings"] = jsonOf(comparison.cautions);
    return dump(json);
  }
  json["model"] = vision::toText(comparison.alignment.model);
  json["residual_px"] = comparison.alignment.residualPx;
  json["overlap"] = comparison.alignment.overlap;
  Json outline = Json::array();
  for (const PointPx& vertex : comparison.outlineAfter.polygon) {
    outline.push_back({vertex.x, vertex.y});
  }
  json["outline_after"] = outline;
  json["before"] = jsonOf(comparison.before);
  json["after"] = jsonOf(comparison.after);
  json["loss_by_cover"] = jsonOf(comparison.lossByCover);
  json["loss_by_light"] = jsonOf(comparison.lossByLight);
  json["spot_change"] = jsonOf(comparison.spotChange, "difference");
  json["verdict"] = toText(comparison.verdict);
  json["warnings"] = jsonOf(comparison.cautions);
  return dump(json);
}

}  // namespace edamori::work
