// SPDX-License-Identifier: GPL-3.0-or-later
// What every page needs of the window.
#pragma once

#include "app/models/previews.h"
#include "app/models/undo_list.h"
#include "app/pages/garden_session.h"
#include "app/pages/jobs.h"
#include "app/pages/message_bar.h"

#include <functional>

namespace edamori::pages {

// All owned by the window and alive as long as the pages have them; session and previews change
// with the garden and are nullptr without one.
struct PageServices {
  GardenSession* session = nullptr;
  models::PreviewLoader* previews = nullptr;
  models::UndoList* undo = nullptr;
  MessageBar* messages = nullptr;
  Jobs* jobs = nullptr;
};

// Writes through the session's garden, tells the other pages, and says so; on failure says why.
// Returns whether it worked.
bool write(const PageServices& services,
           const QString& said,
           const std::function<Result<void>(store::Garden&)>& change);

// Moves a record to the bin and offers to take it back.
template <typename IdType>
bool removeWithUndo(const PageServices& services, const IdType& id, const QString& said) {
  const bool removed =
      write(services, {}, [&id](store::Garden& garden) { return garden.remove(id); });
  if (removed) {
    services.undo->push(said, [id](store::Garden& garden) { return garden.restore(id); },
                        [id](store::Garden& garden) { return garden.remove(id); });
    services.messages->offerUndo(said);
  }
  return removed;
}

// Like write, but the change can be taken back: `before` is the record as it was.
template <typename Record>
bool replaceWithUndo(const PageServices& services,
                     const Record& before,
                     const Record& after,
                     const QString& said) {
  const bool replaced =
      write(services, {}, [&after](store::Garden& garden) { return garden.put(after); });
  if (replaced) {
    services.undo->push(said, [before](store::Garden& garden) { return garden.put(before); },
                        [after](store::Garden& garden) { return garden.put(after); });
    services.messages->offerUndo(said);
  }
  return replaced;
}

}  // namespace edamori::pages
