// SPDX-License-Identifier: GPL-3.0-or-later
#include "generator/story.h"

namespace edamori::scenes {
namespace {

// The usual plan of a styled tree: named low branches, fillers above, a rounded apex.
std::vector<BranchSpec> styledBranches(float scale) {
  const auto mm = [scale](float v) { return v * scale; };
  return {{"First left", 0.34F, 172.0F, mm(215.0F), 6.0F, 0.36F},
          {"First right", 0.44F, 12.0F, mm(200.0F), 6.0F, 0.34F},
          {"Back", 0.50F, 268.0F, mm(150.0F), 14.0F, 0.32F},
          {"Second left", 0.60F, 200.0F, mm(150.0F), 10.0F, 0.32F},
          {"Second right", 0.66F, 345.0F, mm(135.0F), 14.0F, 0.32F},
          {"Back", 0.64F, 290.0F, mm(120.0F), 14.0F, 0.3F},
          {"First right", 0.47F, 52.0F, mm(120.0F), 12.0F, 0.26F},
          {"First left", 0.40F, 132.0F, mm(125.0F), 14.0F, 0.26F},
          {"Second left", 0.70F, 140.0F, mm(105.0F), 16.0F, 0.3F},
          {"Second right", 0.77F, 45.0F, mm(100.0F), 18.0F, 0.3F},
          {"Apex", 0.82F, 190.0F, mm(95.0F), 25.0F, 0.34F},
          {"Apex", 0.86F, 320.0F, mm(85.0F), 30.0F, 0.36F},
          {"Apex", 0.90F, 90.0F, mm(72.0F), 38.0F, 0.4F},
          {"Apex", 0.93F, 230.0F, mm(66.0F), 45.0F, 0.45F},
          {"Apex", 0.97F, 20.0F, mm(58.0F), 62.0F, 0.6F},
          {"Apex", 0.985F, 150.0F, mm(56.0F), 68.0F, 0.7F}};
}

std::vector<StoryBranch> styledNames() {
  return {{"First left", "branch"},
          {"First right", "branch"},
          {"Second left", "branch"},
          {"Apex", "apex"},
          {"Trunk line", "trunk line"}};
}

StoryTree blackPine() {
  StoryTree tree{"ED-01",
                 "Pinus thunbergii",
                 "",
                 "harrowgate",
                 "Bench 1, south end",
                 "Needles thin on the lowest branches; watch for blight after wet autumns.",
                 "needles",
                 styledNames(),
                 {},
                 {},
                 {},
                 {}};
  tree.habit = {.seed = 101,
                .foliage = FoliageKind::NeedlePairs,
                .bark = BarkStyle::PinePlates,
                .heightMm = 540.0F,
                .trunkRadiusMm = 34.0F,
                .sweepMm = 48.0F,
                .leanMm = 30.0F,
                .branches = styledBranches(1.0F),
                .secondarySpacingMm = 19.0F,
                .secondaryLength = 0.46F,
                .twigSpacingMm = 16.0F,
                .twigLengthMm = 22.0F};
  tree.foliage = {.colour = fromSrgb(58, 84, 40),
                  .otherColour = fromSrgb(104, 124, 56),
                  .otherShare = 0.25F,
                  .colourSpread = 0.2F,
                  .gloss = 0.38F,
                  .needleLengthMm = 40.0F,
                  .needleRadiusMm = 0.62F,
                  .fasciclesPerTuft = 36.0F,
                  .candleMm = 4.0F};
  tree.pot = {
      155.0F, 108.0F, 68.0F, 5.0F, fromSrgb(96, 68, 56), fromSrgb(118, 88, 72), 0.12F, 0.55F, 11};
  tree.backdrop = {
      BackdropKind::Garden, 0.9F, 0.011F, {1.0F, 1.0F, 1.0F}, fromSrgb(138, 124, 108), 201};
  return tree;
}

StoryTree greenMaple() {
  StoryTree tree{"ED-02",
                 "Acer palmatum",
                 "",
                 "tolliver",
                 "Bench 2, under the shade cloth",
                 "Leaf spot in the wet spring of 2025.",
                 "leaf",
                 styledNames(),
                 {},
                 {},
                 {},
                 {}};
  tree.habit = {.seed = 204,
                .foliage = FoliageKind::PalmateLeaf,
                .bark = BarkStyle::SmoothMaple,
                .heightMm = 470.0F,
                .trunkRadiusMm = 30.0F,
                .sweepMm = 34.0F,
                .leanMm = -18.0F,
                .branches = styledBranches(1.12F),
                .secondarySpacingMm = 21.0F,
                .twigSpacingMm = 17.0F,
                .twigLengthMm = 34.0F};
  tree.foliage = {.colour = fromSrgb(84, 108, 46),
                  .otherColour = fromSrgb(136, 150, 72),
                  .otherShare = 0.3F,
                  .colourSpread = 0.14F,
                  .gloss = 0.26F,
                  .leafLengthMm = 34.0F,
                  .leavesPerSite = 2.1F,
                  .droop = 0.4F};
  tree.pot = {
      175.0F, 120.0F, 58.0F, 2.2F, fromSrgb(44, 66, 92), fromSrgb(92, 122, 150), 0.85F, 0.75F, 12};
  tree.backdrop = {
      BackdropKind::Fence, 0.85F, 0.010F, {1.0F, 1.0F, 1.0F}, fromSrgb(132, 112, 92), 202};
  return tree;
}

StoryTree elm() {
  StoryTree tree{"ED-03",
                 "Ulmus parvifolia",
                 "",
                 "own",
                 "Bench 1, middle",
                 "Scale insects on the trunk and in the fork.",
                 "leaf",
                 {{"First left", "branch"},
                  {"First right", "branch"},
                  {"Apex", "apex"},
                  {"Trunk line", "trunk line"},
                  {"Fork", "fork"}},
                 {},
                 {},
                 {},
                 {}};
  tree.habit = {.seed = 307,
                .foliage = FoliageKind::SerrateLeaf,
                .bark = BarkStyle::FlakingElm,
                .heightMm = 430.0F,
                .trunkRadiusMm = 36.0F,
                .sweepMm = 26.0F,
                .leanMm = 24.0F,
                .branches = styledBranches(0.95F),
                .secondarySpacingMm = 18.0F,
                .twigSpacingMm = 13.0F,
                .twigLengthMm = 32.0F,
                .trunkName = "Trunk line",
                .forkName = "Fork",
                .forkAttach = 0.34F};
  tree.habit.branches[0].radiusFactor = 0.62F;
  tree.habit.branches[0].riseDeg = 42.0F;
  tree.foliage = {.colour = fromSrgb(60, 86, 40),
                  .otherColour = fromSrgb(112, 132, 62),
                  .otherShare = 0.3F,
                  .colourSpread = 0.16F,
                  .gloss = 0.45F,
                  .leafLengthMm = 21.0F,
                  .leavesPerSite = 2.6F,
                  .droop = 0.3F};
  tree.pot = {150.0F,
              105.0F,
              62.0F,
              2.3F,
              fromSrgb(126, 134, 110),
              fromSrgb(172, 172, 146),
              0.7F,
              0.6F,
              13};
  tree.backdrop = {
      BackdropKind::Hedge, 0.8F, 0.013F, {1.0F, 1.0F, 1.0F}, fromSrgb(128, 112, 96), 203};
  return tree;
}

StoryTree crabApple() {
  StoryTree tree{"ED-04",
                 "Malus halliana",
                 "",
                 "tolliver",
                 "Bench 3, by the water butt",
                 "Aphids come with the first soft shoots.",
                 "leaf",
                 {{"First left", "branch"},
                  {"First right", "branch"},
                  {"Back", "branch"},
                  {"Apex", "apex"},
                  {"Trunk line", "trunk line"}},
                 {},
                 {},
                 {},
                 {}};
  tree.habit = {.seed = 412,
                .foliage = FoliageKind::SerrateLeaf,
                .bark = BarkStyle::BandedFruit,
                .heightMm = 450.0F,
                .trunkRadiusMm = 25.0F,
                .sweepMm = 36.0F,
                .leanMm = 14.0F,
                .branches = styledBranches(0.98F),
                .secondarySpacingMm = 26.0F,
                .twigSpacingMm = 22.0F,
                .twigLengthMm = 38.0F};
  tree.foliage = {.colour = fromSrgb(70, 96, 46),
                  .otherColour = fromSrgb(120, 138, 72),
                  .otherShare = 0.35F,
                  .colourSpread = 0.13F,
                  .gloss = 0.35F,
                  .leafLengthMm = 31.0F,
                  .leavesPerSite = 1.7F,
                  .droop = 0.35F};
  tree.pot = {
      150.0F, 102.0F, 64.0F, 6.0F, fromSrgb(62, 78, 66), fromSrgb(120, 140, 118), 0.8F, 0.5F, 14};
  tree.backdrop = {
      BackdropKind::Wall, 0.9F, 0.010F, {1.0F, 1.0F, 1.0F}, fromSrgb(140, 124, 104), 204};
  return tree;
}

StoryTree whitePine() {
  StoryTree tree{"ED-05",
                 "Pinus parviflora",
                 "",
                 "own",
                 "Bench 1, north end",
                 "",
                 "needles",
                 styledNames(),
                 {},
                 {},
                 {},
                 {}};
  tree.habit = {.seed = 533,
                .foliage = FoliageKind::NeedleFives,
                .bark = BarkStyle::PinePlates,
                .heightMm = 500.0F,
                .trunkRadiusMm = 28.0F,
                .sweepMm = 60.0F,
                .leanMm = -34.0F,
                .branches = styledBranches(1.02F),
                .secondarySpacingMm = 17.0F,
                .secondaryLength = 0.46F,
                .twigSpacingMm = 13.0F,
                .twigLengthMm = 20.0F};
  tree.foliage = {.colour = fromSrgb(72, 104, 92),
                  .otherColour = fromSrgb(140, 162, 146),
                  .otherShare = 0.33F,
                  .colourSpread = 0.2F,
                  .gloss = 0.3F,
                  .needleLengthMm = 27.0F,
                  .needleRadiusMm = 0.5F,
                  .fasciclesPerTuft = 17.0F,
                  .candleMm = 4.0F};
  tree.pot = {
      165.0F, 110.0F, 60.0F, 4.5F, fromSrgb(88, 70, 62), fromSrgb(112, 92, 80), 0.15F, 0.65F, 15};
  tree.backdrop = {
      BackdropKind::Hedge, 0.95F, 0.012F, {1.0F, 1.0F, 1.0F}, fromSrgb(146, 134, 118), 205};
  return tree;
}

StoryTree redMaple() {
  StoryTree tree{"ED-06",
                 "Acer palmatum",
                 "Ember Lane",
                 "harrowgate",
                 "Bench 2, morning sun",
                 "Red all season; single leaves may flush yellow.",
                 "leaf",
                 styledNames(),
                 {},
                 {},
                 {},
                 {}};
  tree.habit = {.seed = 618,
                .foliage = FoliageKind::PalmateLeaf,
                .bark = BarkStyle::SmoothMaple,
                .heightMm = 430.0F,
                .trunkRadiusMm = 24.0F,
                .sweepMm = 40.0F,
                .leanMm = 26.0F,
                .branches = styledBranches(1.05F),
                .secondarySpacingMm = 20.0F,
                .twigSpacingMm = 16.0F,
                .twigLengthMm = 34.0F};
  tree.foliage = {.colour = fromSrgb(108, 32, 34),
                  .otherColour = fromSrgb(156, 58, 46),
                  .otherShare = 0.4F,
                  .colourSpread = 0.2F,
                  .gloss = 0.26F,
                  .leafLengthMm = 32.0F,
                  .leavesPerSite = 2.0F,
                  .droop = 0.4F};
  tree.pot = {160.0F,
              112.0F,
              55.0F,
              2.2F,
              fromSrgb(196, 188, 170),
              fromSrgb(150, 146, 120),
              0.75F,
              0.7F,
              16};
  tree.backdrop = {
      BackdropKind::Fence, 0.8F, 0.012F, {0.95F, 1.0F, 1.0F}, fromSrgb(124, 110, 94), 206};
  return tree;
}

StoryTree juniper() {
  StoryTree tree{"ED-07",
                 "Juniperus rigida",
                 "",
                 "own",
                 "Bench 3, end",
                 "First left has been weak since the winter; do not prune it.",
                 "needles",
                 styledNames(),
                 {},
                 {},
                 {},
                 {}};
  tree.habit = {.seed = 742,
                .foliage = FoliageKind::NeedleWhorls,
                .bark = BarkStyle::FibrousJuniper,
                .heightMm = 560.0F,
                .trunkRadiusMm = 30.0F,
                .sweepMm = 42.0F,
                .leanMm = 22.0F,
                .branches = styledBranches(1.12F),
                .secondarySpacingMm = 17.0F,
                .secondaryLength = 0.46F,
                .twigSpacingMm = 10.0F,
                .twigLengthMm = 34.0F};
  tree.foliage = {.colour = fromSrgb(78, 104, 62),
                  .otherColour = fromSrgb(132, 152, 92),
                  .otherShare = 0.3F,
                  .colourSpread = 0.2F,
                  .gloss = 0.25F,
                  .needleLengthMm = 12.5F,
                  .needleRadiusMm = 0.46F,
                  .fasciclesPerTuft = 19.0F};
  tree.pot = {
      148.0F, 104.0F, 74.0F, 5.0F, fromSrgb(92, 58, 46), fromSrgb(120, 80, 62), 0.1F, 0.5F, 17};
  tree.backdrop = {
      BackdropKind::Wall, 0.8F, 0.013F, {1.0F, 0.97F, 0.94F}, fromSrgb(134, 120, 104), 207};
  return tree;
}

}  // namespace

std::vector<StoryTree> storyTrees() {
  return {blackPine(), greenMaple(), elm(), crabApple(), whitePine(), redMaple(), juniper()};
}

}  // namespace edamori::scenes
