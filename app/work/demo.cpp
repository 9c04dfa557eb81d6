// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/demo.h"

#include "app/work/import.h"
#include "app/work/measuring.h"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <map>
#include <system_error>

namespace edamori::work {
namespace {

using nlohmann::json;
using store::Garden;

// Reads the story; a broken sample folder is one error, told in one line.
Result<json> readJson(const std::filesystem::path& file) {
  std::ifstream stream(file);
  if (!stream) {
    return fail(ErrorCode::NotFound, "cannot read the sample file " + file.string() +
                                         "; fetch sample-images again");
  }
  json parsed = json::parse(stream, nullptr, false);
  if (parsed.is_discarded()) {
    return fail(ErrorCode::Corrupt,
                "the sample file " + file.string() + " is damaged; fetch sample-images again");
  }
  return parsed;
}

std::string textOf(const json& object, const char* key) {
  const auto found = object.find(key);
  return found == object.end() || !found->is_string() ? std::string()
                                                       : found->get<std::string>();
}

Polygon polygonOf(const json& points) {
  Polygon polygon;
  for (const json& point : points) {
    polygon.push_back({.x = point.at(0).get<double>(), .y = point.at(1).get<double>()});
  }
  return polygon;
}

// Everything that the steps of the building share.
struct Building {
  Garden& garden;
  std::filesystem::path samples;
  std::function<bool(const DemoProgress&)> listener;
  json story;
  DemoProgress progress;
  std::map<std::string, store::OwnerId> owners;
  std::map<std::string, store::TreeId> trees;
  std::map<std::string, store::BranchId> branches;  // "tag/branch name"
  std::map<std::string, store::Photo> photos;       // by file name
  std::map<std::string, std::vector<std::string>> outlined{};  // branches by file name; none: all that show

  [[nodiscard]] store::BranchId branchOf(const std::string& tag, const std::string& name) const {
    const auto found = branches.find(tag + "/" + name);
    return found == branches.end() ? store::BranchId{} : found->second;
  }

