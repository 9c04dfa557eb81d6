// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

namespace edamori::store {

template <>
struct sql::Table<LearnedLook> {
  static constexpr const char* kName = "learned_look";
  static auto columns() {
    return std::tuple{column("id", &LearnedLook::id),
                      column("tree", &LearnedLook::tree),
                      column("subject", &LearnedLook::subject),
                      column("network", &LearnedLook::network),
                      column("photo_sha256", &LearnedLook::photoSha256),
                      column("outline", &LearnedLook::outline),
                      column("foliage_weights", &LearnedLook::foliageWeights),
                      column("spotted_weights", &LearnedLook::spottedWeights),
                      column("photos", &LearnedLook::photos),
                      column("learned_at", &LearnedLook::learnedAt)};
  }

  static Result<void> check(Garden::Connection&, const LearnedLook& look) {
    if (look.tree.isEmpty()) {
      return fail(ErrorCode::InvalidArgument, "what hints taught needs a tree");
    }
    EDAMORI_RETURN_IF_ERROR(checkNotBlank(look.network, "the network that was taught"));
    if (look.photoSha256.size() != 64) {
      return fail(ErrorCode::InvalidArgument,
                  "what hints taught needs the SHA-256 of its photo (64 digits), not \"" +
                      look.photoSha256 + "\"");
    }
    for (const auto* const weights : {&look.foliageWeights, &look.spottedWeights}) {
      for (const double weight : *weights) {
        EDAMORI_RETURN_IF_ERROR(checkFinite(weight, "a weight that hints taught"));
      }
    }
    return {};
  }
};

template Result<int> sql::readEvery<LearnedLook>(Garden::Connection& connection);

Result<void> Garden::put(const LearnedLook& look) { return sql::putRecord(connection(), look); }
Result<void> Garden::remove(const LearnedLookId& id) {
  return sql::moveToBin(connection(), sql::Table<LearnedLook>::kName, id.text);
}
Result<void> Garden::restore(const LearnedLookId& id) {
  return sql::takeFromBin(connection(), sql::Table<LearnedLook>::kName, id.text);
}
Result<std::optional<LearnedLook>> Garden::find(const LearnedLookId& id) const {
  return sql::findRecord<LearnedLook>(connection(), id);
}

Result<std::vector<LearnedLook>> Garden::learnedLooks(const TreeId& tree) const {
  return sql::selectRecords<LearnedLook>(
      connection(), "WHERE r.removed_at IS NULL AND r.tree = ? ORDER BY r.id", tree.text);
}

}  // namespace edamori::store
