// SPDX-License-Identifier: GPL-3.0-or-later
// Marks as small pictures that are drawn once, so that thousands of them can be shown in a frame.
#pragma once

#include "store/records/records.h"

#include <QPainter>
#include <QPixmap>
#include <map>
#include <tuple>

namespace edamori::pages {

class MarkSprites {
 public:
  // Draws the finding's shape centred on `at` (logical px), as look::drawFinding does, on the
  // nearest device px.
  void draw(QPainter& painter,
            store::Finding finding,
            store::Stage stage,
            QPointF at,
            double radiusPx);

 private:
  std::map<std::tuple<store::Finding, store::Stage, double, double>, QPixmap> m_sprites;
};

}  // namespace edamori::pages
