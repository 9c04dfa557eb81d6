// SPDX-License-Identifier: GPL-3.0-or-later
// Icons painted anew at every size and in the colours of the moment.
#pragma once

#include <QIcon>
#include <QRectF>

#include <functional>

class QPainter;

namespace edamori::look {

using IconPainter =
    std::function<void(QPainter& painter, const QRectF& area, QIcon::Mode mode, QIcon::State state)>;

// An icon that calls `paint` whenever it is shown, so that it is crisp at any
// scale and follows a change of theme.
[[nodiscard]] QIcon paintedIcon(IconPainter paint);

}  // namespace edamori::look
