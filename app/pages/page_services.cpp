// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/page_services.h"

namespace edamori::pages {

bool write(const PageServices& services,
           const QString& said,
           const std::function<Result<void>(store::Garden&)>& change) {
  if (services.session == nullptr) {
    return false;
  }
  const auto result = change(services.session->garden());
  if (!result) {
    services.messages->sayError(result.error());
    return false;
  }
  services.undo->forgetUndone();
  services.session->announceChange();
  if (!said.isEmpty()) {
    services.messages->say(said);
  }
  return true;
}

}  // namespace edamori::pages
