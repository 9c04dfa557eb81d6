// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/connection_internal.h"
#include "store/safety/contents_internal.h"

#include <SQLiteCpp/Statement.h>

namespace edamori::store {

namespace {

std::vector<std::string> textColumn(const SQLite::Database& database, const char* sql) {
  SQLite::Statement query(database, sql);
  std::vector<std::string> texts;
  while (query.executeStep()) {
    texts.push_back(query.getColumn(0).getString());
  }
  return texts;
}

}  // namespace

Contents contentsOf(const SQLite::Database& database) {
  Contents contents;
  SQLite::Statement photos(database,
                           "SELECT sha256, format, max(size_bytes), min(original_name),"
                           " max(removed_at IS NULL) FROM photo GROUP BY sha256, format"
                           " ORDER BY sha256, format");
  while (photos.executeStep()) {
    Photo photo;
    photo.sha256 = photos.getColumn(0).getString();
    photo.format = photos.getColumn(1).getString();
    contents.originals.push_back({.path = originalPath(photo).generic_string(),
                                  .sha256 = photo.sha256,
                                  .sizeBytes = photos.getColumn(2).getInt64(),
                                  .originalName = photos.getColumn(3).getString(),
                                  .isInUse = photos.getColumn(4).getInt() != 0});
  }
  contents.masksInUse = textColumn(database,
                                   "SELECT DISTINCT label_mask FROM measurement"
                                   " WHERE label_mask <> '' AND removed_at IS NULL ORDER BY 1");
  contents.hintsInUse = textColumn(database,
                                   "SELECT DISTINCT hint_mask FROM measurement"
                                   " WHERE hint_mask <> '' AND removed_at IS NULL ORDER BY 1");
  contents.allMasks = textColumn(database,
                                 "SELECT label_mask FROM measurement WHERE label_mask <> ''"
                                 " UNION SELECT hint_mask FROM measurement WHERE hint_mask <> ''"
                                 " ORDER BY 1");
  return contents;
}

}  // namespace edamori::store