  Result<void> step(const std::string& doing) {
    progress.doing = doing;
    if (listener && !listener(progress)) {
      return fail(ErrorCode::Cancelled, "stopped; the demo garden was not made");
    }
    ++progress.done;
    return {};
  }
};

Result<void> enterTree(Building& building, const json& entry) {
  store::Tree tree;
  tree.id = store::TreeId::create();
  tree.tag = textOf(entry, "tag");
  tree.species = textOf(entry, "species");
  tree.cultivar = textOf(entry, "cultivar");
  tree.owner = building.owners[textOf(entry, "owner")];
  tree.place = textOf(entry, "place");
  tree.note = textOf(entry, "note");
  tree.subject = textOf(entry, "subject") == "needles" ? Subject::Needles : Subject::Leaf;
  EDAMORI_RETURN_IF_ERROR(building.garden.put(tree));
  building.trees[tree.tag] = tree.id;
  int order = 0;
  for (const json& one : entry.at("branches")) {
    auto kind = store::parseBranchKind(textOf(one, "kind"));
    if (!kind) {
      return kind.error();
    }
    const store::Branch branch{.id = store::BranchId::create(),
                               .tree = tree.id,
                               .kind = *kind,
                               .name = textOf(one, "name"),
                               .order = order++};
    EDAMORI_RETURN_IF_ERROR(building.garden.put(branch));
    building.branches[tree.tag + "/" + branch.name] = branch.id;
  }
  return {};
}

Result<void> enterPeopleAndTrees(Building& building) {
  EDAMORI_RETURN_IF_ERROR(building.garden.setName(textOf(building.story, "garden")));
  for (const json& entry : building.story.at("owners")) {
    const store::Owner owner{.id = store::OwnerId::create(),
                             .name = textOf(entry, "name"),
                             .contact = textOf(entry, "contact"),
                             .note = {}};
    EDAMORI_RETURN_IF_ERROR(building.garden.put(owner));
    building.owners[textOf(entry, "key")] = owner.id;
  }
  for (const json& entry : building.story.at("trees")) {
    EDAMORI_RETURN_IF_ERROR(enterTree(building, entry));
  }
  return {};
}

Result<void> importOne(Building& building, const json& entry) {
  const std::string name = textOf(entry, "file");
  EDAMORI_RETURN_IF_ERROR(building.step("taking in " + name));
  auto report =
      importPhotos(building.garden, {.paths = {building.samples / "photos" / name}, .tree = {}});
  if (!report) {
    return report.error();
  }
  if (report->takenIn.size() != 1) {
    return fail(ErrorCode::Corrupt, report->refused.empty()
                                        ? "the sample photo " + name + " is there twice"
                                        : report->refused.front().reason);
  }
  store::Photo photo = report->takenIn.front().photo;
  photo.tree = building.trees[textOf(entry, "tree")];
  if (const auto view = store::parseView(textOf(entry, "view"))) {
    photo.view = *view;
  }
  EDAMORI_RETURN_IF_ERROR(building.garden.put(photo));
  building.photos[name] = photo;
  building.outlined[name] = entry.value("outlined", std::vector<std::string>());
  return {};
}

// A close-up is of some branches; nobody outlines what lies blurred behind them.
bool isOutlined(const std::vector<std::string>& chosen, const std::string& branch) {
  return chosen.empty() || std::ranges::find(chosen, branch) != chosen.end();
}

Result<void> enterMark(Building& building,
                       const store::Photo& photo,
                       const std::string& tag,
                       const json& entry) {
  auto finding = store::parseFinding(textOf(entry, "finding"));
  auto kind = store::parseMarkKind(textOf(entry, "kind"));
  auto stage = store::parseStage(textOf(entry, "stage"));
  if (!finding || !kind || !stage) {
    return !finding ? finding.error() : !kind ? kind.error() : stage.error();
  }
  store::Mark mark;
  mark.id = store::MarkId::create();
  mark.photo = photo.id;
  mark.branch = building.branchOf(tag, textOf(entry, "branch"));
  mark.finding = *finding;
  mark.kind = *kind;
  mark.stage = *stage;
  mark.count = entry.value("count", 1);
  mark.centre = {.x = entry.value("x", 0.0), .y = entry.value("y", 0.0)};
  mark.radiusPx = entry.value("radius_px", 0.0);
  if (const auto patch = entry.find("polygon"); patch != entry.end() && patch->is_array()) {
    mark.patch = polygonOf(*patch);
  }
  return building.garden.put(mark);
}

// Outlines and marks of one photo, as the keeper of the invented garden drew them.
Result<void> enterDrawing(Building& building, const std::string& name, const store::Photo& photo) {
  auto drawing = readJson(building.samples / "truth" /
                          (std::filesystem::path(name).stem().string() + ".json"));
  if (!drawing) {
    return drawing.error();
  }
  const std::string tag = textOf(*drawing, "tree");
  for (const json& entry : drawing->at("branch_outlines")) {
    store::OutlineRecord outline;
    outline.id = store::OutlineId::create();
    outline.photo = photo.id;
    outline.branch = building.branchOf(tag, textOf(entry, "branch"));
    // The truth knows twigs that the keeper does not follow.
    if (outline.branch.isEmpty() || !isOutlined(building.outlined[name], textOf(entry, "branch"))) {
      continue;
    }
    outline.shape.polygon = polygonOf(entry.at("polygon"));
    EDAMORI_RETURN_IF_ERROR(building.garden.put(outline));
  }
  for (const json& entry : drawing->at("marks")) {
    EDAMORI_RETURN_IF_ERROR(enterMark(building, photo, tag, entry));
  }
  return {};
}

Result<store::LocalTime> timeOf(const json& entry, const char* key) {
  return store::parseLocalTime(textOf(entry, key));
}

Result<void> enterTreatment(Building& building, const json& entry) {
  const std::string tag = textOf(entry, "tree");
  auto kind = store::parseTreatmentKind(textOf(entry, "kind"));
  auto doneAt = timeOf(entry, "done_at");
  if (!kind || !doneAt) {
    return !kind ? kind.error() : doneAt.error();
  }
  store::Treatment treatment;
  treatment.id = store::TreatmentId::create();
  treatment.tree = building.trees[tag];
  treatment.branch = building.branchOf(tag, textOf(entry, "branch"));
  treatment.kind = *kind;
  treatment.doneAt = *doneAt;
  treatment.product = textOf(entry, "product");
  treatment.registrationNumber = textOf(entry, "registration_no");
  treatment.amount = textOf(entry, "amount");
  treatment.dose = textOf(entry, "dose");
  treatment.areaTreated = textOf(entry, "area_treated");
  treatment.place = textOf(entry, "place");
  treatment.who = textOf(entry, "who");
  treatment.certificateNumber = textOf(entry, "certificate_no");
  if (const auto hours = entry.find("reentry_hours"); hours != entry.end() && hours->is_number()) {
    treatment.reentryHours = hours->get<double>();
  }
  treatment.note = textOf(entry, "note");
  return building.garden.put(treatment);
}

Result<void> enterRecheck(Building& building, const json& entry) {
  const std::string tag = textOf(entry, "tree");
  auto due = store::parseDate(textOf(entry, "due"));
  auto doneAt = timeOf(entry, "done_at");
  if (!due || !doneAt) {
    return !due ? due.error() : doneAt.error();
  }
  store::Recheck recheck;
  recheck.id = store::RecheckId::create();
  recheck.tree = building.trees[tag];
  recheck.branch = building.branchOf(tag, textOf(entry, "branch"));
  recheck.due = *due;
  recheck.reason = textOf(entry, "reason");
  if (doneAt->isKnown()) {
    recheck.doneAt = *doneAt;
  }
  return building.garden.put(recheck);
}

Result<void> enterLog(Building& building) {
  for (const json& entry : building.story.at("treatments")) {
    EDAMORI_RETURN_IF_ERROR(enterTreatment(building, entry));
  }
  for (const json& entry : building.story.at("rechecks")) {
    EDAMORI_RETURN_IF_ERROR(enterRecheck(building, entry));
  }
  for (const json& entry : building.story.at("notes")) {
    auto writtenAt = timeOf(entry, "written_at");
    if (!writtenAt) {
      return writtenAt.error();
    }
    EDAMORI_RETURN_IF_ERROR(
        building.garden.put(store::Note{.id = store::NoteId::create(),
                                        .tree = building.trees[textOf(entry, "tree")],
                                        .writtenAt = *writtenAt,
                                        .text = textOf(entry, "text")}));
  }
  for (const json& entry : building.story.at("pairs")) {
    const std::string tag = textOf(entry, "tree");
    EDAMORI_RETURN_IF_ERROR(
        building.garden.put(store::PhotoPair{.id = store::PairId::create(),
                                             .tree = building.trees[tag],
                                             .branch = building.branchOf(tag, textOf(entry, "branch")),
                                             .before = building.photos[textOf(entry, "before")].id,
                                             .after = building.photos[textOf(entry, "after")].id,
                                             .title = textOf(entry, "title")}));
  }
  return {};
}

Result<void> measureAll(Building& building) {
  for (const auto& [name, photo] : building.photos) {
    EDAMORI_RETURN_IF_ERROR(building.step("measuring " + name));
    auto measured = measurePhoto(building.garden, photo.id);
    if (!measured) {
      return measured.error();
    }
  }
  for (const json& entry : building.story.at("pairs")) {
    EDAMORI_RETURN_IF_ERROR(building.step("comparing " + textOf(entry, "before") + " and " +
                                          textOf(entry, "after")));
    auto compared =
        comparePhotos(building.garden,
                      building.branchOf(textOf(entry, "tree"), textOf(entry, "branch")),
                      building.photos[textOf(entry, "before")].id,
                      building.photos[textOf(entry, "after")].id);
    // A pair that cannot be measured is an honest result; only a broken garden ends the demo.
    if (!compared && compared.error().code != ErrorCode::NotMeasurable) {
      return compared.error();
    }
  }
  return {};
}

Result<void> build(Building& building) {
  EDAMORI_RETURN_IF_ERROR(enterPeopleAndTrees(building));
  for (const json& entry : building.story.at("photos")) {
    EDAMORI_RETURN_IF_ERROR(importOne(building, entry));
  }
  EDAMORI_RETURN_IF_ERROR(building.garden.inTransaction([&]() -> Result<void> {
    for (const auto& [name, photo] : building.photos) {
      EDAMORI_RETURN_IF_ERROR(enterDrawing(building, name, photo));
    }
    return enterLog(building);
  }));
  return measureAll(building);
}

}  // namespace

Result<std::filesystem::path> samplesFolder() {
  std::vector<std::filesystem::path> places;
  if (const char* const named = std::getenv("EDAMORI_SAMPLES"); named != nullptr) {
    places.emplace_back(named);
  }
  std::error_code ignored;
  const auto program = std::filesystem::read_symlink("/proc/self/exe", ignored);
  places.push_back(program.parent_path() / "../share/edamori/sample-images");
  places.emplace_back(EDAMORI_SOURCE_SAMPLES);
  for (const std::filesystem::path& place : places) {
    if (std::filesystem::exists(place / "garden.json", ignored)) {
      return std::filesystem::weakly_canonical(place);
    }
  }
  return fail(ErrorCode::NotFound,
              "the sample photographs are not there; set EDAMORI_SAMPLES to the folder sample-images");
}

Result<void> buildDemo(const std::filesystem::path& folder,
                       const std::filesystem::path& samples,
                       const std::function<bool(const DemoProgress&)>& listener) {
  auto story = readJson(samples / "garden.json");
  if (!story) {
    return story.error();
  }
  auto garden = Garden::create(folder);
  if (!garden) {
    return garden.error();
  }
  Result<void> built = fail(ErrorCode::Corrupt, "the sample story in " + samples.string() +
                                                    " is damaged; fetch sample-images again");
  // The library throws where a key of the story is missing or of another type.
  try {
    Building building{.garden = *garden, .samples = samples, .listener = listener,
                      .story = std::move(*story), .progress = {}, .owners = {}, .trees = {},
                      .branches = {}, .photos = {}};
    building.progress.total = static_cast<int>(2 * building.story.at("photos").size() +
                                               building.story.at("pairs").size());
    built = build(building);
  } catch (const json::exception&) {
  }
  if (!built) {
    { const Garden closing = std::move(*garden); }
    std::error_code ignored;
    std::filesystem::remove_all(folder, ignored);
  }
  return built;
}

std::filesystem::path defaultDemoFolder() {
  if (const char* const data = std::getenv("XDG_DATA_HOME"); data != nullptr && *data != '\0') {
    return std::filesystem::path(data) / "edamori" / "demo-garden";
  }
  const char* const home = std::getenv("HOME");
  return std::filesystem::path(home != nullptr ? home : ".") / ".local/share/edamori/demo-garden";
}

}  // namespace edamori::work
