// SPDX-License-Identifier: GPL-3.0-or-later
#include "generator/garden_record.h"

#include <algorithm>

#include "generator/truth.h"
#include <nlohmann/json.hpp>

namespace edamori::scenes {
namespace {

using Json = nlohmann::ordered_json;

double rounded(double value, double steps) { return std::round(value * steps) / steps; }

Json polygonJson(const std::vector<cv::Point>& polygon) {
  Json list = Json::array();
  for (const cv::Point& p : polygon) {
    list.push_back({p.x, p.y});
  }
  return list;
}

// The garden keeps the branches its grower named; the fillers above have no record.
bool hasBranch(const StoryTree& tree, const std::string& name) {
  return std::any_of(tree.branches.begin(), tree.branches.end(), [&](const StoryBranch& branch) {
    return branch.name == name;
  });
}

Json outlinesJson(const Story& story, const StoryPhoto& photo, const RenderedScene& rendered) {
  Json list = Json::array();
  for (const BranchOutline& outline : outlineBranches(photo.scene, rendered)) {
    if (!hasBranch(story.trees[photo.tree], outline.branch)) {
      continue;
    }
    Json entry{{"branch", outline.branch},
               {"polygon", polygonJson(outline.polygon)},
               {"foliage_fraction", rounded(outline.foliageFraction, 1e5)}};
    entry["spot_fraction"] =
        outline.spotFraction ? Json(rounded(*outline.spotFraction, 1e5)) : Json(nullptr);
    list.push_back(entry);
  }
  return list;
}

Json marksJson(const StoryPhoto& photo, const RenderedScene& rendered) {
  Json list = Json::array();
  for (const FindingMark& mark : findMarks(photo.scene, rendered)) {
    Json entry{{"finding", mark.finding},
               {"kind", mark.kind == MarkKind::Dot ? "dot" : "patch"},
               {"branch", mark.branch},
               {"x", rounded(mark.centre.x, 10.0)},
               {"y", rounded(mark.centre.y, 10.0)},
               {"radius_px", rounded(mark.radiusPx, 10.0)}};
    if (mark.kind == MarkKind::Patch) {
      entry["polygon"] = polygonJson(mark.polygon);
    }
    entry["count"] = mark.count;
    entry["stage"] = "live";
    list.push_back(entry);
  }
  return list;
}

Json homographyJson(const Story& story, const StoryPhoto& photo) {
  const cv::Matx33d reference = pixelFromPlane(story.photos[*photo.reference].scene.camera);
  cv::Matx33d own = pixelFromPlane(photo.scene.camera) * reference.inv();
  own = own * (1.0 / own(2, 2));
  Json list = Json::array();
  for (const double value : own.val) {
    list.push_back(rounded(value, 1e10));
  }
  return list;
}

Json treatment(
    const char* tree, const char* branch, const char* kind, const char* doneAt, const char* note) {
  return {{"tree", tree},
          {"branch", branch},
          {"kind", kind},
          {"done_at", doneAt},
          {"product", ""},
          {"registration_no", ""},
          {"amount", ""},
          {"dose", ""},
          {"area_treated", ""},
          {"place", ""},
          {"who", "Odda Marrow"},
          {"certificate_no", ""},
          {"reentry_hours", nullptr},
          {"note", note}};
}

Json treatmentsJson() {
  Json list = Json::array();
  list.push_back(treatment(
      "ED-03",
      "Trunk line",
      "hand removal",
      "2025-05-03T09:30:00",
      "Lifted off with a wooden pick, then wiped with a soft cloth. Counted before and after."));
  list.push_back(treatment(
      "ED-03", "Fork", "brushing", "2025-05-03T11:10:00", "Soft brush and water, out of the sun."));
  Json spray = treatment("ED-02",
                         "First right",
                         "spray",
                         "2025-06-16T19:30:00",
                         "Still evening, no rain forecast. Mask, gloves and glasses as the label "
                         "asks; children and pets kept away.");
  spray["branch"] = nullptr;
  spray["product"] = "Fennwick Leaf Guard";
  spray["registration_no"] = "as on the label";
  spray["amount"] = "as on the label";
  spray["dose"] = "as on the label";
  spray["area_treated"] = "1 tree";
  spray["place"] = "Bench 2";
  spray["certificate_no"] = "as on the grower's card";
  list.push_back(spray);
  list.push_back(treatment(
      "ED-02",
      "First right",
      "thinning",
      "2025-06-20T17:00:00",
      "Worst leaves cut at the stalk so that air gets through; leaves taken away, not composted."));
  list.push_back(treatment(
      "ED-01",
      "First left",
      "plucking",
      "2026-04-12T10:00:00",
      "Infected needles plucked with tweezers and bagged. Tools cleaned between branches."));
  list.push_back(treatment("ED-01",
                           "First right",
                           "plucking",
                           "2026-04-12T11:30:00",
                           "Infected needles plucked with tweezers and bagged."));
  list.push_back(treatment(
      "ED-04",
      "First right",
      "hand removal",
      "2026-04-25T09:15:00",
      "Shoot tips rinsed with water, colonies wiped off by hand; two curled leaves removed."));
  list.push_back(treatment("ED-07",
                           "First left",
                           "other",
                           "2026-04-05T11:00:00",
                           "Turned so that the weak side faces the sun; no pruning this season."));
  return list;
}

Json recheck(
    const char* tree, const char* branch, const char* due, const char* reason, const char* doneAt) {
  Json entry{
      {"tree", tree}, {"branch", branch}, {"due", due}, {"reason", reason}, {"done_at", nullptr}};
  if (doneAt != nullptr) {
    entry["done_at"] = doneAt;
  }
  return entry;
}

Json rechecksJson() {
  return Json::array(
      {recheck("ED-03",
               "Trunk line",
               "2025-06-07",
               "Crawlers after removal of scale insects",
               "2025-06-08"),
       recheck("ED-03", "Fork", "2026-04-18", "First look of the new season", "2026-04-18"),
       recheck("ED-02",
               "First right",
               "2026-05-09",
               "Same season as last year's leaf spot",
               "2026-05-09"),
       recheck(
           "ED-04", "First right", "2026-05-20", "Aphids three weeks after removal", "2026-05-20"),
       recheck("ED-01", "First left", "2026-06-13", "New needles after plucking", nullptr),
       recheck("ED-07", "First left", "2026-06-27", "Needle cover of the weak branch", nullptr)});
}

Json pair(const char* tree,
          const char* branch,
          const char* before,
          const char* after,
          const char* title) {
  return {{"tree", tree},
          {"branch", branch},
          {"before", std::string(before) + ".jpg"},
          {"after", std::string(after) + ".jpg"},
          {"title", title}};
}

Json pairsJson() {
  return Json::array({pair("ED-01",
                           "First left",
                           "ED-01_2026-04-11_front",
                           "ED-01_2026-04-14_front",
                           "Infected needles plucked"),
                      pair("ED-01",
                           "First left",
                           "ED-01_2025-04-12_front",
                           "ED-01_2026-04-11_front",
                           "Needle blight, spring against spring"),
                      pair("ED-02",
                           "First right",
                           "ED-02_2025-05-10_front",
                           "ED-02_2026-05-09_front",
                           "Leaf spot, May against May"),
                      pair("ED-02",
                           "First right",
                           "ED-02_2025-06-14_front",
                           "ED-02_2026-06-13_front",
                           "Leaf spot, June against June"),
                      pair("ED-03",
                           "Trunk line",
                           "ED-03_2025-05-03_trunk-before",
                           "ED-03_2025-05-03_trunk-after",
                           "Scale insects removed by hand"),
                      pair("ED-04",
                           "First right",
                           "ED-04_2026-04-25_first-right-before",
                           "ED-04_2026-04-28_first-right-after",
                           "Aphids wiped off"),
                      pair("ED-05",
                           "First left",
                           "ED-05_2025-05-24_front",
                           "ED-05_2025-05-24_front-again",
                           "Two photos minutes apart: nothing changed"),
                      pair("ED-07",
                           "First left",
                           "ED-07_2025-04-05_front",
                           "ED-07_2026-04-04_front",
                           "Weak branch, spring against spring")});
}

Json notesJson() {
  const auto note = [](const char* tree, const char* at, const char* text) {
    return Json{{"tree", tree}, {"written_at", at}, {"text", text}};
  };
  return Json::array(
      {note("ED-01",
            "2025-09-20T11:10:00",
            "Tips browning in the lowest pads after three wet weeks. Watered from below since."),
       note("ED-02",
            "2025-05-10T09:20:00",
            "Round dark spots with a paler middle, most on the first right branch that hangs over "
            "the wet moss."),
       note("ED-03",
            "2025-05-03T08:50:00",
            "Brown domes along the trunk line up to the fork. Sticky leaves below."),
       note("ED-04",
            "2026-04-25T08:40:00",
            "Green aphids on three soft shoots, ants going up the trunk."),
       note("ED-05",
            "2025-05-24T10:10:00",
            "Two photos on purpose, to see what the camera alone changes."),
       note("ED-06",
            "2026-05-30T12:45:00",
            "Some leaves flush yellow. Not a spot, not a deficiency seen elsewhere."),
       note("ED-07",
            "2026-04-04T10:50:00",
            "First left thinner than last year. Roots checked in the corner: sound.")});
}

}  // namespace

std::string truthText(const Story& story, const StoryPhoto& photo, const RenderedScene& rendered) {
  Json truth;
  truth["photo"] = photo.stem + ".jpg";
  truth["tree"] = story.trees[photo.tree].tag;
  truth["taken_at"] = photo.takenAt.empty()
                          ? Json(nullptr)
                          : Json(photo.takenAt + "." + photo.subSecond + photo.offset);
  truth["orientation"] = photo.orientation;
  truth["width"] = rendered.picture.cols;
  truth["height"] = rendered.picture.rows;
  truth["view"] = photo.view;
  truth["branch_outlines"] = outlinesJson(story, photo, rendered);
  truth["marks"] = marksJson(photo, rendered);
  truth["reference"] =
      photo.reference ? Json(story.photos[*photo.reference].stem + ".jpg") : Json(nullptr);
  truth["upright_from_reference"] = photo.reference ? homographyJson(story, photo) : Json(nullptr);
  return truth.dump(1) + "\n";
}

std::string gardenText(const Story& story) {
  Json garden;
  garden["garden"] = story.garden;
  garden["owners"] = Json::array(
      {{{"key", "own"}, {"name", "Odda Marrow"}, {"contact", ""}},
       {{"key", "harrowgate"}, {"name", "Pell Harrowgate"}, {"contact", "pell@example.org"}},
       {{"key", "tolliver"}, {"name", "Wenna Tolliver"}, {"contact", "wenna@example.org"}}});
  garden["trees"] = Json::array();
  for (const StoryTree& tree : story.trees) {
    Json branches = Json::array();
    for (const StoryBranch& branch : tree.branches) {
      branches.push_back({{"name", branch.name}, {"kind", branch.kind}});
    }
    garden["trees"].push_back({{"tag", tree.tag},
                               {"species", tree.species},
                               {"cultivar", tree.cultivar},
                               {"owner", tree.owner},
                               {"place", tree.place},
                               {"note", tree.note},
                               {"subject", tree.subject},
                               {"branches", branches}});
  }
  garden["photos"] = Json::array();
  for (const StoryPhoto& photo : story.photos) {
    Json entry{{"file", photo.stem + ".jpg"}, {"tree", story.trees[photo.tree].tag}, {"view", photo.view}};
    if (!photo.outlined.empty()) {
      entry["outlined"] = photo.outlined;
    }
    garden["photos"].push_back(std::move(entry));
  }
  garden["treatments"] = treatmentsJson();
  garden["rechecks"] = rechecksJson();
  garden["notes"] = notesJson();
  garden["pairs"] = pairsJson();
  return garden.dump(1) + "\n";
}

}  // namespace edamori::scenes
