// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/garden_session.h"

#include <utility>

namespace edamori::pages {

GardenSession::GardenSession(store::Garden garden, QObject* parent)
    : QObject(parent), m_garden(std::move(garden)) {}

void GardenSession::announceChange() { Q_EMIT changed(); }

}  // namespace edamori::pages
