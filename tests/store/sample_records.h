// SPDX-License-Identifier: GPL-3.0-or-later
// One record of each kind, with every field filled, that hang together.
#pragma once

#include "store/garden/garden.h"
#include "store/intake/originals.h"
#include "tests/support/matchers.h"
#include "tests/support/temporary_folder.h"

#include <filesystem>
#include <functional>
#include <string>
#include <utility>

#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

namespace edamori::store::test {

using namespace edamori::test;

inline LocalTime timeOf(const std::string& text) {
  const auto time = parseLocalTime(text);
  EXPECT_THAT(time, isOk());
  return time ? *time : LocalTime{};
}

// 64 hex digits that differ by `digit`.
inline std::string hashOf(char digit) { return std::string(64, digit); }

inline Tree treeWithTag(const std::string& tag) {
  return {.id = TreeId::create(),
          .tag = tag,
          .species = "Juniperus chinensis",
          .cultivar = "",
          .owner = {},
          .place = "",
          .note = "",
          .subject = Subject::Needles};
}

inline Branch branchOf(const Tree& tree, const std::string& name) {
  return {.id = BranchId::create(),
          .tree = tree.id,
          .kind = BranchKind::Fork,
          .name = name,
          .order = 3};
}

inline Photo photoOf(const TreeId& tree, char digit, const std::string& takenAt) {
  Photo photo;
  photo.id = PhotoId::create();
  photo.tree = tree;
  photo.sha256 = hashOf(digit);
  photo.originalName = std::string("IMG_") + digit + ".jpg";
  photo.format = "jpeg";
  photo.takenAt = timeOf(takenAt);
  return photo;
}

struct Records {
  Owner owner{
      .id = OwnerId::create(), .name = "Éva 松", .contact = "a@b.invalid", .note = "line\nline"};
  Tree tree{.id = TreeId::create(),
            .tag = "J-1",
            .species = "Pinus parviflora",
            .cultivar = "'Invented'",
            .owner = owner.id,
            .place = "bench 2",
            .note = "quote ' and \" and ;",
            .subject = Subject::Needles};
  Branch branch{.id = BranchId::create(),
                .tree = tree.id,
                .kind = BranchKind::SurfaceRoots,
                .name = "left 1",
                .order = -2};
  Photo before;
  Photo after;
  OutlineRecord outline;
  Mark dot;
  Mark patch;
  Measurement measurement;
  Treatment treatment;
  Recheck recheck;
  Note note{.id = NoteId::create(),
            .tree = tree.id,
            .writtenAt = timeOf("2026-06-01T08:00:00"),
            .text = "新芽"};
  PhotoPair pair;
  LearnedLook look;

  Records() {
    fillPhotos();
    fillFindings();
    fillWork();
  }

  void fillPhotos() {
    before = photoOf(tree.id, 'a', "2025-05-01T09:00:00.5+02:00");
    after = photoOf(tree.id, 'b', "2026-05-02T09:30:00");
    after.sizeBytes = std::int64_t{5} << 30;
    after.widthPx = 8000;
    after.heightPx = 6000;
    after.exifOrientation = 6;
    after.dateSource = DateSource::Edited;
    after.cameraMake = "Make";
    after.cameraModel = "Model";
    after.lens = "Lens";
    after.focalLengthMm = 4.2;
    after.hasPosition = true;
    after.view = View::CloseUp;
    after.note = "wet";
    outline = {.id = OutlineId::create(),
               .photo = after.id,
               .branch = branch.id,
               .shape = {.polygon = {{0.1, 1.0 / 3.0}, {100.25, 0}, {50, 1e-7}},
                         .holes = {{{40, 20}, {60, 20}, {50, 30}}, {{1, 1}, {2, 1}, {2, 2}}}},
               .carriedFrom = before.id,
               .residualPx = 0.75,
               .confirmed = false};
    pair = {.id = PairId::create(),
            .tree = tree.id,
            .branch = branch.id,
            .before = before.id,
            .after = after.id,
            .title = "spring"};
  }

