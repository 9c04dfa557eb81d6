// SPDX-License-Identifier: GPL-3.0-or-later
// Likely scale insects as offers to a person: found on a photo of the garden, less those that
// were marked or rejected already.
#pragma once

#include "app/work/measuring.h"
#include "store/garden/garden.h"
#include "vision/insects/scale_insects.h"

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace edamori::work {

// Looks within the photo's confirmed outlines, in the whole photo when it has none; by the photo's
// ruler when it has one. `goOn` as vision::InsectSearch.
// Errors: NotFound; as loadOriginal and vision::findScaleInsects.
// Thread: safe with a Garden of the calling thread.
Result<std::vector<vision::InsectCandidate>> findInsects(const store::Garden& garden,
                                                         const store::PhotoId& photo,
                                                         std::function<bool(double)> goOn = {});

// Without those whose centre lies on a rejected one, or on a mark of scale insects: within the
// greater of the two radii, or within the patch.
[[nodiscard]] std::vector<vision::InsectCandidate> stillOffered(
    const std::vector<vision::InsectCandidate>& candidates,
    const std::vector<store::Mark>& marks,
    const std::vector<store::RejectedCandidate>& rejected);

// The JSON object of `edamori find --json`, and that for a photo that could not be searched.
[[nodiscard]] std::string findJson(const OpenedPhoto& photo,
                                   const std::vector<vision::InsectCandidate>& candidates,
                                   const vision::InsectSizes& sizes);
[[nodiscard]] std::string findRefusalJson(const OpenedPhoto& photo, const std::string& reason);

}  // namespace edamori::work
