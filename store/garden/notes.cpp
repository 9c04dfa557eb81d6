// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

namespace edamori::store {

template <>
struct sql::Table<Note> {
  static constexpr const char* kName = "note";
  static auto columns() {
    return std::tuple{column("id", &Note::id),
                      column("tree", &Note::tree),
                      column("written_at", &Note::writtenAt),
                      column("text", &Note::text)};
  }

  static Result<void> check(Garden::Connection&, const Note& note) {
    if (note.tree.isEmpty()) {
      return fail(ErrorCode::InvalidArgument, "a note needs a tree");
    }
    return {};
  }
};

template Result<int> sql::readEvery<Note>(Garden::Connection& connection);

Result<void> Garden::put(const Note& note) { return sql::putRecord(connection(), note); }
Result<void> Garden::remove(const NoteId& id) {
  return sql::moveToBin(connection(), sql::Table<Note>::kName, id.text);
}
Result<void> Garden::restore(const NoteId& id) {
  return sql::takeFromBin(connection(), sql::Table<Note>::kName, id.text);
}
Result<std::optional<Note>> Garden::find(const NoteId& id) const {
  return sql::findRecord<Note>(connection(), id);
}

Result<std::vector<Note>> Garden::notes(const TreeId& tree) const {
  return sql::selectRecords<Note>(
      connection(),
      "WHERE r.removed_at IS NULL AND r.tree = ? ORDER BY r.written_at, r.id",
      tree.text);
}

}  // namespace edamori::store