  void fillFindings() {
    dot = {.id = MarkId::create(),
           .photo = after.id,
           .branch = branch.id,
           .finding = Finding::Aphids,
           .kind = MarkKind::Dot,
           .stage = Stage::Removed,
           .count = 7,
           .centre = {12.5, -3.25},
           .radiusPx = 4.5,
           .patch = {},
           .note = "under the leaf"};
    patch = dot;
    patch.id = MarkId::create();
    patch.branch = {};
    patch.kind = MarkKind::Patch;
    patch.patch = {{0, 0}, {10, 0}, {0, 10}};
    measurement = {
        .id = MeasurementId::create(),
        .photo = after.id,
        .branch = branch.id,
        .outline = outline.id,
        .baselinePhoto = before.id,
        .figure = "loss-by-cover",
        .estimate = {.value = 0.1 + 0.2, .low = -0.125, .high = 0.5},
        .unit = "1",
        .verdict = "cannot tell",
        .method = {.name = "m", .version = 3, .parameters = R"({"a":1})"},
        .cautions = {{.code = "blur", .text = "The photo is \"soft\"."}, {.code = "é", .text = ""}},
        .labelMask = "masks/1.png",
        .hintMask = "",
        .madeAt = timeOf("2026-05-02T12:00:00+00:00")};
  }

  void fillWork() {
    treatment = {.id = TreatmentId::create(),
                 .tree = tree.id,
                 .branch = branch.id,
                 .kind = TreatmentKind::Spray,
                 .doneAt = timeOf("2026-05-20T07:30:00"),
                 .product = "p",
                 .registrationNumber = "r",
                 .amount = "a",
                 .dose = "d",
                 .areaTreated = "t",
                 .place = "l",
                 .who = "w",
                 .certificateNumber = "c",
                 .reentryHours = 12.5,
                 .note = "n"};
    look = {.id = LearnedLookId::create(),
            .tree = tree.id,
            .subject = Subject::Needles,
            .network = "n-1",
            .photoSha256 = after.sha256,
            .outline = outline.id,
            // No short decimal, the smallest and a large number: they must come back bit for bit.
            .foliageWeights = {1.0 / 3.0, -5e-324, 1.7e308, 0.1 + 0.2},
            .spottedWeights = {-1.0 / 7.0},
            .photos = {before.sha256, after.sha256},
            .learnedAt = timeOf("2026-05-02T12:00:00+00:00")};
    recheck = {.id = RecheckId::create(),
               .tree = tree.id,
               .branch = branch.id,
               .due = std::chrono::year{2026} / 6 / 3,
               .reason = "crawlers",
               .doneAt = timeOf("2026-06-04T10:00:00")};
  }

  // All of it, in an order in which what is pointed at comes first.
  [[nodiscard]] Result<void> putAll(Garden& garden) const {
    EDAMORI_RETURN_IF_ERROR(garden.put(owner));
    EDAMORI_RETURN_IF_ERROR(garden.put(tree));
    EDAMORI_RETURN_IF_ERROR(garden.put(branch));
    EDAMORI_RETURN_IF_ERROR(garden.put(before));
    EDAMORI_RETURN_IF_ERROR(garden.put(after));
    EDAMORI_RETURN_IF_ERROR(garden.put(outline));
    EDAMORI_RETURN_IF_ERROR(garden.put(dot));
    EDAMORI_RETURN_IF_ERROR(garden.put(patch));
    EDAMORI_RETURN_IF_ERROR(garden.put(measurement));
    EDAMORI_RETURN_IF_ERROR(garden.put(treatment));
    EDAMORI_RETURN_IF_ERROR(garden.put(recheck));
    EDAMORI_RETURN_IF_ERROR(garden.put(note));
    EDAMORI_RETURN_IF_ERROR(garden.put(look));
    return garden.put(pair);
  }
};

// A new garden in `folder`; ends the test when that fails.
inline Garden newGarden(const std::filesystem::path& folder, const GardenOptions& options = {}) {
  auto garden = Garden::create(folder, options);
  EXPECT_THAT(garden, isOk());
  return std::move(garden).value();
}
inline Garden openGarden(const std::filesystem::path& folder, const GardenOptions& options = {}) {
  auto garden = Garden::open(folder, options);
  EXPECT_THAT(garden, isOk());
  return std::move(garden).value();
}

// Runs `work` in a process of its own; gives what it returned, or 128 + the signal that ended it.
inline int inChildProcess(const std::function<int()>& work) {
  const pid_t child = ::fork();
  if (child == 0) {
    int status = 125;
    try {
      status = work();
    } catch (...) {
    }
    ::_exit(status);
  }
  int status = 0;
  EXPECT_EQ(::waitpid(child, &status, 0), child);
  return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

}  // namespace edamori::store::test
