// SPDX-License-Identifier: GPL-3.0-or-later
// What hint strokes taught about a tree: kept, used as the start for its next photos, forgotten.
#pragma once

#include "store/garden/garden.h"
#include "vision/foliage/hints.h"
#include "vision/values/result.h"

#include <string>
#include <vector>

namespace edamori::work {

// What is measured, and so what strokes there teach.
struct LearningPlace {
  store::TreeId tree;
  Subject subject = Subject::Leaf;
  std::string photoSha256{};   // empty: no photo of its own, as when two photos are compared
  store::OutlineId outline{};  // empty: no outline of the garden
};

// What measuring starts from.
struct Prior {
  vision::Correction weights;       // all 0: nothing was learned
  std::vector<std::string> photos;  // SHA-256 of the photos whose strokes are in them
  int earlierPhotos = 0;            // how many of those are other photos than the one measured
};

// What was learned last; but when strokes at this very place have taught already, what was known
// before them, so that measuring again with the same strokes gives the same figures.
// Weights of another network or subject are passed over.
Result<Prior> priorFor(const store::Garden& garden, const LearningPlace& place);

// Keeps what the strokes at `place` taught, in the stead of what they had taught before. When they
// taught nothing, that is taken back.
Result<void> keepLearned(store::Garden& garden,
                         const LearningPlace& place,
                         const Prior& prior,
                         const vision::Correction& learned);

// Photos whose strokes the tree's next photo would start from; 0: nothing was learned.
Result<int> photosThatTaught(const store::Garden& garden, const store::TreeId& tree);

struct Forgotten {
  std::vector<store::LearnedLookId> looks;
  int photos = 0;  // whose strokes had taught
};
// Moves all that was learned about the tree to the bin. Strokes that are measured again teach again.
Result<Forgotten> forgetLearned(store::Garden& garden, const store::TreeId& tree);
// Takes that back.
Result<void> rememberAgain(store::Garden& garden, const Forgotten& forgotten);

// "with what 3 earlier photos taught"; "with what other strokes on this photo taught" for 0.
[[nodiscard]] std::string taughtWords(int earlierPhotos);
// The same of a stored figure, by its method parameters; "" when nothing learned was used.
[[nodiscard]] std::string taughtWords(const Method& method);

}  // namespace edamori::work
