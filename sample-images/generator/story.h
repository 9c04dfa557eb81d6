// SPDX-License-Identifier: GPL-3.0-or-later
// The invented garden of the demo: seven trees, their photographs over two springs, and what was
// done to them.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "generator/scene.h"

namespace edamori::scenes {

struct StoryBranch {
  std::string name;
  std::string kind;  // branch, apex, trunk line, fork
};

struct StoryTree {
  std::string tag;
  std::string species;
  std::string cultivar;
  std::string owner;  // key
  std::string place;
  std::string note;
  std::string subject;  // "leaf" or "needles"
  std::vector<StoryBranch> branches;
  TreeHabit habit;
  FoliageLook foliage;
  PotLook pot;
  BackdropLook backdrop;
};

struct StoryPhoto {
  std::string stem;  // file name without .jpg
  std::size_t tree = 0;
  std::string view;       // front, close-up …
  std::vector<std::string> outlined;  // branches that the keeper outlined here; empty: all that show
  std::string takenAt;    // "YYYY-MM-DDTHH:MM:SS"; empty: no date in the file
  std::string subSecond;  // digits
  std::string offset;     // "+02:00"; empty: none in the file
  int orientation = 1;    // as stored: 1, 3, 6 or 8
  bool hasThumbnail = true;
  bool hasPosition = false;
  std::optional<std::size_t>
      reference;  // index of the photo with the same framing, itself for the first
  SceneDescription scene;
};

struct Story {
  std::string garden;
  std::vector<StoryTree> trees;
  std::vector<StoryPhoto> photos;
};

// The seven trees, in the order of their tags.
std::vector<StoryTree> storyTrees();

Story tellStory();

}  // namespace edamori::scenes
