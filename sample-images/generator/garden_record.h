// SPDX-License-Identifier: GPL-3.0-or-later
// The texts that go with the photographs: truth of each picture, and the garden's story.
#pragma once

#include <string>

#include "generator/render.h"
#include "generator/story.h"

namespace edamori::scenes {

// JSON text of truth/<stem>.json.
std::string truthText(const Story& story, const StoryPhoto& photo, const RenderedScene& rendered);

// JSON text of garden.json.
std::string gardenText(const Story& story);

}  // namespace edamori::scenes
