// SPDX-License-Identifier: GPL-3.0-or-later
// The garden that the window has open, shared by its pages.
#pragma once

#include "store/garden/garden.h"

#include <QObject>

namespace edamori::pages {

// Owned by the main window; pages hold a pointer and are told before it goes.
// Lives in the GUI thread; workers open a Garden of their own on folder().
class GardenSession : public QObject {
  Q_OBJECT

 public:
  explicit GardenSession(store::Garden garden, QObject* parent = nullptr);

  [[nodiscard]] store::Garden& garden() { return m_garden; }

  // To be called by a page after it has written, so that the others read again.
  void announceChange();

 Q_SIGNALS:
  void changed();

 private:
  store::Garden m_garden;
};

}  // namespace edamori::pages
