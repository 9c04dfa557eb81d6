// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/learning.h"

#include "app/work/figure_inputs.h"
#include "vision/foliage/tissue.h"

#include <algorithm>
#include <set>

namespace edamori::work {
namespace {

using store::LearnedLook;

bool isOf(const LearnedLook& look, const LearningPlace& place) {
  const auto terms = static_cast<std::size_t>(vision::kCorrectionTerms);
  return look.subject == place.subject && look.network == vision::tissueModelName() &&
         look.foliageWeights.size() == terms && look.spottedWeights.size() == terms;
}

bool wasLearnedAt(const LearnedLook& look, const LearningPlace& place) {
  return !place.photoSha256.empty() && look.photoSha256 == place.photoSha256 &&
         look.outline == place.outline;
}

// Oldest first, those that mean something at this place.
Result<std::vector<LearnedLook>> looksFor(const store::Garden& garden, const LearningPlace& place) {
  auto looks = garden.learnedLooks(place.tree);
  if (looks) {
    std::erase_if(*looks, [&place](const LearnedLook& look) { return !isOf(look, place); });
  }
  return looks;
}

}  // namespace

Result<Prior> priorFor(const store::Garden& garden, const LearningPlace& place) {
  const auto looks = looksFor(garden, place);
  if (!looks) {
    return looks.error();
  }
  Prior prior;
  for (const LearnedLook& look : *looks) {
    if (wasLearnedAt(look, place)) {
      break;
    }
    std::ranges::copy(look.foliageWeights, prior.weights.foliage.begin());
    std::ranges::copy(look.spottedWeights, prior.weights.spotted.begin());
    prior.photos = look.photos;
  }
  prior.earlierPhotos = static_cast<int>(
      std::ranges::count_if(prior.photos, [&place](const std::string& sha256) {
        return sha256 != place.photoSha256;
      }));
  return prior;
}

Result<void> keepLearned(store::Garden& garden,
                         const LearningPlace& place,
                         const Prior& prior,
                         const vision::Correction& learned) {
  const auto looks = looksFor(garden, place);
  if (!looks) {
    return looks.error();
  }
  const auto own = std::ranges::find_if(
      *looks, [&place](const LearnedLook& look) { return wasLearnedAt(look, place); });
  if (learned == prior.weights) {
    return own == looks->end() ? Result<void>{} : garden.remove(own->id);
  }
  std::set<std::string> photos(prior.photos.begin(), prior.photos.end());
  photos.insert(place.photoSha256);
  return garden.put(LearnedLook{
      // The id says what was learned before what, and stays when strokes are measured again.
      .id = own == looks->end() ? store::LearnedLookId::create() : own->id,
      .tree = place.tree,
      .subject = place.subject,
      .network = vision::tissueModelName(),
      .photoSha256 = place.photoSha256,
      .outline = place.outline,
      .foliageWeights = {learned.foliage.begin(), learned.foliage.end()},
      .spottedWeights = {learned.spotted.begin(), learned.spotted.end()},
      .photos = {photos.begin(), photos.end()},
      .learnedAt = store::now()});
}

Result<int> photosThatTaught(const store::Garden& garden, const store::TreeId& tree) {
  return garden.learnedLooks(tree).transform([](std::vector<LearnedLook>&& looks) {
    std::set<std::string> photos;
    for (const LearnedLook& look : looks) {
      photos.insert(look.photoSha256);
    }
    return static_cast<int>(photos.size());
  });
}

Result<Forgotten> forgetLearned(store::Garden& garden, const store::TreeId& tree) {
  Forgotten forgotten;
  const Result<void> done = garden.inTransaction([&]() -> Result<void> {
    const auto looks = garden.learnedLooks(tree);
    const auto photos = photosThatTaught(garden, tree);
    if (!looks || !photos) {
      return !looks ? looks.error() : photos.error();
    }
    forgotten.photos = *photos;
    for (const LearnedLook& look : *looks) {
      EDAMORI_RETURN_IF_ERROR(garden.remove(look.id));
      forgotten.looks.push_back(look.id);
    }
    return {};
  });
  if (!done) {
    return done.error();
  }
  return forgotten;
}

Result<void> rememberAgain(store::Garden& garden, const Forgotten& forgotten) {
  return garden.inTransaction([&]() -> Result<void> {
    for (const store::LearnedLookId& look : forgotten.looks) {
      EDAMORI_RETURN_IF_ERROR(garden.restore(look));
    }
    return {};
  });
}

std::string taughtWords(int earlierPhotos) {
  if (earlierPhotos == 0) {
    return "with what other strokes on this photo taught";
  }
  return "with what " + std::to_string(earlierPhotos) + " earlier photo" +
         (earlierPhotos == 1 ? "" : "s") + " taught";
}

std::string taughtWords(const Method& method) {
  const auto inputs = inputsOf(method);
  return inputs && inputs->learned != vision::Correction{} ? taughtWords(inputs->earlierPhotos)
                                                           : std::string();
}

}  // namespace edamori::work
